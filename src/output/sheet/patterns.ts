/** The patterns of a rhythm sequencer as tab, and the order in which its song plays them. */

import type { Patch } from '../../patch/patch.ts';
import { formatTab } from '../../patch/score/tab.ts';
import { rhythmSettings } from '../../timing/settings.ts';

export interface RhythmSheet {
  readonly name: string;
  /** As in `opening, answer x 2`. */
  readonly song: string;
  readonly patterns: readonly PatternSheet[];
}

export interface PatternSheet {
  readonly name: string;
  /** Channels that play in it, each with its steps, a space between quarters. */
  readonly lines: readonly { readonly channel: string; readonly steps: string }[];
}

/** What the signs of a step stand for. */
export const STEP_SIGNS =
  'x hit, X accented hit, - rest, f flam, 2 to 8 so many strokes, ? left to chance';

/** Gives what each rhythm sequencer of a patch plays. */
export function rhythmSheets(patch: Patch): readonly RhythmSheet[] {
  return patch.modules
    .filter(({ definition }) => definition.role === 'score')
    .map(({ name, settings }) => {
      const { channels, patterns, song } = rhythmSettings(settings);
      return {
        name,
        song: song
          .map(({ pattern, repeats }) => {
            const title = patterns[pattern]?.name ?? '';
            return repeats === 1 ? title : `${title} × ${repeats}`;
          })
          .join(', '),
        patterns: patterns.map((pattern) => ({
          name: pattern.name,
          lines: pattern.lines.map((line) => ({
            channel: channels[line.channel]?.name ?? '',
            steps: formatTab(line.steps, pattern.stepsPerQuarter),
          })),
        })),
      };
    });
}
