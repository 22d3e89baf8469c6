/** The volts at a jack: through all that plays, and through the time of one step, with what triggers look for. */

import type { Prepared } from '../../engine/prepared.ts';
import { largest, smallest } from '../../modules/dsp/extremes.ts';
import type { JackRef, Patch } from '../../patch/patch.ts';
import { toNumber } from '../../timing/fixed.ts';
import { rhythmSettings } from '../../timing/rhythm.ts';
import { sectionsOf, songOf } from '../../timing/song.ts';
import type { ChartColours } from '../chart/colours.ts';
import { lineChart, type Point, type Series } from '../chart/lines.ts';
import { straightened } from '../chart/straightened.ts';
import { type Threshold, thresholdLevels, thresholdsAt, volt } from '../chart/thresholds.ts';
import { waveformChart } from '../chart/waveform.ts';
import { chartOf, frameIn, type SheetChart } from './charts.ts';

/** What is drawn of a patch without steps, s. */
const NO_STEP_SECONDS = 0.1;
/** Share of a step that is drawn before it. */
const LEAD = 0.1;
/** Steps that are fewer of a second than this are drawn in part. */
const MOST_SECONDS = 1;
/** V; less is no edge, and a line is as near to its points. */
const STILL_VOLTS = 0.01;

export interface ChartedVolts {
  readonly jack: JackRef;
  /** `module.jack`. */
  readonly name: string;
  /** What goes round and round. */
  readonly volts: Float64Array;
  /** Hz. */
  readonly sampleRate: number;
}

/** Draws both. @param of the patch that is heard. */
export function voltsCharts(
  of: Prepared,
  heard: ChartedVolts,
  colours: ChartColours,
): readonly SheetChart[] {
  const [low, high] = rangeOf(heard.volts);
  const { name, volts, sampleRate } = heard;
  const domain = [low < 0 ? Math.floor(low) : 0, Math.max(1, Math.ceil(high * 1.02))] as const;
  const through = waveformChart(
    {
      ...frameIn(colours),
      plotHeight: 70,
      x: { label: 'time, s', scale: 'linear', domain: [0, volts.length / sampleRate] },
      y: { label: 'V', scale: 'linear', domain },
    },
    volts,
    sampleRate,
  );
  return [
    stepChart(of, heard, [low, high], colours),
    chartOf(through, `Volts at ${name} through the loop.`, colours),
  ];
}

function stepChart(
  of: Prepared,
  { jack, name, volts, sampleRate }: ChartedVolts,
  [low, high]: readonly [number, number],
  colours: ChartColours,
): SheetChart {
  const thresholds = thresholdsAt(of.levels, of.nets, jack);
  const step = stepSeconds(of.patch);
  const seconds = Math.min(step ?? NO_STEP_SECONDS, MOST_SECONDS);
  const edge = firstEdge(volts, thresholds[0], (low + high) / 2, high - low);
  const from = edge - Math.round(LEAD * seconds * sampleRate);
  const count = Math.min(volts.length, Math.ceil((1 + LEAD) * seconds * sampleRate));
  const points = Array.from({ length: count }, (_, index): Point => {
    const at = (from + index + volts.length) % volts.length;
    return [(1000 * (from + index - edge)) / sampleRate, volts[at] as number];
  });
  const [first, last] = [points[0]?.[0] ?? 0, points.at(-1)?.[0] ?? 1];
  const level = (words: string, at: number): Series => ({
    name: words,
    points: [
      [first, at],
      [last, at],
    ],
  });
  const series: Series[] = [
    { name, points: straightened(points, STILL_VOLTS) },
    ...thresholds.flatMap(thresholdLevels).map(({ words, volts }) => level(words, volts)),
  ];
  const all = [low, high, ...thresholds.flatMap(({ on, off }) => [on, off])];
  const bottom = smallest(all, 0);
  const top = largest(all, 1);
  const chart = lineChart(
    {
      ...frameIn(colours),
      x: {
        label: 'time from the edge, ms',
        scale: 'linear',
        domain: [first, Math.max(last, first + 1)],
      },
      y: { label: 'V', scale: 'linear', domain: [bottom < 0 ? bottom * 1.08 : 0, top * 1.08] },
    },
    series,
  );
  const inputs = thresholds.map(({ input }) => input);
  const looks =
    inputs.length === 0
      ? ' No trigger input looks at it.'
      : ` The other lines are what ${inputs.join(' and ')} ${inputs.length === 1 ? 'looks' : 'look'} for.`;
  const long =
    step === undefined
      ? `through ${Math.round(1000 * seconds)} ms`
      : seconds < step
        ? `through ${seconds} s of a step`
        : `through one step, ${Number((1000 * step).toPrecision(4))} ms`;
  const still = high - low < STILL_VOLTS ? ` It stands still at ${volt(high)}.` : '';
  return chartOf(chart, `Volts at ${name} ${long}.${still}${looks}`, colours);
}

function rangeOf(volts: Float64Array): readonly [number, number] {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const volt of volts) {
    low = Math.min(low, volt);
    high = Math.max(high, volt);
  }
  return volts.length === 0 ? [0, 0] : [low, high];
}

/** Of the first step of the song, s; undefined without a rhythm sequencer. */
function stepSeconds({ modules }: Patch): number | undefined {
  const rhythm = modules.find(({ definition }) => definition.role === 'score');
  if (rhythm === undefined) return undefined;
  for (const { groove } of sectionsOf(songOf(rhythmSettings(rhythm.settings), 1)))
    return toNumber(groove.step);
  return undefined;
}

/** The first sample at which volts come past a threshold, or past their middle; the first of what stands still. */
function firstEdge(
  volts: Float64Array,
  threshold: Threshold | undefined,
  middle: number,
  span: number,
): number {
  if (span < STILL_VOLTS) return 0;
  const isFalling = threshold?.type === 'switch';
  const isPast = (value: number, at: number): boolean => (isFalling ? value < at : value > at);
  // What never comes to the threshold is drawn where it comes nearest to it.
  for (const at of threshold === undefined ? [middle] : [threshold.on, middle])
    for (let n = 0; n < volts.length; n++) {
      const before = volts[n === 0 ? volts.length - 1 : n - 1] as number;
      if (isPast(volts[n] as number, at) && !isPast(before, at)) return n;
    }
  return 0;
}
