/** `calibrate`: what the recordings of a dial show, position by position, and whether that makes a table. */

import { envelopeStage } from '../../measure/dials/envelope-stages.ts';
import { type Corner, type FittedValue, filterCorner } from '../../measure/dials/filter-corner.ts';
import { burstSpacing, gateTime, pulseLate } from '../../measure/dials/gate-times.ts';
import { noiseLevel } from '../../measure/dials/noise-colour.ts';
import {
  type DialReading,
  GUESS,
  type MonoClip,
  type NoReading,
  STATED,
} from '../../measure/dials/reading.ts';
import { sharePassed } from '../../measure/dials/share-passed.ts';
import { steadyPitch } from '../../measure/dials/steady-pitch.ts';
import { stepRate } from '../../measure/dials/step-rate.ts';
import { median } from '../../measure/median.ts';
import type { Definition, OutputJack } from '../../modules/definition.ts';
import type { DialTable } from '../../patch/rack/dial.ts';
import type { ClippedDial, DialClip, DialClips } from '../../patch/rack/dial-clips.ts';
import { jacksWith } from '../../patch/rack/rack.ts';
import type { Report } from '../../patch/text/report.ts';
import { formatBriefly, formatValue } from '../../patch/units.ts';
import { readClip } from './read-clip.ts';
import { whyNone } from './why-none.ts';

/** A dial as measured from its recordings. */
export interface CalibratedDial {
  readonly dial: ClippedDial;
  readonly points: readonly CalibratedPoint[];
  /** With the values as they are written, so rounded. */
  readonly table: DialTable;
  /** Neighbours that differ by less than their errors: which of the two has the higher value is not known. */
  readonly close: readonly (readonly [CalibratedPoint, CalibratedPoint])[];
  /** What else the recordings show of the unit. Each is a sentence without its full stop. */
  readonly also: readonly string[];
  /** Of stages of an envelope: their shape. */
  readonly curve: 'exponential' | 'linear' | undefined;
}

export interface CalibratedPoint {
  readonly clip: DialClip;
  /** In the unit of the setting's quantity, and its error: of twenty figures nineteen are within theirs. */
  readonly value: number;
  readonly error: number;
  /** As a rack writes it. */
  readonly text: string;
}

/** Clips of one dial whose peaks differ by more than this share were not recorded alike. */
const ALIKE = 0.1;
/** Levels that differ by at most this many standard errors are taken for the same. */
const AGREE = 3.5;
/**
 * How much an interface's gain and a module's own level drift, in natural logarithms of power; then a q, as a
 * share.
 */
const LEVEL_MOVES = 0.03;
const PEAK_MOVES = 0.03;
/**
 * A corner over `HIGH_HZ`, recorded below `HIGH_RATE`, with an error over this share, is worth recording at a
 * higher rate.
 */
const WORTH_A_RATE = 0.03;
const HIGH_RATE = 88_000;
const HIGH_HZ = 8000;

interface ReadClip {
  readonly clip: DialClip;
  readonly reading: DialReading;
}

/**
 * Measures every clip of a dial file.
 * @returns the dials that make a table; all that is wrong is reported at its place in the dial file.
 */
export async function calibrated(
  { dials, volts }: DialClips,
  report: Report,
  pause: () => Promise<void>,
): Promise<readonly CalibratedDial[]> {
  const made: CalibratedDial[] = [];
  for (const dial of dials) {
    const before = report.count;
    const also: string[] = [];
    const told = await readings(dial, volts, { report, pause, also });
    if (report.count > before) continue;
    requireAlike(dial, told, report);
    if (report.count > before) continue;
    const points = told.map(({ clip, reading }) => pointOf(dial, clip, reading));
    for (const point of points) requireInRange(dial, point, report);
    requireOneWay(dial, points, report);
    if (report.count > before) continue;
    const table = {
      quantity: dial.spec.type,
      points: points.map(({ clip, value }) => ({ position: clip.position, value })),
    };
    const close = points.slice(1).flatMap((point, k) => {
      const before = points[k] as CalibratedPoint;
      return isClose(before, point) ? [[before, point] as const] : [];
    });
    made.push({ dial, points, table, close, also, curve: told[0]?.reading.curve });
  }
  return made;
}

interface Calibrating {
  readonly report: Report;
  /** Lets a signal such as Ctrl-C be handled between two clips. */
  readonly pause: () => Promise<void>;
  readonly also: string[];
}

async function readings(
  dial: ClippedDial,
  volts: number | undefined,
  work: Calibrating,
): Promise<readonly ReadClip[]> {
  const { toldBy } = dial.spec;
  if (toldBy === 'cutoff' || toldBy === 'q') return await corners(dial, toldBy, work);
  const { input } = dial;
  const dry =
    toldBy === 'share' && typeof input === 'object'
      ? readClip(input.path, dial.channel, input.place, work.report)
      : undefined;
  const told: ReadClip[] = [];
  const slopes: DialReading[] = [];
  for (const clip of dial.clips) {
    await work.pause();
    const heard = readClip(clip.path, dial.channel, clip.place, work.report);
    if (heard === undefined) continue;
    const trigger =
      dial.trigger === undefined ? dry : readClip(clip.path, dial.trigger, clip.place, work.report);
    const reading = readingOf(dial, heard, { volts, dry: trigger, slopes });
    if (typeof reading === 'string') reportNone(dial, clip, reading, work.report);
    else told.push({ clip, reading });
  }
  if (slopes.length > 0) {
    const { value, error } = typical(slopes);
    work.also.push(
      `its noise falls by ${(Number((0 - value).toFixed(1)) + 0).toFixed(1)} dB an octave, +- ${Number(error.toPrecision(1))} dB`,
    );
  }
  return told;
}

/** What a reading needs besides the clip. */
interface Beside {
  readonly volts: number | undefined;
  /** For a share, what went in; for a delay, its trigger. */
  readonly dry: MonoClip | undefined;
  /** For noise: collects its slopes, dB an octave. */
  readonly slopes: DialReading[];
}

function readingOf(
  { spec, heard, jack, owned, definition }: ClippedDial,
  clip: MonoClip,
  { volts, dry, slopes }: Beside,
): DialReading | NoReading {
  const curve = owned?.fixed.curve as 'exponential' | 'linear' | undefined;
  switch (spec.toldBy) {
    case 'level': {
      const reading = noiseLevel(clip, heardAt(definition, jack, 'noise'));
      if (typeof reading === 'string') return reading;
      slopes.push({ value: reading.slope, error: reading.slopeError });
      const scale = volts ?? 1;
      return { value: scale * reading.value, error: scale * reading.error };
    }
    case 'frequency':
      return steadyPitch(clip);
    case 'interval': {
      const reading = steadyPitch(clip);
      if (typeof reading === 'string') return reading;
      const atZero = pitchSetOf(definition, owned);
      const error = (12 / Math.LN2) * (reading.error / reading.value);
      return { value: 12 * Math.log2(reading.value / atZero), error };
    }
    case 'cutoff':
    case 'q':
      throw new Error('a corner is found from several clips together');
    case 'rate':
    case 'duty':
    case 'length':
      return gateTime(clip, spec.toldBy);
    case 'spacing':
      return burstSpacing(clip);
    case 'steps':
      return stepRate(clip);
    case 'late':
      return dry === undefined ? 'silent' : pulseLate(clip, dry);
    case 'share':
      return dry === undefined ? 'silent' : sharePassed(clip, dry);
    case 'rise':
    case 'fall': {
      const reading = envelopeStage(clip, spec.toldBy, heard, curve);
      return typeof reading === 'string' ? reading : glideOf(reading, volts);
    }
    default: {
      return envelopeStage(clip, spec.toldBy, heard, curve);
    }
  }
}

/** V over which the time of a straight glide is given: see src/modules/slew.ts. */
const GLIDE_VOLTS = 5;

function glideOf(reading: DialReading, volts: number | undefined): DialReading | NoReading {
  if (reading.curve !== 'linear') return reading;
  if (volts === undefined) return 'no-full-scale';
  const part = GLIDE_VOLTS / (volts * (reading.peak ?? 1));
  return { ...reading, value: part * reading.value, error: part * reading.error };
}

/** What the definition says of what an output gives. */
function heardAt<F extends 'noise' | 'response'>(
  definition: Definition,
  jack: string,
  fact: F,
): NonNullable<OutputJack[F]> {
  const output = jacksWith(definition, {}).find(({ name }) => name === jack);
  const found = output?.direction === 'out' ? output[fact] : undefined;
  if (found === undefined)
    throw new Error(`${definition.kind} does not say the ${fact} of ${jack}`);
  return found;
}

/** Hz: the pitch that an interval is added to, as the unit has it. */
function pitchSetOf({ settings }: Definition, owned: ClippedDial['owned']): number {
  for (const [name, spec] of Object.entries(settings))
    if ('toldBy' in spec && spec.toldBy === 'frequency')
      return (owned?.fixed[name] as number | undefined) ?? spec.fallback;
  throw new Error('an interval without a pitch');
}

/** Of a filter: first each clip by itself, then again with the level and peak that all clips share. */
async function corners(
  dial: ClippedDial,
  wanted: 'cutoff' | 'q',
  { report, pause, also }: Calibrating,
): Promise<readonly ReadClip[]> {
  const { input } = dial;
  const dry =
    typeof input === 'string' ? input : readClip(input.path, dial.channel, input.place, report);
  if (dry === undefined) return [];
  const output = heardAt(dial.definition, dial.jack, 'response');
  const found: { readonly clip: DialClip; readonly heard: MonoClip; readonly corner: Corner }[] =
    [];
  for (const clip of dial.clips) {
    await pause();
    const heard = readClip(clip.path, dial.channel, clip.place, report);
    if (heard === undefined) continue;
    const corner = filterCorner(heard, output, dry);
    if (typeof corner === 'string') reportNone(dial, clip, corner, report);
    else found.push({ clip, heard, corner });
  }
  const alike = (of: 'level' | 'peak', moves: number): FittedValue | undefined =>
    common(
      found.map(({ corner }) => corner[of]),
      moves,
    );
  const known = {
    level: alike('level', LEVEL_MOVES),
    peak: wanted === 'q' ? undefined : alike('peak', PEAK_MOVES),
  };
  const told: ReadClip[] = [];
  const others: DialReading[] = [];
  for (const { clip, heard, corner } of found) {
    await pause();
    const again =
      known.level === undefined && known.peak === undefined
        ? corner
        : filterCorner(heard, output, dry, known);
    const sure = typeof again === 'string' ? corner : again;
    const { cutoff, q } = sure;
    others.push(wanted === 'q' ? cutoff : q);
    if (wanted === 'cutoff' && sure.needsHigherRate)
      reportNone(dial, clip, 'needs-higher-rate', report);
    else if (wanted === 'q' && !(q.error < GUESS * q.value))
      reportNone(dial, clip, 'too-sharp', report);
    else told.push({ clip, reading: sure[wanted] });
    const isHigh = heard.sampleRate < HIGH_RATE && cutoff.value > HIGH_HZ;
    if (isHigh && STATED * sure[wanted].error > WORTH_A_RATE * sure[wanted].value)
      also.push(`at ${clip.words} a recording at 96 kHz would tell it better`);
  }
  if (others.length > 0)
    also.push(wanted === 'q' ? stood('cutoff', 'frequency', others) : stood('q', 'number', others));
  return told;
}

/** The setting that was left alone counts as moved when it differs by more than this share, beyond its errors. */
const STANDS = 0.1;

function stood(
  name: string,
  quantity: 'frequency' | 'number',
  all: readonly DialReading[],
): string {
  const { value, error } = typical(all);
  const words = (one: number): string => formatBriefly(one, quantity, 3);
  const moved = all.filter(
    (one) => Math.abs(one.value - value) > STANDS * value + error + STATED * one.error,
  );
  if (moved.length === 0)
    return `its ${name} stood at ${words(value)}, +- ${Number(((100 * error) / value).toPrecision(2))} %`;
  const sorted = all.map((one) => one.value).toSorted((a, b) => a - b);
  const [least = 0, most = 0] = [sorted[0], sorted.at(-1)];
  return `its ${name} was moved: it goes from ${words(least)} to ${words(most)}. Look whether its knob was moved, or clips are mixed up`;
}

/** The setting that was left alone: the median over the clips, with the error of a single clip. */
function typical(all: readonly DialReading[]): DialReading {
  return {
    value: median(all.map(({ value }) => value)),
    error: STATED * median(all.map(({ error }) => error)),
  };
}

/** The value that all clips share, if they agree. @param moves by how much it drifts from clip to clip. */
function common(all: readonly FittedValue[], moves: number): FittedValue | undefined {
  const sure = all.map((one) => ({ ...one, error: Math.hypot(one.error, moves) }));
  const weight = sure.reduce((sum, { error }) => sum + 1 / error ** 2, 0);
  const value = sure.reduce((sum, one) => sum + one.value / one.error ** 2, 0) / weight;
  const agree = sure.every((one) => Math.abs(one.value - value) < AGREE * one.error);
  return agree && sure.length > 2
    ? { value, error: Math.max(1 / Math.sqrt(weight), moves) }
    : undefined;
}

function reportNone(dial: ClippedDial, clip: DialClip, reason: NoReading, report: Report): void {
  const { message, expected } = whyNone(reason, dial);
  report.add('recording', clip.place, `${clip.path}: ${message}`, { expected });
}

/** A stroke that does not get as high as the others was cut off, or recorded at another gain. */
function requireAlike(dial: ClippedDial, told: readonly ReadClip[], report: Report): void {
  const peaks = told.flatMap(({ reading }) => reading.peak ?? []);
  const usual = median(peaks);
  const curves = told.flatMap(({ reading }) => reading.curve ?? []);
  const linear = curves.filter((curve) => curve === 'linear').length;
  const common = 2 * linear > curves.length ? 'linear' : 'exponential';
  for (const { clip, reading } of told) {
    if (reading.peak !== undefined && Math.abs(reading.peak / usual - 1) > ALIKE) {
      const percent = Math.round(100 * (reading.peak / usual));
      report.add(
        'recording',
        clip.place,
        `${clip.path}: it gets to ${percent} % of what the others do`,
        {
          expected: 'the same gain for all clips, and a gate that lasts until the attack is over',
        },
      );
    } else if (
      reading.curve !== undefined &&
      reading.curve !== common &&
      dial.spec.toldBy !== 'sustain'
    )
      report.add(
        'recording',
        clip.place,
        `${clip.path}: its shape is ${reading.curve}, that of the others ${common}`,
        {
          expected: 'one shape for all positions of a dial',
        },
      );
  }
}

/** Digits by which a value is written: as many as its error allows, and at least two. */
const FEWEST_DIGITS = 2;
const MOST_DIGITS = 4;

function pointOf(
  { spec }: ClippedDial,
  clip: DialClip,
  { value, error: one }: DialReading,
): CalibratedPoint {
  const error = STATED * one;
  const share = Math.abs(value) > 0 ? error / Math.abs(value) : 1;
  const digits = Math.ceil(-Math.log10(Math.max(share, 1e-9))) + 1;
  const kept = Math.min(MOST_DIGITS, Math.max(FEWEST_DIGITS, digits));
  // A quantity that may be zero is rounded to a fixed step: 0.03 % of a sustain matters to nobody.
  const step = spec.type === 'percent' ? 0.001 : spec.type === 'interval' ? 0.01 : 0;
  const rounded = step > 0 ? Math.round(value / step) * step : Number(value.toPrecision(kept));
  return { clip, value: rounded + 0, error, text: formatValue(rounded + 0, spec.type) };
}

function requireInRange(
  { spec, setting }: ClippedDial,
  { clip, value, text }: CalibratedPoint,
  report: Report,
): void {
  if (value >= spec.min && value <= spec.max) return;
  const [min, max] = [spec.min, spec.max].map((one) => formatBriefly(one, spec.type));
  report.add('range', clip.place, `${clip.path}: this tells a ${setting} of ${text}`, {
    expected: `${setting} from ${min} to ${max}`,
  });
}

function isClose(one: CalibratedPoint, other: CalibratedPoint): boolean {
  return Math.abs(one.value - other.value) <= Math.hypot(one.error, other.error);
}

/** A table rises throughout, or falls throughout. */
function requireOneWay(
  { setting }: ClippedDial,
  points: readonly CalibratedPoint[],
  report: Report,
): void {
  const [first, last] = [points[0], points.at(-1)];
  if (first === undefined || last === undefined) return;
  const rises = last.value > first.value;
  for (const [k, point] of points.entries()) {
    const before = points[k - 1];
    if (before === undefined) continue;
    if (rises ? point.value > before.value : point.value < before.value) continue;
    report.add(
      'range',
      point.clip.place,
      `${setting} turns here: ${before.text} at ${before.clip.words}, ${point.text} at ${point.clip.words}`,
      {
        expected: isClose(before, point)
          ? 'longer recordings of the two, or one of them left out: they cannot be told apart'
          : `values that ${rises ? 'rise' : 'fall'} from each position to the next; look whether clips are mixed up`,
      },
    );
  }
}
