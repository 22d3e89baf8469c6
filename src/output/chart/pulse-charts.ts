/**
 * What a recorded gate or clock looks like: its pulses over one another at their rise, and how long it is
 * from one to the next. Lines and surfaces are told by dash and breadth too, so that a print without
 * colour reads.
 */

import { area, curveLinear } from 'd3-shape';
import type { ClockMeasures } from '../../measure/pulses/clock.ts';
import type { PulseOverlay, PulseTrace } from '../../measure/pulses/overlay.ts';
import type { PulseMeasures, Spread } from '../../measure/pulses/pulses.ts';
import { largest, smallest } from '../../modules/dsp/extremes.ts';
import { counted } from '../../patch/text/counted.ts';
import { brief, type Drawing, element, stacked, svgPicture } from './chart-svg.ts';
import { type ChartColours, seriesStyle } from './colours.ts';
import { framed, type Plot } from './frame.ts';
import { LEGEND_PX, type LegendEntry, legendBeside, linePath, type Point } from './lines.ts';
import { shortTime, shortVolts } from './pulse-words.ts';
import { straightened } from './straightened.ts';
import { type Threshold, thresholdLevels } from './thresholds.ts';

export interface DrawnChannel {
  /** Of the recording, as `take.wav` or `take.wav, channel 2`. */
  readonly name: string;
  readonly measures: PulseMeasures;
  readonly overlay: PulseOverlay;
  /** What the inputs at its jack look for, where a patch says. */
  readonly thresholds: readonly Threshold[];
}

const WIDTH = 760;
const PULSE_HEIGHT = 240;
const PERIODS_HEIGHT = 150;
const GAP = 26;
/** A line may be off its points by so much of the plot's height: a quarter of a pixel. */
const FINE = 1 / (4 * PULSE_HEIGHT);

/** Draws all channels under one another, as an SVG of its own. @param source name of the recording. */
export function pulseCharts(
  source: string,
  channels: readonly DrawnChannel[],
  colours: ChartColours,
): string {
  const drawings = channels.flatMap((one) => [
    pulseChart(one, colours),
    ...(one.measures.interval === undefined ? [] : [periodsChart(one, colours)]),
  ]);
  return svgPicture(stacked(drawings, GAP), `The pulses of ${source}`, colours);
}

function pulseChart(
  { name, measures, overlay, thresholds }: DrawnChannel,
  colours: ChartColours,
): Drawing {
  const { times, least, most, count } = overlay;
  const unit = timeUnit((times.at(-1) as number) - (times[0] as number));
  const x = times.map((time) => time * unit.per);
  // Where a capacitor is in the way, nothing in the recording says where the levels stand.
  const levels = measures.levels === undefined ? [] : thresholds.flatMap(thresholdLevels);
  const all = [...finite(least), ...finite(most), ...levels.map(({ volts }) => volts)];
  const [low, high] = [smallest(all), largest(all)];
  const room = 0.05 * Math.max(high - low, 1e-3);
  const isAlone = overlay.pulses.length > 0;
  const median = seriesStyle(0, colours);
  const lines = levels.map(({ words, volts }, index): LegendEntry & { readonly volts: number } => ({
    words,
    volts,
    ...seriesStyle(index + 1, colours),
  }));
  const entries: readonly LegendEntry[] = [
    ...(count > 1 ? [{ words: 'median', ...median }] : []),
    ...(isAlone
      ? [{ words: counted(count, 'pulse'), stroke: colours.faint, dash: undefined, width: 1 }]
      : [
          { words: 'middle 90 %', stroke: colours.faint, dash: undefined, width: 9 },
          { words: `all ${count} pulses`, stroke: colours.grid, dash: undefined, width: 9 },
        ]),
    ...lines,
  ];
  return framed(
    {
      title: `${name}: ${counted(count, 'pulse')} over one another`,
      caption: pulseCaption(measures, overlay, thresholds),
      x: { label: `time from the rise, ${unit.name}`, scale: 'linear', domain: endsOf(x) },
      y: { label: 'V', scale: 'linear', domain: [low - room, high + room] },
      width: WIDTH,
      plotHeight: PULSE_HEIGHT,
      rightPx: LEGEND_PX,
      colours,
    },
    (plot) => {
      const fine = FINE * (high - low + 2 * room);
      const drawn = isAlone
        ? overlay.pulses.map((pulse) =>
            linePath(
              plot,
              straightened(tracePoints(x, pulse, fine), fine),
              colours.faint,
              undefined,
              1,
            ),
          )
        : [
            surface(plot, x, least, most, colours.grid),
            surface(plot, x, overlay.from, overlay.to, colours.faint),
          ];
      const across = lines.map(({ volts, stroke, dash }) => {
        const at = brief(plot.y(volts));
        return element('path', {
          d: `M0 ${at}H${brief(plot.width)}`,
          stroke,
          'stroke-width': 1.4,
          'stroke-dasharray': dash,
        });
      });
      const middle = straightened(pointsOf(x, overlay.median), fine);
      const { stroke, dash } = median;
      return [...drawn, ...across, linePath(plot, middle, stroke, dash, 1.8)].join('');
    },
    ({ width }) => legendBeside(entries, width),
  );
}

function pulseCaption(
  { levels, width, riseTime, swing }: PulseMeasures,
  { count, counted: of, times }: PulseOverlay,
  thresholds: readonly Threshold[],
): string {
  const inputs = thresholds.map(({ input }) => input).join(', ');
  const shown = times.at(-1) as number;
  return [
    levels === undefined
      ? `Swing ${shortVolts(swing)}; a capacitor is in the way, so where it stands cannot be told.`
      : `From ${shortVolts(levels.low)} to ${shortVolts(levels.high)}.`,
    ...(width === undefined ? [] : [`Median length ${shortTime(width.median)}.`]),
    ...(width !== undefined && width.most > shown
      ? [`The longest, of ${shortTime(width.most)}, go on past the edge.`]
      : []),
    ...(riseTime === undefined ? [] : [`Rise from 10 to 90 % ${shortTime(riseTime)}.`]),
    ...(of < count ? [`Median and middle are those of ${of} pulses, evenly taken.`] : []),
    ...(inputs === '' || levels === undefined
      ? []
      : [`The lines across are the thresholds of ${inputs}.`]),
  ].join(' ');
}

/** How long it is from one pulse to the next: the periods of a clock against their mean, or a rhythm. */
function periodsChart({ name, measures }: DrawnChannel, colours: ChartColours): Drawing {
  const { clock } = measures;
  const { values, fewest, marks, ...words } =
    clock === undefined ? heapOfRhythm(measures) : heapOfClock(clock);
  const { bars, step, from } = barsOf(values, fewest);
  const span = bars.length * step;
  const room = Math.max(0.04 * span, step / 2);
  const drawn = marks.map((mark, index): Mark & LegendEntry => ({
    ...mark,
    ...seriesStyle(index + 1, colours),
  }));
  return framed(
    {
      title: `${name}: ${counted(values.length, words.word)}`,
      caption: words.caption,
      x: {
        label: words.label,
        scale: 'linear',
        domain: [from - room, from + span + room],
      },
      y: {
        label: `${words.word}s`,
        scale: 'linear',
        domain: [0, largest(bars) * 1.08],
        isWhole: true,
      },
      width: WIDTH,
      plotHeight: PERIODS_HEIGHT,
      rightPx: LEGEND_PX,
      colours,
    },
    ({ x, y, height }) =>
      [
        ...bars.map((count, index) => {
          if (count === 0) return '';
          const left = x(from + index * step);
          const right = x(from + (index + 1) * step);
          // A single one among thousands is still visible.
          const top = Math.min(y(count), height - LEAST_BAR);
          return element('rect', {
            x: left + 0.5,
            y: top,
            width: Math.max(1, right - left - 1),
            height: height - top,
            fill: colours.faint,
          });
        }),
        ...drawn.flatMap(({ at, stroke, dash }) =>
          at.map((place) =>
            element('path', {
              d: `M${brief(x(place))} 0V${height}`,
              stroke,
              'stroke-width': 1.6,
              'stroke-dasharray': dash,
            }),
          ),
        ),
      ].join(''),
    ({ width }) => legendBeside(drawn, width),
  );
}

/** px. */
const LEAST_BAR = 2;
const MOST_BARS = 60;

/** A mark with its name, at one place of the axis or at several. */
interface Mark {
  readonly words: string;
  readonly at: readonly number[];
}

/** Values are counted in bars, in the unit that the label says. */
interface Heap {
  readonly word: 'period' | 'interval';
  readonly label: string;
  readonly caption: string;
  readonly values: readonly number[];
  /** Bars that there are at least, if they are not all alike. */
  readonly fewest: number;
  readonly marks: readonly Mark[];
}

/** s: nothing is drawn finer than this, which is less than any recording tells. */
const FINEST = 1e-8;

function heapOfClock({
  period,
  periods,
  periodJitterRms,
  swingPercent,
  missing,
  doubles,
}: ClockMeasures): Heap {
  const worst = periods.reduce((most, one) =>
    Math.abs(one.off) > Math.abs(most.off) ? one : most,
  );
  const unit = timeUnit(Math.max(Math.abs(worst.off), FINEST));
  const beside = [
    ...(missing.length === 0 ? [] : [`${counted(missing.length, 'missing pulse')}`]),
    ...(doubles.length === 0 ? [] : [`${counted(doubles.length, 'pulse')} too many`]),
  ];
  const rms = periodJitterRms * unit.per;
  return {
    word: 'period',
    label: `from the mean of ${shortTime(period)}, ${unit.name}`,
    caption: [
      ...(swingPercent === undefined
        ? []
        : [`Swing of ${swingPercent.toFixed(1)} % is taken out.`]),
      `The worst begins at ${worst.at.toFixed(3)} s.`,
      ...(beside.length === 0 ? [] : [`Left out: what lies beside ${beside.join(' and ')}.`]),
    ].join(' '),
    values: periods.map(({ off }) => off * unit.per),
    fewest: 1,
    marks: [
      { words: `mean ${shortTime(period)}`, at: [0] },
      { words: `rms ${shortTime(periodJitterRms)}`, at: [-rms, rms] },
      { words: `worst ${signed(worst.off)}`, at: [worst.off * unit.per] },
    ],
  };
}

function heapOfRhythm({ rises, interval }: PulseMeasures): Heap {
  const seconds = rises.slice(1).map((time, n) => time - (rises[n] as number));
  const { median, least, most } = interval as Spread;
  const unit = timeUnit(most);
  const marks = [
    ['median', median],
    ['shortest', least],
    ['longest', most],
  ] as const;
  return {
    word: 'interval',
    label: `from one pulse to the next, ${unit.name}`,
    caption: 'They come as a rhythm, or are too few to tell a clock and its jitter.',
    values: seconds.map((one) => one * unit.per),
    // A rhythm has few lengths, each to be seen by itself.
    fewest: MOST_BARS,
    marks: (seconds.length === 1 ? marks.slice(0, 1) : marks).map(([word, value]) => ({
      words: `${word} ${shortTime(value)}`,
      at: [value * unit.per],
    })),
  };
}

/** Width of the bar for a single value, or for several equal ones, as a share of the value. */
const ALIKE = 0.02;

/**
 * Bars of one breadth over all values.
 *
 * Source: D. Freedman and P. Diaconis, On the histogram as a density estimator, 1981: twice the range of
 * the middle half over the cube root of their number (from memory).
 */
function barsOf(
  values: readonly number[],
  fewest: number,
): { readonly bars: readonly number[]; readonly step: number; readonly from: number } {
  const sorted = Float64Array.from(values).sort();
  const at = (share: number): number => sorted[Math.round(share * (sorted.length - 1))] as number;
  const [least, most] = [at(0), at(1)];
  const span = most - least;
  if (span <= 1e-9 * Math.max(Math.abs(least), Math.abs(most))) {
    const step = ALIKE * Math.abs(least) || FINEST;
    return { bars: [sorted.length], step, from: least - step / 2 };
  }
  const wanted = (2 * (at(0.75) - at(0.25))) / Math.cbrt(sorted.length);
  const count = Math.min(
    MOST_BARS,
    Math.max(fewest, wanted > 0 ? Math.ceil(span / wanted) : MOST_BARS),
  );
  const step = span / count;
  const bars = Array.from({ length: count }, () => 0);
  for (const value of sorted) {
    const index = Math.min(count - 1, Math.floor((value - least) / step));
    bars[index] = (bars[index] as number) + 1;
  }
  return { bars, step, from: least };
}

interface TimeUnit {
  readonly name: string;
  /** So many in a second. */
  readonly per: number;
}

function timeUnit(seconds: number): TimeUnit {
  if (seconds >= 1) return { name: 's', per: 1 };
  return seconds >= 1e-3 ? { name: 'ms', per: 1e3 } : { name: 'us', per: 1e6 };
}

function tracePoints(
  x: Float64Array,
  { middle, least, most }: PulseTrace,
  fine: number,
): readonly Point[] {
  const step = (x[1] as number) - (x[0] as number);
  let last = Number.NaN;
  return [...middle].flatMap((value, column): readonly Point[] => {
    const [low, high, at] = [least[column], most[column], x[column]] as [number, number, number];
    if (Number.isNaN(low)) return [[at, null]];
    if (high - low <= fine) {
      last = Number.isNaN(value) ? low : value;
      return [[at, last]];
    }
    // A column of several samples, or an edge within it: both ends, the nearer first.
    const isUp = !(Math.abs(high - last) < Math.abs(low - last));
    last = isUp ? high : low;
    return [
      [at - step / 4, isUp ? low : high],
      [at + step / 4, last],
    ];
  });
}

function pointsOf(x: Float64Array, values: Float64Array): readonly Point[] {
  return [...values].map((value, column) => [
    x[column] as number,
    Number.isNaN(value) ? null : value,
  ]);
}

function surface(
  { x, y }: Plot,
  at: Float64Array,
  low: Float64Array,
  high: Float64Array,
  fill: string,
): string {
  const shape = area<number>()
    .defined((column) => !Number.isNaN(low[column]))
    .x((column) => x(at[column] as number))
    .y0((column) => y(low[column] as number) + 0.4)
    .y1((column) => y(high[column] as number) - 0.4)
    .curve(curveLinear)
    .digits(1);
  return element('path', { d: shape([...at.keys()]) ?? '', fill });
}

function finite(values: Float64Array): readonly number[] {
  return [...values].filter((value) => !Number.isNaN(value));
}

function endsOf(values: Float64Array): readonly [number, number] {
  return [values[0] as number, values.at(-1) as number];
}

function signed(seconds: number): string {
  return `${seconds < 0 ? '\u2212' : '+'}${shortTime(Math.abs(seconds))}`;
}
