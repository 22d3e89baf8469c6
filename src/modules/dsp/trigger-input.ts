/** The comparator behind a trigger jack, as its electrical facts have it. */

import { TriggerInput } from '../../circuits/dsp/trigger-input.ts';
import type { InputFacts } from '../facts.ts';

export type { TriggerInput };

/**
 * What a comparator is made with: its direction, its thresholds, and the samples that a pulse must last.
 * @param facts of an input that has `trigger` facts.
 * @param sampleRate Hz.
 * @throws Error if the facts have no trigger (a mistake in a module's definition).
 */
export function comparatorOf(
  { trigger }: InputFacts,
  sampleRate: number,
): readonly [sign: number, on: number, off: number, needed: number] {
  if (trigger === undefined) throw new Error('a trigger input needs trigger facts');
  const { type, on, off, shortest } = trigger;
  return [type === 'voltage' ? 1 : -1, on, off, Math.max(1, Math.round(shortest * sampleRate))];
}

/** The comparator itself, as {@link comparatorOf} describes it, for what listens beside the circuits. */
export function triggerInput(facts: InputFacts, sampleRate: number): TriggerInput {
  const [sign, on, off, needed] = comparatorOf(facts, sampleRate);
  return new TriggerInput(sign, on, off, needed);
}
