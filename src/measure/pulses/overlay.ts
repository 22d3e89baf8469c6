/**
 * The pulses of a recording laid over one another at their rise, as an oscilloscope that is triggered by
 * it shows them: the volts of each, and of all together the median, the middle nine tenths and the ends.
 *
 * Time is divided into columns. Where a column is shorter than a sample, the volts at its middle are those of the
 * line between two samples; where it holds several, it also keeps the least and the most of them.
 */

import type { PulseMeasures, PulseSource } from './pulses.ts';

/** Volts in V, by column; NaN where no pulse shows anything. */
export interface PulseOverlay {
  /** s from the rise: the middle of each column. */
  readonly times: Float64Array;
  readonly median: Float64Array;
  /** The middle nine tenths. */
  readonly from: Float64Array;
  readonly to: Float64Array;
  /** Of all pulses. */
  readonly least: Float64Array;
  readonly most: Float64Array;
  /** Each pulse by itself; empty where they are more than {@link MOST_ALONE}. */
  readonly pulses: readonly PulseTrace[];
  /** How many there are, and how many of them, evenly taken, median and middle are worked out from. */
  readonly count: number;
  readonly counted: number;
}

export interface PulseTrace {
  readonly middle: Float32Array;
  readonly least: Float32Array;
  readonly most: Float32Array;
}

const COLUMNS = 480;
/** Pulses up to which each is kept by itself. */
export const MOST_ALONE = 64;
/** Median and middle are taken from at most this many pulses: their error is a sixtieth of the spread. */
const MOST_COUNTED = 2000;
/** How much is shown: of the longest pulse; of the usual one, at most; before the rise, of the part after it. */
const PAST = 1.3;
const MOST_PAST = 4;
const LEAD = 0.12;
/** At least so many samples are shown after the rise. */
const LEAST_SAMPLES = 12;
/** For pulses whose ends are not known: from one to the next. */
const UNTOLD = 0.9;
const TAIL = 0.05;

/** Reads the recording once more. @param measures what `pulseMeasures` gave of it, which has rises. */
export function pulseOverlay(source: PulseSource, measures: PulseMeasures): PulseOverlay {
  const { sampleRate, fullScale, channel, blocks } = source;
  const after = Math.max(secondsShown(measures) * sampleRate, LEAST_SAMPLES);
  const before = LEAD * after;
  const width = (before + after) / COLUMNS;
  const starts = measures.rises.map((time) => time * sampleRate - before);
  const gathered = new Gathered(starts.length);
  const open: OpenPulse[] = [];
  let next = 0;
  let first = 0;
  let last = 0;
  for (const { channels, frames } of blocks()) {
    const samples = channels[channel];
    if (samples === undefined) throw new RangeError(`channel ${channel + 1} is missing`);
    const end = first + frames;
    for (; next < starts.length && (starts[next] as number) < end; next++)
      open.push(new OpenPulse(starts[next] as number, width));
    for (const one of open) one.add(samples, first, frames, last);
    while (open[0] !== undefined && open[0].end < end) gathered.add(open.shift() as OpenPulse);
    first = end;
    if (frames > 0) last = samples[frames - 1] as number;
  }
  for (const one of open) gathered.add(one);
  const times = Float64Array.from({ length: COLUMNS }, (_, column) => {
    return ((column + 0.5) * width - before) / sampleRate;
  });
  return gathered.finish(times, fullScale);
}

function secondsShown({ width, interval, seconds }: PulseMeasures): number {
  if (width !== undefined) return Math.min(PAST * width.most, MOST_PAST * width.median);
  return interval === undefined ? TAIL * seconds : UNTOLD * interval.median;
}

/** A pulse whose columns are being filled; positions in samples. */
class OpenPulse implements PulseTrace {
  readonly middle = new Float32Array(COLUMNS).fill(Number.NaN);
  readonly least = new Float32Array(COLUMNS).fill(Number.POSITIVE_INFINITY);
  readonly most = new Float32Array(COLUMNS).fill(Number.NEGATIVE_INFINITY);
  readonly end: number;
  private readonly start: number;
  private readonly width: number;

  constructor(start: number, width: number) {
    this.start = start;
    this.width = width;
    // One more sample, so that the line to it can be drawn.
    this.end = start + COLUMNS * width + 1;
  }

  /** @param first where the samples begin in the recording. @param last the sample before them. */
  add(samples: Float32Array | Float64Array, first: number, frames: number, last: number): void {
    const { start, width, end } = this;
    const from = Math.max(0, Math.floor(start) - first);
    const to = Math.min(frames, Math.ceil(end) - first);
    for (let n = from; n < to; n++) {
      const place = (first + n - start) / width;
      const value = samples[n] as number;
      this.widen(Math.floor(place), value);
      if (first + n === 0) continue;
      const before = n === 0 ? last : (samples[n - 1] as number);
      // The columns whose middles lie between the two samples.
      const earlier = place - 1 / width;
      for (let column = Math.max(0, Math.ceil(earlier - 0.5)); column + 0.5 <= place; column++) {
        if (column >= COLUMNS) break;
        const at = before + (value - before) * (column + 0.5 - earlier) * width;
        this.middle[column] = at;
        this.widen(column, at);
      }
    }
  }

  private widen(column: number, value: number): void {
    if (column < 0 || column >= COLUMNS) return;
    this.least[column] = Math.min(this.least[column] as number, value);
    this.most[column] = Math.max(this.most[column] as number, value);
  }
}

/** All pulses so far. */
class Gathered {
  private readonly least = new Float64Array(COLUMNS).fill(Number.POSITIVE_INFINITY);
  private readonly most = new Float64Array(COLUMNS).fill(Number.NEGATIVE_INFINITY);
  private readonly kept: PulseTrace[] = [];
  private readonly middles: Float32Array[] = [];
  private readonly total: number;
  private seen = 0;

  constructor(total: number) {
    this.total = total;
  }

  add({ middle, least, most }: PulseTrace): void {
    if (this.total <= MOST_ALONE) this.kept.push({ middle, least, most });
    const share = Math.min(1, MOST_COUNTED / this.total);
    if (Math.floor((this.seen + 1) * share) > Math.floor(this.seen * share) || share === 1)
      this.middles.push(middle);
    this.seen += 1;
    for (let column = 0; column < COLUMNS; column++) {
      this.least[column] = Math.min(this.least[column] as number, least[column] as number);
      this.most[column] = Math.max(this.most[column] as number, most[column] as number);
    }
  }

  finish(times: Float64Array, fullScale: number): PulseOverlay {
    const { kept, middles, seen } = this;
    const [from, median, to] = [0, 1, 2].map(() => new Float64Array(COLUMNS)) as [
      Float64Array,
      Float64Array,
      Float64Array,
    ];
    for (let column = 0; column < COLUMNS; column++) {
      const values = Float64Array.from(middles, (middle) => middle[column] as number)
        .filter((value) => !Number.isNaN(value))
        .sort();
      from[column] = fullScale * quantile(values, 0.05);
      median[column] = fullScale * quantile(values, 0.5);
      to[column] = fullScale * quantile(values, 0.95);
    }
    // Columns that no pulse has reached are still infinite.
    const inVolts = <T extends Float32Array | Float64Array>(values: T): T =>
      values.map((value) => (Number.isFinite(value) ? value * fullScale : Number.NaN)) as T;
    return {
      times,
      from,
      median,
      to,
      least: inVolts(this.least),
      most: inVolts(this.most),
      pulses: kept.map(({ middle, least, most }) => ({
        middle: inVolts(middle),
        least: inVolts(least),
        most: inVolts(most),
      })),
      count: seen,
      counted: middles.length,
    };
  }
}

/** Interpolates between the two nearest of sorted values; NaN for none. */
function quantile(values: Float64Array, share: number): number {
  const place = share * (values.length - 1);
  const low = values[Math.floor(place)] ?? Number.NaN;
  const high = values[Math.ceil(place)] ?? Number.NaN;
  return low + (high - low) * (place - Math.floor(place));
}
