/** The settings that a fit gives back: those that the recording does not decide, and those that would do harm. */

import { mean } from '../measure/mean.ts';
import type { Patch } from '../patch/patch.ts';
import { DECIDED, flatSide } from './flat.ts';
import type { Knob } from './settings.ts';
import type { Tries } from './tries.ts';

/** Something that is wrong with a patch, as a check finds it. */
export interface Concern {
  /** A rule and a jack: the same for the same fault in another version of the patch. */
  readonly about: string;
  /** The larger, the worse. */
  readonly weight: number;
  readonly message: string;
}

/** A value near the recording that was not used, since it would do harm. */
export interface Refused {
  readonly knob: Knob;
  readonly value: number;
  readonly concerns: readonly Concern[];
}

export interface SettleOptions {
  readonly tries: Tries;
  readonly knobs: readonly Knob[];
  /** The distance of the patch as it was, dB. */
  readonly before: number;
  /** The patch that some values make, as written and read again. */
  readonly patchWith: (values: readonly number[]) => Patch;
  readonly concernsOf: (patch: Patch) => readonly Concern[];
  readonly breathe: () => Promise<void>;
  /** Once true, only necessary tries are made. */
  readonly isOver: () => boolean;
}

/** All settings that are given back may cost this together, dB, or this share of the distance. */
const GIVEN_UP = { db: DECIDED, share: 0.03 };
/**
 * A gain of more than `clear` dB is not due to chance. A setting that gains less is tried with so many other
 * draws of noise, and has to gain `sure` times the standard error of its gains in these.
 */
const CHANCE = { clear: 0.3, draws: 3, sure: 2 };

/** The settings that are not as they were. */
export function movedAxes(
  { best }: Pick<Tries, 'best'>,
  knobs: readonly Knob[],
): readonly number[] {
  return [...knobs.keys()].filter((axis) => best.values[axis] !== knobs[axis]?.before);
}

/** Whether with other noise the gain of the best so far over others may be chance. */
async function isChance(
  tries: Pick<Tries, 'best' | 'prepare' | 'drawn'>,
  values: readonly number[],
  db: number,
  isOver = (): boolean => false,
): Promise<boolean> {
  const { best } = tries;
  if (db - best.db > CHANCE.clear) return false;
  const owns: number[] = [];
  tries.prepare([best.values, values], 1 + CHANCE.draws);
  for (let draw = 1; draw <= CHANCE.draws; draw++) {
    if (isOver()) return false;
    const own = await tries.drawn(best.values, draw);
    // Without noise there is no chance.
    if (own === best.db) return false;
    owns.push(own);
  }
  const gains: number[] = [];
  for (const [index, own] of owns.entries()) {
    if (isOver()) return false;
    gains.push((await tries.drawn(values, index + 1)) - own);
  }
  const gained = mean(gains);
  const squares = gains.reduce((sum, gain) => sum + (gain - gained) ** 2, 0);
  const error = Math.sqrt(squares / (gains.length - 1) / gains.length);
  return gained <= Math.max(DECIDED, CHANCE.sure * error);
}

/** Gives back what makes hardly a difference: each setting, that which makes the least first, and several together. */
export async function giveBack({
  tries,
  knobs,
  before,
  isOver,
}: Pick<SettleOptions, 'knobs' | 'before' | 'isOver'> & {
  readonly tries: Pick<Tries, 'best' | 'least' | 'prepare' | 'aside' | 'drawn'>;
}): Promise<void> {
  const without = (axes: readonly number[]): readonly number[] =>
    axes.reduce(
      (values, axis) => values.with(axis, knobs[axis]?.before as number),
      tries.best.values,
    );
  const most = (): number =>
    Math.min(
      before,
      Math.max(
        tries.best.db + DECIDED,
        tries.least + Math.max(GIVEN_UP.db, GIVEN_UP.share * tries.least),
      ),
    );
  const wentBack = async (axes: readonly number[]): Promise<boolean> => {
    const values = without(axes);
    const db = await tries.aside(values);
    if (db > most() && (db > before || !(await isChance(tries, values, db, isOver)))) return false;
    tries.best = { values, db };
    return true;
  };
  const isMoved = (axis: number): boolean => tries.best.values[axis] !== knobs[axis]?.before;
  const rated: { readonly axis: number; readonly db: number }[] = [];
  const all = movedAxes(tries, knobs);
  tries.prepare(all.map((axis) => without([axis])));
  for (const axis of all) {
    if (isOver()) return;
    rated.push({ axis, db: await tries.aside(without([axis])) });
  }
  const weakestFirst = rated.toSorted((a, b) => a.db - b.db).map(({ axis }) => axis);
  for (const axes of [...weakestFirst.map((axis) => [axis]), ...levelsTogether(knobs)]) {
    if (isOver()) return;
    if (axes.every(isMoved)) await wentBack(axes);
  }
  // What one gains may only make up for what another loses: the weakest go back together, too.
  const weakest = weakestFirst.filter(isMoved);
  for (let count = weakest.length - 1; count > 1; count--) {
    if (isOver() || (await wentBack(weakest.slice(0, count)))) return;
  }
}

/** Each two levels of one module: where only their ratio matters, one alone cannot go back. */
function levelsTogether(knobs: readonly Knob[]): readonly (readonly number[])[] {
  const isLevel = ({ spec }: Knob): boolean => spec.type !== 'choice' && spec.input !== undefined;
  const levels = [...knobs.keys()].filter((axis) => isLevel(knobs[axis] as Knob));
  return levels.flatMap((one, index) =>
    levels
      .slice(index + 1)
      .filter((other) => knobs[other]?.module === knobs[one]?.module)
      .map((other) => [one, other]),
  );
}

/** Of values that are equally good, takes the one nearest to the setting's old value. */
export async function comeNearer({ tries, knobs, isOver }: SettleOptions): Promise<void> {
  for (const axis of movedAxes(tries, knobs)) {
    if (isOver()) return;
    const knob = knobs[axis] as Knob;
    const { values, db } = tries.best;
    const value = values[axis] as number;
    const direction = knob.before < value ? -1 : 1;
    const rise = async (other: number) => (await tries.aside(values.with(axis, other))) - db;
    const { edge } = await flatSide(knob, value, direction, rise, isOver);
    const isBetween = edge !== null && (edge - value) * (knob.before - edge) > 0;
    if (!isBetween) continue;
    const nearer = values.with(axis, edge);
    tries.best = { values: nearer, db: await tries.aside(nearer) };
  }
}

/**
 * Gives back one setting after another until the patch has no concern that it did not have before.
 * @returns the values that were not used.
 */
export async function giveBackHarm(options: SettleOptions): Promise<readonly Refused[]> {
  const { tries, knobs, patchWith, concernsOf, breathe } = options;
  const refused: Refused[] = [];
  if (movedAxes(tries, knobs).length === 0) return refused;
  const usual = concernsOf(patchWith(knobs.map(({ before }) => before)));
  const addedBy = async (values: readonly number[]): Promise<readonly Concern[]> => {
    await breathe();
    return added(usual, concernsOf(patchWith(values)));
  };
  for (;;) {
    const concerns = await addedBy(tries.best.values);
    if (concerns.length === 0) return refused;
    const ways: { axis: number; values: readonly number[]; db: number; left: number }[] = [];
    for (const axis of movedAxes(tries, knobs)) {
      const values = tries.best.values.with(axis, knobs[axis]?.before as number);
      const left = (await addedBy(values)).length;
      ways.push({ axis, values, db: await tries.aside(values), left });
    }
    const [way] = ways.toSorted((a, b) => a.left - b.left || a.db - b.db);
    if (way === undefined) return refused;
    const knob = knobs[way.axis] as Knob;
    refused.push({ knob, value: tries.best.values[way.axis] as number, concerns });
    tries.best = { values: way.values, db: way.db };
    // Settings that were useful together with that one may not be without it.
    await giveBack(options);
  }
}

/** The concerns that there are more of than before, or worse ones. */
export function added(before: readonly Concern[], after: readonly Concern[]): readonly Concern[] {
  const asBad = (list: readonly Concern[], { about, weight }: Concern): number =>
    list.filter((one) => one.about === about && one.weight >= weight).length;
  return after.filter((concern) => asBad(after, concern) > asBad(before, concern));
}
