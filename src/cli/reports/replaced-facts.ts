/** What a rack said of a jack before something measured took its place: no stated tolerance is lost in silence. */

import {
  ALL_INPUTS,
  ALL_OUTPUTS,
  INPUT_FACTS,
  type MeasuredFacts,
  OUTPUT_FACTS,
  PULSE_FACTS,
  SWITCH_FACTS,
  TRIGGER_FACTS,
} from '../../patch/rack/jacks.ts';
import type { Rack } from '../../patch/rack/rack.ts';
import { formatBriefly } from '../../patch/units.ts';

/** One fact of a jack. */
export interface SaidFact {
  /** As a rack writes it, such as `5 V +- 50 mV`. */
  readonly text: string;
  /** V, ohm or s; of a level that is a share of what the settings make it, that share. */
  readonly value: number;
  readonly isShare: boolean;
  /** In the unit of the value; undefined where none is stated. */
  readonly doubt: number | undefined;
}

/** How a new fact stands to the one before. */
export type FactStanding = 'surer' | 'less sure' | 'contradicts' | 'untold' | 'as sure';

export interface Replaced {
  readonly fact: string;
  readonly before: string;
  readonly after: string;
  readonly standing: FactStanding;
}

/** Digits of a value, and of how far off it may be. */
const [DIGITS, DIGITS_OFF] = [6, 3];
/** Bits that writing and reading a number leave. */
const SAME = 1e-9;

/** What a rack says of a fact of a jack, or of all jacks of its direction; undefined where it says nothing. */
export function saidIn(
  rack: Rack | undefined,
  at: { readonly unit: string; readonly jack: string; readonly fact: string },
): SaidFact | undefined {
  const unit = rack?.units.find(({ name }) => name === at.unit);
  const isOut = [OUTPUT_FACTS, PULSE_FACTS, SWITCH_FACTS].some((specs) => at.fact in specs);
  const isIn = [INPUT_FACTS, TRIGGER_FACTS].some((specs) => at.fact in specs);
  const all = [...(isOut ? [ALL_OUTPUTS] : []), ...(isIn ? [ALL_INPUTS] : [])];
  // Of a resistance only the jack itself says which of both is meant.
  for (const key of [at.jack, ...(all.length === 1 ? all : [])]) {
    const said = unit?.jacks.get(key);
    if (said?.values[at.fact] !== undefined) return asSaid(said, at.fact);
  }
  return undefined;
}

function asSaid({ values, doubts, shares }: MeasuredFacts, fact: string): SaidFact {
  const all = {
    ...INPUT_FACTS,
    ...TRIGGER_FACTS,
    ...OUTPUT_FACTS,
    ...PULSE_FACTS,
    ...SWITCH_FACTS,
  };
  const isShare = shares.has(fact);
  const type = isShare ? 'percent' : (all[fact]?.type ?? 'voltage');
  const value = values[fact] as number;
  const doubt = doubts[fact];
  const off = doubt === undefined ? '' : ` +- ${formatBriefly(doubt, type, DIGITS_OFF)}`;
  return { text: `${formatBriefly(value, type, DIGITS)}${off}`, value, isShare, doubt };
}

/** How a new fact stands to what was said before. */
export function standing(before: SaidFact, after: SaidFact): FactStanding {
  const [was, is] = [before.doubt ?? 0, after.doubt ?? 0];
  const apart = Math.abs(after.value - before.value);
  if (before.isShare !== after.isShare) return 'contradicts';
  if (apart > (was + is) * (1 + SAME) && apart > SAME * Math.abs(before.value))
    return 'contradicts';
  if (before.doubt !== undefined && after.doubt === undefined) return 'untold';
  if (Math.abs(was - is) <= SAME * Math.max(was, is)) return 'as sure';
  // What was stated without a tolerance was not measured.
  return before.doubt === undefined || is < was ? 'surer' : 'less sure';
}

const WORDS: { readonly [one in FactStanding]: string } = {
  surer: 'which it makes surer',
  'as sure': 'which was as sure',
  'less sure': 'which was surer',
  contradicts: 'which it contradicts: not both can be right',
  untold: 'whose tolerance is gone: write one behind it if it may be off',
};

/** A sentence without its full stop. */
export function replacedText({ fact, before, after, standing }: Replaced): string {
  return `${fact}: ${after} takes the place of ${before}, ${WORDS[standing]}`;
}

/** What of the facts that were written said something else before. */
export function replacedIn(
  before: Rack | undefined,
  after: Rack | undefined,
  written: readonly { readonly unit: string; readonly jack: string; readonly fact: string }[],
): readonly (Replaced & { readonly unit: string; readonly jack: string })[] {
  return written.flatMap((at) => {
    const [was, is] = [saidIn(before, at), saidIn(after, at)];
    if (was === undefined || is === undefined || was.text === is.text) return [];
    return [{ ...at, before: was.text, after: is.text, standing: standing(was, is) }];
  });
}
