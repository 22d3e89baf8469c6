/**
 * The position of a setting on its scale, 0 to 1, and back. Quantities that are heard or turned in
 * ratios (times, frequencies, q) go in ratios, the rest evenly; intervals go by semitones and counts
 * by whole numbers. A feedback share goes by the ratio of what each passage through the loop loses:
 * 0 to 90 %, to 99 % and to 99.9 %, either way, are a third of the way each.
 */

import type { Quantity } from '../../modules/definition.ts';
import { formatBriefly, formatValue, isInRatios, parseValue } from '../../patch/units.ts';
import type { Control } from '../protocol.ts';

export type NumberControl = Extract<Control, { type: 'number' }>;

/** The lowest value in ratios of a scale that goes down to zero, in the quantity's unit. */
const FLOORS: Readonly<Record<string, number>> = {
  time: 1e-4, // 0.1 ms
  frequency: 0.1, // Hz
  resistance: 1, // ohm
  tempo: 1,
  number: 0.01,
  count: 1,
};
/** Digits of a value that was dragged: finer than a hand or an ear. */
const DIGITS = 3;
/** Shares of the scale: a step of the arrow keys, and a big step by Page Up and Page Down. */
const STEP = 1 / 100;
const BIG_STEP = 1 / 10;
const FOOT = STEP;
/** Decades of what a passage through the loop loses: the last value before 100 % feedback is 99.9 %. */
const RINGS = 3;
const LEFT = 10 ** -RINGS;
/** Values of a feedback share that have ticks. */
const TICKED = [-0.99, -0.9, 0, 0.9, 0.99];

/** The position of a value, 0 to 1; values beyond the ends are at the ends. */
export function scalePosition(value: number, control: NumberControl): number {
  const { min, max } = control;
  if (!(max > min)) return 0;
  // A logarithm may miss the end by its last bit.
  if (value >= max) return 1;
  if (control.rings) return (ringing(value) - ringing(min)) / (ringing(max) - ringing(min));
  const low = floorOf(control);
  const foot = footOf(control);
  const position =
    low === undefined
      ? (value - min) / (max - min)
      : value < low
        ? (foot * value) / low
        : foot + ((1 - foot) * Math.log(value / low)) / Math.log(max / low);
  return Math.min(1, Math.max(0, position));
}

/** The value at a position, rounded as the file would have it. */
export function scaleValue(position: number, control: NumberControl): number {
  const { min, max } = control;
  const foot = footOf(control);
  if (!(position > 0) || position < foot / 2) return min;
  if (position >= 1) return max;
  if (control.rings) {
    const way = ringing(min) + position * (ringing(max) - ringing(min));
    return rounded((Math.sign(way) * (1 - 10 ** (-RINGS * Math.abs(way)))) / (1 - LEFT), control);
  }
  const low = floorOf(control);
  const share = Math.max(0, (position - foot) / (1 - foot));
  const value =
    low === undefined ? min + position * (max - min) : low * Math.exp(share * Math.log(max / low));
  return rounded(value, control);
}

/** The ticks of a scale: at each decade between its ends or, on an even scale, at zero. */
export function scaleTicks(control: NumberControl): readonly number[] {
  const { min, max } = control;
  if (control.rings)
    return TICKED.filter((value) => value > min && value < max).map((value) =>
      scalePosition(value, control),
    );
  const low = floorOf(control);
  if (low === undefined) return min < 0 && max > 0 ? [scalePosition(0, control)] : [];
  const ticks: number[] = [];
  for (let decade = Math.ceil(Math.log10(low)); 10 ** decade < max; decade++) {
    const value = 10 ** decade;
    if (value > min) ticks.push(scalePosition(value, control));
  }
  return ticks;
}

/**
 * Guesses the unit of a number typed without one: the unit in which it is within the range and
 * nearest to the present value, as a ratio.
 */
export function withUnit(typed: string, control: NumberControl): string | undefined {
  const { quantity, value: now, min, max, fallback, units } = control;
  const number = typed.trim();
  if (!/^[-+]?(\d+\.?\d*|\.\d+)$/.test(number)) return undefined;
  const spec = { type: quantity as Quantity, min, max, fallback, about: '' };
  const near = Math.abs(now) || Math.abs(fallback) || max;
  let best: { readonly text: string; readonly off: number } | undefined;
  for (const unit of units) {
    const text = `${number} ${unit}`;
    const reading = parseValue(text, spec, '');
    if (reading.fault !== undefined) continue;
    const { value } = reading;
    const off = value === 0 ? 0 : Math.abs(Math.log(Math.abs(value) / near));
    if (best === undefined || off < best.off) best = { text, off };
  }
  return best?.text;
}

/** The position of a feedback share between 0 and 1, by the ratio of what it loses; an odd function. */
function ringing(share: number): number {
  const size = Math.min(1, Math.abs(share));
  return (-Math.sign(share) * Math.log10(1 - size * (1 - LEFT))) / RINGS;
}

/** The share of the scale from zero to the lowest value in ratios, where a scale goes down to zero. */
function footOf(control: NumberControl): number {
  return control.min === 0 && floorOf(control) !== undefined ? FOOT : 0;
}

/**
 * The value after some steps of the arrow keys; it always changes, unless it is at the end.
 * @param steps negative downwards.
 */
export function stepped(value: number, steps: number, control: NumberControl): number {
  return moved(value, steps, STEP, smallest(control, 1), control);
}

/** The same in big steps: an octave for semitones, ten for counts. */
export function steppedFar(value: number, steps: number, control: NumberControl): number {
  return moved(
    value,
    steps,
    BIG_STEP,
    smallest(control, control.quantity === 'interval' ? 12 : 10),
    control,
  );
}

/** The value as the file writes it. */
export function scaleText(value: number, { quantity }: NumberControl): string {
  return formatValue(value, quantity as Quantity);
}

/** A value for people, to four digits. */
export function briefOf(value: number, { quantity }: NumberControl): string {
  return formatBriefly(value, quantity as Quantity);
}

function moved(
  value: number,
  steps: number,
  share: number,
  unit: number | undefined,
  control: NumberControl,
): number {
  const { min, max } = control;
  const clamped = (next: number): number => Math.min(max, Math.max(min, next));
  if (unit !== undefined) return clamped(rounded(value + steps * unit, control));
  for (let count = steps; Math.abs(count) < Math.abs(steps) + 100; count += Math.sign(steps)) {
    if (steps === 0) return value;
    const next = clamped(scaleValue(scalePosition(value, control) + count * share, control));
    // If rounding gives the same value again, go further.
    if (next !== value || next === (steps > 0 ? max : min)) return next;
  }
  return value;
}

/** One step of a quantity that moves by whole units. */
function smallest({ quantity, min, max }: NumberControl, times: number): number | undefined {
  if (quantity === 'interval') return times;
  if (quantity !== 'count') return undefined;
  // A short range is counted one by one, in big steps too.
  return max - min <= 10 ? 1 : times;
}

function floorOf({ quantity, min, max }: NumberControl): number | undefined {
  if (!isInRatios(quantity as Quantity) || min < 0) return undefined;
  const low = min > 0 ? min : (FLOORS[quantity] as number);
  return low < max ? low : undefined;
}

function rounded(value: number, { quantity, min, max }: NumberControl): number {
  const near =
    quantity === 'count'
      ? Math.round(value)
      : quantity === 'interval'
        ? Math.round(value * 10) / 10
        : quantity === 'percent' || quantity === 'decibel' || quantity === 'voltage'
          ? evenly(value, max - min)
          : Number(value.toPrecision(DIGITS));
  return Math.min(max, Math.max(min, near));
}

/**
 * Rounded to a thousandth of the range or finer, in a decimal step, so that small values get no long tail of
 * digits.
 */
function evenly(value: number, range: number): number {
  const step = 10 ** (Math.floor(Math.log10(range)) - DIGITS);
  return Number((Math.round(value / step) * step).toPrecision(12));
}
