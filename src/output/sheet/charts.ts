/** The charts of a sheet: the clip over time, and each voice's hit and spectrum. */

import { largest, smallest } from '../../modules/dsp/extremes.ts';
import { type Drawing, stacked, svgPicture } from '../chart/chart-svg.ts';
import type { ChartColours } from '../chart/colours.ts';
import { type LineChartOptions, lineChart, type Point, type Series } from '../chart/lines.ts';
import { straightened } from '../chart/straightened.ts';
import { waveformChart } from '../chart/waveform.ts';
import type { SheetSound, SheetVoice } from './sound.ts';

export interface SheetChart {
  readonly svg: string;
  readonly caption: string;
}

/** px: two stand side by side on a page of paper, with letters of 7 pt. */
const CHART_WIDTH = 424;
/** Margin of a chart, px. */
const EDGE = 4;
const HEIGHT = 124;
/** Of the volts under a level, px. */
const LOW_HEIGHT = 56;
const RANGE_DB = 66;
/** How far a line may be from its points, dB and V: less than its own breadth. */
const FINE_DB = 0.1;
const FINE_VOLTS = 0.01;

/** Draws the charts; a voice that is silent is left out, and of silence there are none. */
export function sheetCharts(sound: SheetSound, colours: ChartColours): readonly SheetChart[] {
  const { mix, sampleRate } = sound;
  const peak = mix.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
  if (peak === 0) return [];
  const limit = Math.ceil(peak * 10) / 10;
  const seconds = mix.length / sampleRate;
  const clip = waveformChart(
    {
      ...frameIn(colours),
      x: { label: 'time, s', scale: 'linear', domain: [0, seconds] },
      y: { label: 'of full scale', scale: 'linear', domain: [-limit, limit] },
      width: 2 * CHART_WIDTH,
      plotHeight: 70,
    },
    mix,
    sampleRate,
  );
  return [chartOf(clip, 'The clip over time.', colours), ...voiceCharts(sound.voices, colours)];
}

/** The level of a hit and the spectrum, of voices over one another; none for those that are silent. */
export function voiceCharts(
  voices: readonly SheetVoice[],
  colours: ChartColours,
): readonly SheetChart[] {
  const heard = voices.filter(({ hit }) => hit.length > 0);
  if (heard.length === 0) return [];
  return [hitChart(heard, colours), spectrumChart(heard, colours)];
}

/** Draws a chart as a picture with a caption. */
export function chartOf(drawing: Drawing, caption: string, colours: ChartColours): SheetChart {
  return { svg: svgPicture(drawing, caption, colours, EDGE), caption };
}

/** What the charts of a sheet have in common. */
export function frameIn(
  colours: ChartColours,
): Pick<LineChartOptions, 'width' | 'plotHeight' | 'colours' | 'title' | 'legend'> {
  return { width: CHART_WIDTH, plotHeight: HEIGHT, colours, title: '', legend: 'below' };
}

const LEVEL_WORDS =
  'Each level is the highest of the 10 ms before it, so that a rise is shown as fast as it is.';

function hitChart(heard: readonly SheetVoice[], colours: ChartColours): SheetChart {
  const [only, ...others] = heard;
  const isOne = others.length === 0;
  const envelopes = (isOne && only?.envelopes) || [];
  const ends = heard.map(({ hit }) => hit.at(-1)?.[0] ?? 0);
  const starts = heard.map(({ hit }) => hit[0]?.[0] ?? 0);
  const x = {
    label: 'time, ms',
    scale: 'linear',
    domain: [smallest(starts), Math.max(1, largest(ends))],
  } as const;
  const series = heard.map(({ name, hit }) => ({ name, points: straightened(hit, FINE_DB) }));
  const hasVolts = envelopes.length > 0;
  const level = lineChart(
    {
      ...frameIn(colours),
      x,
      y: { label: 'peak, dBFS', scale: 'linear', domain: levels(series) },
      ...(hasVolts && { bare: { x: true, y: false } }),
    },
    series,
  );
  const what = isOne
    ? `Envelope of ${only?.name}: the level of the hit with the most time to itself.`
    : 'Envelopes: the level of one hit of each voice, the one with the most time to itself.';
  if (!hasVolts) return chartOf(level, `${what} ${LEVEL_WORDS}`, colours);
  const lines = envelopes.map(({ name, points }) => ({
    name: `${name}.out`,
    points: straightened(points, FINE_VOLTS),
  }));
  const volts = lineChart(
    {
      ...frameIn(colours),
      plotHeight: LOW_HEIGHT,
      x,
      y: { label: 'V', scale: 'linear', domain: [0, Math.max(1, largest(highest(lines)) * 1.1)] },
    },
    lines,
  );
  const below = `Below, the volts that open it: ${lines.map(({ name }) => name).join(', ')}.`;
  return chartOf(stacked([level, volts], 2), `${what} ${LEVEL_WORDS} ${below}`, colours);
}

function spectrumChart(heard: readonly SheetVoice[], colours: ChartColours): SheetChart {
  const series = heard.map(({ name, bands }) => ({ name, points: bands }));
  const hasVolts = heard.some(({ envelopes = [] }) => envelopes.length > 0);
  const whose = heard.length === 1 ? `of ${heard[0]?.name}` : 'of each voice';
  return spectraChart(
    series,
    HEIGHT + (hasVolts ? LOW_HEIGHT : 0),
    `Spectrum ${whose} through the clip, in third-octave bands; a full-scale sine reads 0 dB.`,
    colours,
  );
}

/** Draws spectra over one another. @param plotHeight px. */
export function spectraChart(
  series: readonly Series[],
  plotHeight: number,
  caption: string,
  colours: ChartColours,
): SheetChart {
  const chart = lineChart(
    {
      ...frameIn(colours),
      plotHeight,
      x: { label: 'frequency, Hz', scale: 'log', domain: [25, 20_000] },
      y: { label: 'level, dBFS', scale: 'linear', domain: levels(series) },
    },
    series,
  );
  return chartOf(chart, caption, colours);
}

function highest(series: readonly { readonly points: readonly Point[] }[]): number[] {
  return series.flatMap(({ points }) => points.flatMap(([, value]) => value ?? []));
}

function levels(series: readonly Series[]): readonly [number, number] {
  const top = 6 * Math.ceil((largest(highest(series)) + 1) / 6);
  return [top - RANGE_DB, top];
}
