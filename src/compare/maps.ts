/** Maps of a grid: how a measure depends on two settings, where both take enough values to show it. */

import { isDoubted } from '../measure/doubt.ts';
import { type Drawing, gridded, label, stacked } from '../output/chart/chart-svg.ts';
import type { ChartColours } from '../output/chart/colours.ts';
import { mapChart } from '../output/chart/map.ts';
import type { Compared, Comparison } from './comparison.ts';

/** With fewer values each, the lines of the other charts are enough. */
const FEWEST = 3;
/** The most maps of one measure: a third setting gives one for each of its values. */
const MOST_PLANES = 4;
const WIDTH = 860;
const GAP = 20;

interface Mapped {
  readonly name: string;
  readonly of: (one: Compared) => number | null;
  readonly figure: (value: number) => string;
  /** Whether the value is in doubt; absent: never. */
  readonly isDoubted?: (one: Compared) => boolean;
}

const MEASURES: readonly Mapped[] = [
  {
    name: 'Loudness before it was made alike, LUFS',
    of: ({ ownLufs }) => ownLufs,
    figure: (value) => value.toFixed(1),
  },
  {
    name: 'Centroid, kHz',
    of: ({ measures: { centroidHz } }) => centroidHz,
    figure: (value) => (value / 1000).toFixed(2),
  },
  {
    name: 'T60 of a hit, ms',
    of: ({ measures: { t60Seconds } }) => t60Seconds,
    figure: (value) => (1000 * value).toFixed(0),
    isDoubted: ({ measures: { reliability } }) => isDoubted(reliability.t60),
  },
];

/** Draws the maps; none where no two settings have enough values. */
export function maps(comparison: Comparison, colours: ChartColours): readonly Drawing[] {
  const axes = axesOf(comparison.variants);
  if (axes === undefined) return [];
  const planes = planesOf(comparison.variants, axes);
  const shown = planes.slice(0, MOST_PLANES);
  const columns = Math.min(shown.length, 2);
  const width = shown.length === 1 ? WIDTH : (WIDTH - GAP) / 2;
  return MEASURES.flatMap((measure) => {
    const all = planes.flatMap(({ variants }) => variants);
    const isDoubtful = (one: Compared): boolean => measure.isDoubted?.(one) ?? false;
    // Values in doubt do not set the range of the tones, unless all are.
    const range =
      rangeOf(all.filter((one) => !isDoubtful(one)).map(measure.of)) ??
      rangeOf(all.map(measure.of));
    if (range === undefined) return [];
    const drawings = shown.map(({ name, variants }) =>
      mapChart({
        title: name,
        x: axes.x,
        y: axes.y,
        fields: axes.y.values.map((down) =>
          axes.x.values.map((across) => {
            const at = variants.find(
              ({ variant: { settings } }) =>
                settings[axes.x.label] === across && settings[axes.y.label] === down,
            );
            const value = at === undefined ? null : measure.of(at);
            return at === undefined || value === null ? null : { value, isDoubted: isDoubtful(at) };
          }),
        ),
        range,
        figure: measure.figure,
        width,
        colours,
      }),
    );
    const some =
      shown.length < planes.length ? `, the first ${shown.length} of ${planes.length} maps` : '';
    const [least, most] = range.map((end) => measure.figure(end).replace('-', '\u2212'));
    const doubt = all.some((one) => measure.of(one) !== null && isDoubtful(one))
      ? '; with a marked corner: in doubt'
      : '';
    const title = `${measure.name}: ${least} (paper) to ${most} (ink)${some}${doubt}`;
    return [
      stacked(
        [
          { width: WIDTH, height: 14, body: label(title, 0, 12, { 'font-weight': 600 }) },
          gridded(drawings, columns, GAP),
        ],
        4,
      ),
    ];
  });
}

interface Axes {
  readonly x: { readonly label: string; readonly values: readonly string[] };
  readonly y: { readonly label: string; readonly values: readonly string[] };
}

/**
 * The two settings with most values, the one that changes faster as the horizontal axis; of settings with as many
 * values, the first.
 */
function axesOf(variants: readonly Compared[]): Axes | undefined {
  const axes = Object.keys(variants[0]?.variant.settings ?? {}).map((label, index) => ({
    label,
    index,
    values: [
      ...new Set(
        variants.flatMap(({ variant: { settings } }) =>
          Object.hasOwn(settings, label) ? [settings[label] as string] : [],
        ),
      ),
    ],
  }));
  const [one, other] = axes
    .filter(({ values }) => values.length >= FEWEST)
    .toSorted((a, b) => b.values.length - a.values.length || a.index - b.index);
  if (one === undefined || other === undefined) return undefined;
  return one.index > other.index ? { x: one, y: other } : { x: other, y: one };
}

interface Plane {
  /** The patch and the other varied settings; empty if there is only one map. */
  readonly name: string;
  readonly variants: readonly Compared[];
}

function planesOf(variants: readonly Compared[], { x, y }: Axes): readonly Plane[] {
  const planes = new Map<string, Compared[]>();
  for (const one of variants) {
    const { settings, source } = one.variant;
    // A recording has no settings and is not on a map.
    if (!Object.hasOwn(settings, x.label)) continue;
    const others = Object.entries(settings).filter(
      ([path]) => path !== x.label && path !== y.label,
    );
    const name = [
      ...(source === undefined ? [] : [source]),
      ...others.map(([path, value]) => `${path} ${value}`),
    ].join(', ');
    const plane = planes.get(name) ?? [];
    if (plane.length === 0) planes.set(name, plane);
    plane.push(one);
  }
  return [...planes].map(([name, variants]) => ({ name, variants }));
}

/** Undefined where nothing was measured, or all values are alike. */
function rangeOf(values: readonly (number | null)[]): readonly [number, number] | undefined {
  let least = Number.POSITIVE_INFINITY;
  let most = Number.NEGATIVE_INFINITY;
  for (const value of values) {
    if (value === null) continue;
    least = Math.min(least, value);
    most = Math.max(most, value);
  }
  return most > least ? [least, most] : undefined;
}
