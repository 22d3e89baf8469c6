/** What the rhythms of a patch play. */

import type { Patch } from '../../src/patch/patch.ts';
import { strokes } from '../../src/timing/edges.ts';
import { rhythmSettings } from '../../src/timing/rhythm.ts';

export interface Heard {
  readonly channel: string;
  readonly time: number;
  readonly strength: string;
}

/** By channel and time, up to so many seconds. */
export function played(patch: Patch, seconds: number): Heard[] {
  return patch.modules
    .filter(({ definition }) => definition.role === 'score')
    .flatMap((module) => {
      const settings = rhythmSettings(module.settings);
      const next = strokes(settings, {
        sampleRate: 192_000,
        seed: patch.seed,
        module: module.name,
        until: seconds,
      });
      const found: Heard[] = [];
      for (let one = next(); one !== undefined; one = next()) {
        const soft = one.cause === 'ghost' || one.cause === 'grace' ? one.cause : 'plain';
        found.push({
          channel: settings.channels[one.channel]?.name ?? '',
          time: one.time,
          strength: one.accent ? 'accent' : soft,
        });
      }
      return found;
    })
    .sort((a, b) => (a.channel < b.channel ? -1 : a.channel > b.channel ? 1 : a.time - b.time));
}
