/**
 * What a rack says of an output jack: the levels that it gives, its resistance, how fast it rises and
 * how long its pulses last, as its owner measured them. Levels in volts are fixed, whatever the settings;
 * as a share they are that share of what the settings make them.
 */

import type { Definition, OutputJack } from '../../modules/definition.ts';
import type { Doubt, OutputFacts, OutputStage } from '../../modules/facts.ts';

/** Measured values in ohm, V and s, by the words of the file. */
export interface Measured {
  readonly values: Readonly<Record<string, number>>;
  /** By how much they may be off, in the same units. */
  readonly doubts: Readonly<Record<string, number>>;
  /** Which of them are shares of what the settings make them. */
  readonly shares: ReadonlySet<string>;
}

/** Words that only an output with levels of its own has. */
export const LEVEL_WORDS = ['low', 'high', 'rise'];
export const LEAST_SWITCH_OHMS = 0.001;
const NO_STAGE: OutputStage = { from: { low: 0, high: 0 }, rise: 0, width: 0, isFixed: false };

/** Whether an output has levels of its own, and not those of what comes in. */
export function hasOwnLevels(
  { carries, multiplies, sums, passes, settings }: Definition,
  jack: string,
): boolean {
  if (carries?.[jack] !== undefined || multiplies?.[jack] !== undefined) return false;
  const values = Object.fromEntries(
    Object.entries(settings).map(([name, spec]) => [name, 'fallback' in spec ? spec.fallback : []]),
  );
  const passing = passes?.(values, () => true) ?? sums?.(values) ?? [];
  return !passing.some(({ output }) => output === jack);
}

/** The facts of an output with what was measured of it in their place. */
export function outputFacts({ facts }: OutputJack, measured: Measured): OutputFacts {
  const { values, shares } = measured;
  const { width } = values;
  if (facts.type === 'switch') {
    const changed = {
      ...facts,
      // What was said of all outputs may be 0 ohm, which no closed switch is.
      ohms: Math.max(values.resistance ?? facts.ohms, LEAST_SWITCH_OHMS),
      saturation: values.saturation ?? facts.saturation,
    };
    const stage = width !== undefined && { ...NO_STAGE, from: { low: 0, high: 1 }, width };
    const doubt = doubtOf(measured, ['resistance', 'saturation', 'width']);
    return { ...changed, ...(doubt && { doubt }), ...(stage && { stage }) };
  }
  const level = (word: 'low' | 'high'): number | undefined => {
    const value = values[word];
    return value !== undefined && shares.has(word) ? value * facts[word] : value;
  };
  const high = level('high') ?? facts.high;
  // What is known by its high level alone is scaled: a wave keeps its middle, a gate its rest.
  const scale = facts.high === 0 ? 1 : high / facts.high;
  const low = level('low') ?? facts.low * scale;
  const { low: from, high: to, ohms } = facts;
  const isMoved = low !== from || high !== to;
  const isFixed = values.high !== undefined && !shares.has('high');
  const { rise = 0 } = values;
  const doubt = doubtOf(measured, ['resistance', 'low', 'high', 'rise', 'width']);
  const isScaled = values.low === undefined && doubt?.high !== undefined && high !== 0;
  return {
    type: 'voltage',
    low,
    high,
    ohms: values.resistance ?? ohms,
    ...(doubt && { doubt }),
    ...((isMoved || isFixed || rise > 0 || width !== undefined) && {
      stage: {
        from: { low: from, high: to },
        rise,
        width: width ?? 0,
        isFixed,
        ...(isScaled && { isScaled: true }),
      },
    }),
  };
}

/** The doubts of some facts, by the names that the electricity has for them; undefined if there are none. */
export function doubtOf({ doubts }: Measured, words: readonly string[]): Doubt | undefined {
  const known = words.filter((word) => doubts[word] !== undefined);
  if (known.length === 0) return undefined;
  return Object.fromEntries(
    known.map((word) => [word === 'resistance' ? 'ohms' : word, doubts[word]]),
  );
}
