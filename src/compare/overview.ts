/** The chart that shows all variants at once: envelopes and spectra over one another, spectrograms beside. */

import { largest } from '../modules/dsp/extremes.ts';
import { type Drawing, gridded, label, stacked } from '../output/chart/chart-svg.ts';
import type { ChartColours } from '../output/chart/colours.ts';
import { type FrameOptions, titleLines } from '../output/chart/frame.ts';
import { lineChart, type Series } from '../output/chart/lines.ts';
import { greyRange, spectrogramChart } from '../output/chart/spectrogram.ts';
import type { Compared, Comparison } from './comparison.ts';
import { chosen, MOST_PICTURES } from './comparison.ts';
import { maps } from './maps.ts';

const WIDTH = 860;
const GAP = 26;
/** Lines that can be told apart at a glance; of more, some are named and the rest drawn faint. */
const MOST_NAMED = 12;
const NAMED_OF_MANY = 7;
/** The most pictures in a row. */
const COLUMNS = 4;
const MOST_COLUMNS = 6;
/** Range of the level axes, dB. */
const ENVELOPE_RANGE = 66;
const SPECTRUM_RANGE = 60;
/** The least time that envelopes are shown for, s. */
const LEAST_SEEN = 0.05;

/** A part of the overview, with a description in words. */
export interface OverviewPart {
  readonly words: string;
  readonly drawing: Drawing;
}

/** Draws the overview in parts, each of which can stand alone; without a variant one says so. */
export function overviewParts(
  comparison: Comparison,
  colours: ChartColours,
): readonly OverviewPart[] {
  if (comparison.variants.length === 0) {
    const words = 'No variant was finished.';
    return [{ words, drawing: { width: WIDTH, height: 20, body: label(words, 0, 14) } }];
  }
  const plane = maps(comparison, colours);
  return [
    { words: 'Level of one hit of each clip.', drawing: envelopes(comparison, colours) },
    { words: 'Spectrum of each clip.', drawing: spectra(comparison, colours) },
    ...(plane.length === 0
      ? []
      : [{ words: 'Figures over the settings.', drawing: stacked(plane, GAP) }]),
    { words: 'Spectrogram of that hit of each clip.', drawing: spectrograms(comparison, colours) },
  ];
}

/** Draws the overview as one. */
export function overview(parts: readonly OverviewPart[]): Drawing {
  return stacked(
    parts.map(({ drawing }) => drawing),
    GAP,
  );
}

/** The values of a variant, without the settings' names; where there are several, its patch in front. */
function shortName({ variant }: Compared): string {
  const { source, settings } = variant;
  return [...(source === undefined ? [] : [source]), ...Object.values(settings)].join(', ');
}

function envelopes({ variants, length, targetLufs }: Comparison, colours: ChartColours): Drawing {
  const points = (one: Compared): Series['points'] =>
    one.picture.envelope.map(([time, db]) => [1000 * time, db]);
  const top = topOf(variants.flatMap(({ picture }) => picture.envelope.map(([, db]) => db)));
  const seen = largest(
    variants.map((one) => seenFor(one, top - ENVELOPE_RANGE)),
    LEAST_SEEN,
  );
  const loudness =
    targetLufs === null
      ? 'None has a loudness.'
      : `All clips at ${signed(Number(targetLufs.toFixed(1)))} LUFS.`;
  return lineChart(
    {
      title: `Level of one hit, ${names(variants)}`,
      caption: `${loudness} ${stretch(variants)}; rms, each over two periods of its slowest wave.`,
      x: { label: 'time, ms', scale: 'linear', domain: [0, 1000 * Math.min(length, seen)] },
      y: { label: 'level, dBFS', scale: 'linear', domain: [top - ENVELOPE_RANGE, top] },
      width: WIDTH,
      plotHeight: 230,
      colours,
    },
    seriesOf(variants, points),
  );
}

/** How long a level is over the lower edge of its chart, s from the start of the window. */
function seenFor({ picture: { envelope } }: Compared, bottom: number): number {
  const last = envelope.findLastIndex(([, db]) => db !== null && db > bottom);
  // The line falls to the edge on the way to the next point.
  return (envelope[last + 1] ?? envelope[last])?.[0] ?? 0;
}

function spectra({ variants }: Comparison, colours: ChartColours): Drawing {
  const top = topOf(variants.flatMap(({ measures }) => measures.bands.map(({ db }) => db)));
  return lineChart(
    {
      title: 'Spectrum of the whole clip, in third-octave bands',
      caption: 'Level in each band against a full-scale sine.',
      x: { label: 'frequency, Hz', scale: 'log', domain: [25, 20_000] },
      y: { label: 'level, dB', scale: 'linear', domain: [top - SPECTRUM_RANGE, top] },
      width: WIDTH,
      plotHeight: 230,
      colours,
    },
    seriesOf(variants, ({ measures }) => measures.bands.map(({ hz, db }) => [hz, db])),
  );
}

function spectrograms({ variants, length }: Comparison, colours: ChartColours): Drawing {
  // Variants that a stopped comparison did not reach are missing.
  const shown = chosen(
    variants.flatMap((one) => {
      const { spectrogram } = one.picture;
      return spectrogram === undefined ? [] : [{ one, spectrogram }];
    }),
    MOST_PICTURES,
  );
  const columns = shown.length < variants.length ? COLUMNS : columnsOf(shown.map(({ one }) => one));
  const plotWidth = (WIDTH - 52 - (columns - 1) * 18) / columns - 10;
  const range = greyRange(shown.map(({ spectrogram }) => spectrogram));
  const frames = shown.map(({ one, spectrogram: { lowHz, highHz } }, index): FrameOptions => {
    const bare = { x: index + columns < shown.length, y: index % columns !== 0 };
    return {
      title: shortName(one),
      x: { label: 'time, ms', scale: 'linear', domain: [0, 1000 * length] },
      y: { label: 'Hz', scale: 'log', domain: [lowHz, highHz] },
      width: plotWidth + (bare.y ? 8 : 52) + 10,
      plotHeight: 96,
      bare,
      colours,
    };
  });
  const drawings = frames.map((frame, index) => {
    const row = Math.floor(index / columns) * columns;
    const beside = frames.slice(row, row + columns).map((one) => titleLines(one).length);
    const { spectrogram } = shown[index] as (typeof shown)[number];
    return spectrogramChart({ ...frame, titleLines: largest(beside, 1) }, spectrogram, range);
  });
  const some = shown.length < variants.length ? `${shown.length} of ${variants.length}: ` : '';
  const title = `Spectrograms of that hit, ${some}paper ${signed(range.whiteDb)} dB to ink ${signed(range.blackDb)} dB against a full-scale sine`;
  return stacked(
    [
      {
        width: WIDTH,
        height: 14,
        body: label(title, 0, 12, { 'font-weight': 600 }),
      },
      gridded(drawings, columns, 10),
    ],
    10,
  );
}

/** As many as the fastest setting has values, so that the grid is seen as one. */
function columnsOf(variants: readonly Compared[]): number {
  const paths = Object.keys(variants[0]?.variant.settings ?? {});
  const fastest = paths[paths.length - 1];
  if (paths.length > 1 && fastest !== undefined) {
    const values = new Set(variants.map(({ variant }) => variant.settings[fastest])).size;
    if (values <= MOST_COLUMNS && variants.length % values === 0) return Math.max(2, values);
  }
  return Math.max(2, Math.min(COLUMNS, variants.length));
}

function seriesOf(
  variants: readonly Compared[],
  points: (one: Compared) => Series['points'],
): Series[] {
  const named = new Set(variants.length <= MOST_NAMED ? variants : chosen(variants, NAMED_OF_MANY));
  return variants.map((one) => ({
    ...(named.has(one) && { name: shortName(one) }),
    points: points(one),
  }));
}

/** The settings' names, or words for the clips. */
function names(variants: readonly Compared[]): string {
  const paths = Object.keys(variants[0]?.variant.settings ?? {});
  return paths.length > 0 ? paths.join(', ') : 'each clip';
}

function stretch(variants: readonly Compared[]): string {
  const starts = new Set(variants.map(({ from }) => `${from.toFixed(3)} s`));
  const [only] = starts;
  return starts.size === 1
    ? `The stretch from ${only} of the clip`
    : `The hit of each that has most time to itself, from ${[...starts].join(', ')}`;
}

/** The next multiple of 6 dB over the highest level. */
function topOf(levels: readonly (number | null)[]): number {
  const highest = levels.reduce<number>(
    (most, level) => Math.max(most, level ?? Number.NEGATIVE_INFINITY),
    Number.NEGATIVE_INFINITY,
  );
  return Number.isFinite(highest) ? 6 * Math.ceil((highest + 1) / 6) : 0;
}

/** With a minus, not a hyphen. */
function signed(value: number): string {
  return String(value).replace('-', '\u2212');
}
