/** The picture of each stage of a lesson: what that stage changes, drawn in the colours of `IN_PAGE`. */

import { thirdOctaves } from '../../measure/spectrum/bands.ts';
import { LongTermSpectrumMeter } from '../../measure/spectrum/long-term-spectrum.ts';
import { largest } from '../../modules/dsp/extremes.ts';
import { type Drawing, svgPicture } from '../chart/chart-svg.ts';
import { IN_PAGE } from '../chart/colours.ts';
import { lineChart, type Point, type Series } from '../chart/lines.ts';
import { waveformChart } from '../chart/waveform.ts';

const WIDTH = 720;
const HEIGHT = 200;
/** What the level axis of a spectrum shows, dB. */
const SPECTRUM_RANGE = 66;
/** Points of a control voltage's line. */
const POINTS = 600;
/** A control voltage that moves less is drawn as standing still, V. */
const STILL_VOLTS = 0.001;

/** What was heard at a jack, in volts. */
export interface JackSignal {
  readonly name: string;
  readonly samples: Float64Array;
}

/** Draws spectra over one another, in third-octave bands. */
export function spectrumPicture(
  title: string,
  heard: readonly JackSignal[],
  sampleRate: number,
): string {
  const series = heard.map(({ name, samples }): Series => {
    const meter = new LongTermSpectrumMeter(sampleRate, 1);
    meter.add([samples], samples.length);
    const bands = thirdOctaves(meter.finish().strips, REFERENCE_POWER);
    return { name, points: bands.map(({ hz, db }): Point => [hz, db]) };
  });
  const levels = series.flatMap(({ points }) => points.map(([, db]) => db ?? -Infinity));
  const top = largest(levels, -120);
  const ceiling = 6 * Math.ceil((top + 1) / 6);
  return picture(
    lineChart(
      {
        title,
        caption: 'Third-octave bands; a sine of 10 V peak reads 0 dB.',
        x: { label: 'frequency, Hz', scale: 'log', domain: [25, 20_000] },
        y: { label: 'level, dB', scale: 'linear', domain: [ceiling - SPECTRUM_RANGE, ceiling] },
        width: WIDTH,
        plotHeight: HEIGHT,
        colours: IN_PAGE,
      },
      series,
    ),
    title,
  );
}

/** Mean square of a sine of 10 V peak, V^2. */
const REFERENCE_POWER = 50;

/** Draws a sound over time, in volts, until it has died away. */
export function waveformPicture(title: string, heard: Float64Array, sampleRate: number): string {
  const samples = heard.subarray(0, movingLength(heard));
  const seconds = samples.length / sampleRate;
  const most = samples.reduce((a, b) => Math.max(a, Math.abs(b)), 0);
  const limit = niceLimit(most);
  return picture(
    waveformChart(
      {
        title,
        x: { label: 'time, s', scale: 'linear', domain: [0, Math.max(seconds, 1e-3)] },
        y: { label: 'volts', scale: 'linear', domain: [-limit, limit] },
        width: WIDTH,
        plotHeight: HEIGHT,
        colours: IN_PAGE,
      },
      samples,
      sampleRate,
    ),
    title,
  );
}

/** Draws a control voltage over time, as much of it as moves. */
export function controlPicture(title: string, samples: Float64Array, sampleRate: number): string {
  const shown = samples.subarray(0, movingLength(samples));
  const seconds = shown.length / sampleRate;
  const [low, high] = rangeOf(shown);
  const isShort = seconds < 2;
  const stride = Math.max(1, Math.floor(shown.length / POINTS));
  const points: Point[] = [];
  // Both ends of the span in each stretch, so that no short peak is missed.
  for (let from = 0; from < shown.length; from += stride) {
    const stretch = shown.subarray(from, Math.min(shown.length, from + stride));
    const [least, most] = rangeOf(stretch);
    const at = (from / sampleRate) * (isShort ? 1000 : 1);
    const rising = (stretch[stretch.length - 1] as number) >= (stretch[0] as number);
    points.push([at, rising ? least : most], [at, rising ? most : least]);
  }
  const margin = Math.max(0.1, (high - low) * 0.06);
  return picture(
    lineChart(
      {
        title,
        x: {
          label: isShort ? 'time, ms' : 'time, s',
          scale: 'linear',
          domain: [0, Math.max(seconds, 1e-3) * (isShort ? 1000 : 1)],
        },
        y: {
          label: 'volts',
          scale: 'linear',
          domain: [Math.min(0, low - margin), Math.max(1, high + margin)],
        },
        width: WIDTH,
        plotHeight: HEIGHT,
        colours: IN_PAGE,
      },
      [{ name: title, points }],
    ),
    title,
  );
}

/** Whether a control voltage stays where it is. */
export function isStill(samples: Float64Array): boolean {
  const [low, high] = rangeOf(samples);
  return high - low < STILL_VOLTS;
}

/** To where it last differs from its end by a hundredth of its range, and a tenth more. */
function movingLength(samples: Float64Array): number {
  const [low, high] = rangeOf(samples);
  const end = samples[samples.length - 1] ?? 0;
  let last = samples.length - 1;
  while (last > 0 && Math.abs((samples[last] as number) - end) <= (high - low) / 100) last--;
  return Math.max(1, Math.min(samples.length, Math.ceil(last * 1.1)));
}

function rangeOf(samples: Float64Array): readonly [low: number, high: number] {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const value of samples) {
    if (value < low) low = value;
    if (value > high) high = value;
  }
  return [low, high];
}

/** 1, 2 or 5 of a decade, and never less than a tenth of a volt. */
function niceLimit(most: number): number {
  for (let decade = 0.1; ; decade *= 10)
    for (const step of [1, 2, 5])
      if (most <= step * decade) return Number((step * decade).toFixed(1));
}

function picture(drawing: Drawing, name: string): string {
  return svgPicture(drawing, name, IN_PAGE);
}
