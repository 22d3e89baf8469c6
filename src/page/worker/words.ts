/** The attributes that a pattern, a line of it, a step and an entry of the song may have, by their key words. */

import type { NumberSpec, RateSpec, Settings, SpanSpec } from '../../modules/definition.ts';
import { LINE_WORDS, STEP_WORDS } from '../../patch/score/line.ts';
import { feelWords, LENGTH, STEPS_PER_QUARTER } from '../../patch/score/pattern.ts';
import { REPEATS } from '../../patch/score/read-score.ts';
import type { ScorePlace } from '../protocol.ts';

export type WordSpec = NumberSpec | SpanSpec | RateSpec;

/** The key words of each sort of place, with the values that they may have. */
export type WordSpecs = Readonly<Record<ScorePlace['type'], ReadonlyMap<string, WordSpec>>>;

/** @param settings the settings of the rhythm's kind. */
export function wordSpecs(settings: Settings): WordSpecs {
  const own = (words: readonly string[]): [string, WordSpec][] =>
    words
      .filter((word) => Object.hasOwn(settings, word))
      .map((word) => [word, settings[word] as WordSpec]);
  const feel = own(feelWords(settings));
  return {
    pattern: new Map([...feel, ['steps-per-quarter', STEPS_PER_QUARTER], ['length', LENGTH]]),
    line: new Map(own(LINE_WORDS)),
    step: new Map(own(STEP_WORDS)),
    entry: new Map<string, WordSpec>([['repeats', REPEATS], ...feel]),
  };
}
