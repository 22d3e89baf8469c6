/** Where the steps and quarters of a song lie in time, for what is counted against them. */

import type { Net, Netlist } from '../../electrical/nets.ts';
import type { Patch, PatchModule } from '../../patch/patch.ts';
import { toNumber } from '../../timing/fixed.ts';
import { rhythmSettings } from '../../timing/rhythm.ts';
import { type Groove, sectionsOf, songOf } from '../../timing/song.ts';

/** One playing of a pattern. */
export interface PatternPlaying {
  readonly groove: Groove;
  /** s. */
  readonly start: number;
  readonly end: number;
  readonly quarter: number;
  readonly step: number;
  /** Steps since this pattern began, through repeats of it. */
  readonly sinceChange: number;
}

/** Sections of a song that are looked at; a longer song repeats what it has. */
const ENOUGH = 4000;

/** The playings of a song once through, as far as `seconds`. */
export function playingsOf(module: PatchModule, seconds: number): readonly PatternPlaying[] {
  const song = songOf(rhythmSettings(module.settings), 1);
  const end = Math.min(seconds, toNumber(song.duration));
  const playings: PatternPlaying[] = [];
  for (const { groove, start, sinceChange } of sectionsOf(song)) {
    const from = toNumber(start);
    // What rounding leaves at the end of a section is not a playing.
    if (from >= end - 1e-9 || playings.length === ENOUGH) break;
    playings.push({
      groove,
      start: from,
      end: Math.min(from + toNumber(groove.duration), end),
      quarter: toNumber(groove.quarter),
      step: toNumber(groove.step),
      sinceChange,
    });
  }
  return playings;
}

/**
 * The rhythm module that a net's triggers come from; for a clock with a time of its own, the first one in the
 * patch.
 * @param of the module that they go to: a rhythm that follows pulses has none but one they come from.
 */
export function rhythmOf(
  net: Net,
  netlist: Netlist,
  patch: Patch,
  of?: PatchModule,
): PatchModule | undefined {
  const seen = new Set<Net>();
  const wave = [net];
  for (let next = wave.pop(); next !== undefined; next = wave.pop()) {
    if (seen.has(next)) continue;
    seen.add(next);
    for (const { module } of next.outputs) {
      if (module.definition.role === 'score' && module !== of) return module;
      for (const jack of module.jacks) {
        const before =
          jack.direction === 'in' && netlist.at({ module: module.name, jack: jack.name });
        if (before) wave.push(before);
      }
    }
  }
  return of?.definition.role === 'score'
    ? undefined
    : patch.modules.find(({ definition }) => definition.role === 'score');
}
