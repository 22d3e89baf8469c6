/** How far settings may be moved: no further than the recording can show, or than a dial goes. */

import { largest, smallest } from '../modules/dsp/extremes.ts';
import type { Patch } from '../patch/patch.ts';
import type { Unit } from '../patch/rack/rack.ts';
import { FitError, inRange, isSwitch, type Knob, knobText } from './settings.ts';

/** A recording cannot show times that are longer than this many times its own length. */
const TIMES = 4;

/**
 * Narrows the ranges of settings.
 * @param longest of the recording's hits, until the next one or the end, s.
 * @throws FitError for a range with nothing left, and a setting that has no knob in the rack.
 */
export function limited(knobs: readonly Knob[], patch: Patch, longest: number): readonly Knob[] {
  return knobs.map((knob) => {
    const { low, high } = knob;
    const units = unitsFor(patch, knob.module);
    if (units.some(({ fixed }) => Object.hasOwn(fixed, knob.setting)))
      throw new FitError(
        `--vary: ${knob.path} is fixed on the unit "${units[0]?.name}" of the rack, so it cannot be moved.`,
      );
    if (isSwitch(knob)) return knob;
    const dial = units.map(({ dials }) => dials.get(knob.setting)).find((one) => one !== undefined);
    const values = dial?.points.map(({ value }) => value) ?? [];
    const [dialLow, dialHigh] =
      values.length > 0 ? [smallest(values), largest(values)] : [low, high];
    const most = knob.spec.type === 'time' ? TIMES * longest : Number.POSITIVE_INFINITY;
    const narrowed = { low: Math.max(low, dialLow), high: Math.min(high, dialHigh, most) };
    if (narrowed.low < narrowed.high) return { ...knob, ...inRange(knob, narrowed, knob.isRatio) };
    throw new FitError(
      `--vary: nothing is left of the range of ${knob.path}, ${knobText(knob, low)} to ${knobText(knob, high)}: ${
        narrowed.low < Math.min(high, dialHigh)
          ? `the recording's longest hit has ${knobText(knob, longest)}, and it tells nothing of times over ${TIMES} times that.`
          : `the dial of the rack goes from ${knobText(knob, dialLow)} to ${knobText(knob, dialHigh)}.`
      }`,
    );
  });
}

/** Leaves out the settings that have no knob in the rack. */
export function movable(knobs: readonly Knob[], patch: Patch): readonly Knob[] {
  return knobs.filter(
    ({ module, setting }) =>
      !unitsFor(patch, module).some(({ fixed }) => Object.hasOwn(fixed, setting)),
  );
}

/** The unit of the rack that a module is; empty without a rack, or where no unit fits. */
function unitsFor({ modules, owned }: Patch, name: string): readonly Unit[] {
  const unit = modules.find((one) => one.name === name)?.unit?.name;
  return (owned?.units ?? []).filter((one) => one.name === unit);
}
