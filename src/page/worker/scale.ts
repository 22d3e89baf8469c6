/**
 * Where a setting stands on its way from one end to the other, 0 to 1, and back. What one hears or
 * turns in ratios (times, frequencies, q) goes in ratios, the rest evenly; intervals go by semitones
 * and counts by whole numbers. What goes round in a loop goes by the ratio of what each passage leaves
 * off: from 0 to 90, 99 and 99.9 %, either way, is a third of the way each.
 */

import type { Quantity } from '../../modules/definition.ts';
import { formatBriefly, formatValue, isInRatios, parseValue } from '../../patch/units.ts';
import type { Control } from '../protocol.ts';

export type NumberControl = Extract<Control, { type: 'number' }>;

/** Where a scale in ratios begins if it goes down to zero, in the quantity's unit. */
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
/** Parts of the way that the arrow keys and, with Page Up and Page Down, a big step go. */
const STEP = 1 / 100;
const BIG_STEP = 1 / 10;
const FOOT = STEP;
/** Decades of what a passage of a loop leaves off: the last value before all of it goes round is 99.9 %. */
const RINGS = 3;
const LEFT = 10 ** -RINGS;
/** Values of a loop that are ticked. */
const TICKED = [-0.99, -0.9, 0, 0.9, 0.99];

/** The position of a value, 0 to 1; at the ends what lies beyond. */
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

/** Where a scale is ticked: at each decade between its ends or, where it goes evenly, at zero. */
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
 * What a number typed without its unit may have meant: with the unit in which it is within the range
 * and nearest to what stands now, as a ratio.
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

/** How far a loop's share is on its way from 0 to 1, by the ratio of what it leaves off; odd. */
function ringing(share: number): number {
  const size = Math.min(1, Math.abs(share));
  return (-Math.sign(share) * Math.log10(1 - size * (1 - LEFT))) / RINGS;
}

/** The part of the way at whose beginning there is zero, where a scale in ratios goes down to it. */
function footOf(control: NumberControl): number {
  return control.min === 0 && floorOf(control) !== undefined ? FOOT : 0;
}

/**
 * The value some steps of the arrow keys on; it always moves, unless it is at the end.
 * @param steps negative downwards.
 */
export function stepped(value: number, steps: number, control: NumberControl): number {
  return moved(value, steps, STEP, smallest(control, 1), control);
}

/** The same in big steps: an octave of semitones, ten of what is counted. */
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
    // What rounding would hold back goes on.
    if (next !== value || next === (steps > 0 ? max : min)) return next;
  }
  return value;
}

/** What one step is where positions are not even. */
function smallest({ quantity, min, max }: NumberControl, times: number): number | undefined {
  if (quantity === 'interval') return times;
  if (quantity !== 'count') return undefined;
  // Few are counted one by one, in big steps too.
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

/** Rounded to a thousandth of the way or finer, in a decimal step, so that small values keep no tail. */
function evenly(value: number, range: number): number {
  const step = 10 ** (Math.floor(Math.log10(range)) - DIGITS);
  return Number((Math.round(value / step) * step).toPrecision(12));
}
