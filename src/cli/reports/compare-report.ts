/** What `compare` prints and writes: the table, the JSON, the chart and the page to listen on. */

import { readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import type { Compared, Comparison } from '../../compare/comparison.ts';
import { differenceText, FIGURES, gainText } from '../../compare/figures.ts';
import { overview, overviewParts } from '../../compare/overview.ts';
import { writeWhole } from '../../files/whole-file.ts';
import type { Defect } from '../../measure/defects.ts';
import { DOUBT_NOTE, percentage, showsDoubt } from '../../measure/doubt.ts';
import { svgPicture } from '../../output/chart/chart-svg.ts';
import { coloured, IN_PAGE, PRINT } from '../../output/chart/colours.ts';
import { readProgram } from '../../page/host/bundles.ts';
import { MOST_EMBEDDED } from '../../page/host/clips-beside.ts';
import { comparisonPage } from '../../page/host/comparison.ts';
import { counted } from '../../patch/text/counted.ts';
import { say, tell } from '../standard-output.ts';
import { table } from '../table.ts';

/** Where the build leaves the scripts of pages. */
const BUNDLES = new URL('../page/', import.meta.url);

/** How many of many names a sentence has. */
const MOST_NAMES = 4;

/** The most rows printed on a terminal; all are on the page. */
const MOST_ROWS = 64;

/** Letters of a name that the table shows; for longer ones, which it would break over many lines, stand numbers. */
const LONGEST_NAME = 48;

/** Where the page and the chart lie. */
export interface Files {
  readonly page: string;
  readonly chart: string;
}

/** Space around a chart in the page, px: small enough for letters of 7 pt on paper. */
const CHART_EDGE = 4;

/** A clip's mean over this share of full scale is warned of. */
const STEADY = 0.05;

export const CHART = 'compare.svg';
export const PAGE = 'compare.html';

/** Writes the chart, and the page to listen on, into the folder that the clips are in. */
export function writePictures(
  comparison: Comparison,
  place: {
    readonly title: string;
    readonly about: string;
    readonly folder: string;
    /** SVG: where clips differ from the first, if shown. */
    readonly maps?: readonly string[];
  },
): void {
  const { title, about, folder, maps } = place;
  const name = `${title}: envelopes, spectra and spectrograms of ${counted(comparison.variants.length, 'variant')}`;
  const chart = join(folder, CHART);
  const parts = overviewParts(comparison, IN_PAGE);
  writeText(chart, coloured(svgPicture(overview(parts), name, IN_PAGE), PRINT));
  const bytes = comparison.variants.map(({ path }) => statSync(path).size);
  const isEmbedded = bytes.reduce((sum, size) => sum + size, 0) <= MOST_EMBEDDED;
  writeText(
    join(folder, PAGE),
    comparisonPage(
      {
        title,
        about,
        level: levelSentence(comparison),
        ...(doubtOf(comparison) && { note: DOUBT_NOTE }),
        columns: COLUMNS,
        clips: comparison.variants.map((one) => ({
          name: one.variant.name,
          file: one.variant.file,
          sampleRate: one.sampleRate,
          cells: cellsOf(one),
          ...(isEmbedded && { data: readFileSync(one.path).toString('base64') }),
        })),
        charts: parts.map(({ words, drawing }) => ({
          svg: svgPicture(drawing, `${title}: ${words}`, IN_PAGE, CHART_EDGE),
          caption: words,
        })),
        ...(maps && { maps }),
        ...(comparison.pairs && {
          pairs: comparison.pairs.map(({ a, b, differenceDb }) => [
            a,
            b,
            differenceText(differenceDb),
          ]),
        }),
      },
      readProgram(BUNDLES, 'comparison'),
    ),
  );
}

function writeText(path: string, text: string): void {
  writeWhole(path, new TextEncoder().encode(text));
}

const COLUMNS = FIGURES.flatMap(({ name }) => (name === 'loudness' ? [name, 'gain'] : [name]));

function cellsOf({ measures, gainDb }: Compared): string[] {
  const gain = measures.loudnessLufs === null ? '-' : gainText(gainDb);
  return FIGURES.flatMap(({ name, of }) =>
    name === 'loudness' ? [of(measures), gain] : [of(measures)],
  );
}

/** Whether a figure of some variant is in doubt. */
function doubtOf({ variants }: Comparison): boolean {
  return variants.some((one) => showsDoubt(cellsOf(one)));
}

function levelSentence({ variants, targetLufs, ceilingDbtp }: Comparison): string {
  const left = leftSentence(variants);
  if (targetLufs === null) return `No variant could be brought to a loudness.${left}`;
  const steady = variants
    .map(({ variant, measures, gainDb }) => ({
      name: variant.name,
      share: Math.abs(measures.dcOffset) * 10 ** (gainDb / 20),
    }))
    .filter(({ share }) => share > STEADY)
    .toSorted((a, b) => b.share - a.share);
  const [most] = steady;
  const others = steady.length > 1 ? ` and ${counted(steady.length - 1, 'other')}` : '';
  const warning =
    most === undefined
      ? ''
      : ` Beware: ${most.name}${others} ${steady.length > 1 ? 'hold' : 'holds'} a steady voltage, up to ${percentage(most.share, 0)} of full scale: it is not heard, and keeps a loudspeaker's cone out of its place. Take the offset out of the recording before you listen.`;
  return `Every clip is at ${targetLufs.toFixed(1)} LUFS (ITU-R BS.1770), the loudest at which none passes ${ceilingDbtp} dBTP.${left}${warning}${sufferingSentence(variants)}${alikeSentence(variants)}`;
}

/** Which clips have no loudness, and are left as they are. */
function leftSentence(variants: Comparison['variants']): string {
  const without = variants.filter(({ measures }) => measures.loudnessLufs === null);
  const soft = without.filter(({ measures }) => measures.truePeakDbtp !== null).length;
  const silent = without.length - soft;
  const words = [
    ...(silent > 0 ? [`${silent} ${silent === 1 ? 'is' : 'are'} silent`] : []),
    ...(soft > 0
      ? [`${soft} ${soft === 1 ? 'is' : 'are'} under -70 LUFS, where BS.1770 measures nothing`]
      : []),
  ];
  if (words.length === 0) return '';
  return ` ${words.join(', ')}: left as ${without.length === 1 ? 'it is' : 'they are'}.`;
}

/** The faults of recordings. Silence is in the table, and an offset is warned of by what it comes to. */
const FAULTS: { readonly [kind in Defect['kind']]?: string } = {
  'no-hit': 'nothing in it begins like a hit',
  'too-short': 'too short for a decay and a pitch',
  'cut-start': 'begins in the middle of a sound',
  'cut-end': 'breaks off before it has died away',
  clipped: 'clipped',
  drift: 'its level at rest drifts',
  hum: 'mains hum',
  opposed: 'channels in opposite phase',
  'silent-channel': 'a silent channel',
  coarse: 'so few steps of its bits that its tail sinks into them',
};

/** What recordings suffer from, which their figures share: the clips are as they were recorded. */
function sufferingSentence(variants: Comparison['variants']): string {
  const told = variants.flatMap(({ variant, measures }) => {
    const faults = measures.suffers.flatMap((kind) => FAULTS[kind] ?? []);
    const isTold = variant.heard.type === 'recording' && faults.length > 0;
    return isTold ? [`${variant.name} (${faults.join(', ')})`] : [];
  });
  if (told.length === 0) return '';
  const without = variants.flatMap(({ variant, measures }) =>
    measures.hitsWithout.map((kind) => `the ${kind} of ${variant.name}`),
  );
  const removed =
    without.length === 0
      ? ''
      : ` Heard, but taken out of attack, decay and T60: ${without.join(', ')}.`;
  return ` Recordings with faults, which their figures share: ${told.join('; ')}.${removed} "forehear measure" says more of each.`;
}

/**
 * Variants whose every figure is the same, to the last digit: what was varied is not heard in them, as a seed is not
 * where nothing is drawn from it. Silence is told of itself.
 */
function alikeSentence(variants: Comparison['variants']): string {
  const alike = new Map<string, string[]>();
  for (const { variant, measures, ownLufs } of variants) {
    if (measures.loudnessLufs === null) continue;
    const figures = JSON.stringify([ownLufs, measures]);
    alike.set(figures, [...(alike.get(figures) ?? []), variant.name]);
  }
  return [...alike.values()]
    .filter(({ length }) => length > 1)
    .map(
      (names) =>
        ` ${briefly(names)} sound alike, every figure the same: what was varied is not heard there.`,
    )
    .join('');
}

/** The first of many names. */
function briefly(names: readonly string[]): string {
  const more = names.length - MOST_NAMES;
  // Names have commas of their own.
  return more > 1
    ? `${names.slice(0, MOST_NAMES).join(' and ')} and ${more} more`
    : names.join(' and ');
}

/** Prints the table and where everything lies. */
export function printComparison(comparison: Comparison, { page, chart }: Files): void {
  const { variants, pairs } = comparison;
  const shown = variants.slice(0, MOST_ROWS);
  const isNumbered = shown.some(({ variant }) => variant.name.length > LONGEST_NAME);
  // As its clip begins.
  const numberOf = ({ variant }: Compared): string => variant.file.split('-', 1)[0] as string;
  if (isNumbered) say(`${table(shown.map((one) => [numberOf(one), one.variant.name]))}\n`);
  const rows = shown.map((one) => [isNumbered ? numberOf(one) : one.variant.name, ...cellsOf(one)]);
  say(table([['variant', ...COLUMNS], ...rows]));
  if (doubtOf(comparison)) say(DOUBT_NOTE);
  if (variants.length > MOST_ROWS)
    say(`${variants.length - MOST_ROWS} more are on the page; --json gives all.`);
  if (pairs !== undefined && pairs.length > 0)
    say(
      `\n${table([
        ['one', 'other', 'difference'],
        ...pairs.map(({ a, b, differenceDb }) => [a, b, differenceText(differenceDb)]),
      ])}`,
    );
  say(`\n${levelSentence(comparison)}\n${page}\n${chart}`);
  const cut = variants.filter((one) => one.cut).length;
  if (cut > 0)
    tell(
      `${counted(cut, 'variant')} had not died away 10 s after the end; the rest was cut there.`,
    );
}

/** The shape that scripts rely on; what has no number, such as the loudness of silence, is null. */
export function comparisonAsData(comparison: Comparison, { page, chart }: Files): object {
  const { variants, targetLufs, ceilingDbtp, pairs } = comparison;
  return {
    targetLufs,
    ceilingDbtp,
    variants: variants.map(({ variant, path, gainDb, ownLufs, measures }) => ({
      name: variant.name,
      settings: variant.settings,
      file: path,
      gainDb,
      loudnessBeforeLufs: ownLufs,
      measures,
    })),
    ...(pairs && { pairs }),
    page,
    chart,
  };
}
