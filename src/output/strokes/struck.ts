/**
 * The patch with one stroke in it, and with no other voice. The stroke is the first step of the pattern in
 * which its channel plays first, so that tempo, swing and gate are those that it has there.
 */

import { withoutCountIn } from '../../engine/loop.ts';
import type { Line, Pattern, SongEntry, Step } from '../../modules/score.ts';
import type { Patch, PatchModule } from '../../patch/patch.ts';
import { type RhythmSettings, rhythmSettings } from '../../timing/rhythm.ts';
import { soloed } from './solo.ts';

/** The accents that a stroke has, the softest first. */
export const STRENGTHS = ['ghost', 'plain', 'accent'] as const;
export type Strength = (typeof STRENGTHS)[number];

/** A stroke of a channel, of which one voice is heard. */
export interface ChannelStroke {
  readonly voice: string;
  readonly module: string;
  readonly channel: string;
  readonly strength: Strength;
}

/** Longer than any stroke is listened to, s, so that the pattern does not come round. */
const NEVER = 60;

/** Makes the patch; where it has no such voice, all voices are heard. */
export function struck(patch: Patch, { voice, module, channel, strength }: ChannelStroke): Patch {
  const alone = soloed(withoutCountIn(patch), { voice, isAlone: true });
  const once = (rhythm: PatchModule): PatchModule => {
    const settings = rhythmSettings(rhythm.settings);
    const at =
      rhythm.name === module ? settings.channels.findIndex(({ name }) => name === channel) : -1;
    const { pattern, entry } = onePattern(settings, at, strength);
    return {
      ...rhythm,
      settings: { ...rhythm.settings, patterns: [pattern], song: [entry] },
    };
  };
  return {
    ...alone,
    modules: alone.modules.map((one) => (one.definition.role === 'score' ? once(one) : one)),
  };
}

/** @param at the channel that is struck; none of -1. */
function onePattern(
  settings: RhythmSettings,
  at: number,
  strength: Strength,
): { readonly pattern: Pattern; readonly entry: SongEntry } {
  const { patterns, song } = settings;
  const lineIn = (pattern: Pattern | undefined): Line | undefined =>
    pattern?.lines.find(
      ({ channel, steps }) => channel === at && steps.some(({ strokes }) => strokes > 0),
    );
  const played = song.find(({ pattern }) => lineIn(patterns[pattern]) !== undefined);
  const pattern =
    played === undefined
      ? patterns.find((one) => lineIn(one) !== undefined)
      : patterns[played.pattern];
  const line = lineIn(pattern);
  const stepsPerQuarter = pattern?.stepsPerQuarter ?? 4;
  const tempo = played?.tempo ?? pattern?.tempo ?? settings.tempo;
  const length = Math.ceil((NEVER * tempo * stepsPerQuarter) / 60) + 1;
  return {
    pattern: {
      ...pattern,
      name: pattern?.name ?? 'stroke',
      stepsPerQuarter,
      length,
      lines: at < 0 ? [] : [oneStroke(at, length, strength, line)],
    },
    entry: { ...played, pattern: 0, repeats: 1 },
  };
}

function oneStroke(
  channel: number,
  length: number,
  strength: Strength,
  known: Line | undefined,
): Line {
  const rest: Step = { strokes: 0, accent: false, flam: false, maybe: false };
  const hit: Step = {
    ...rest,
    strokes: 1,
    accent: strength === 'accent',
    ...(strength === 'ghost' && { ghost: true as const }),
  };
  return {
    ...known,
    channel,
    steps: Array.from({ length }, (_, index) => (index === 0 ? hit : rest)),
  };
}
