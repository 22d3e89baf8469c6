/** `forehear compare`: variants of a patch at one loudness, measured, drawn, and a page to listen on. */

import { readFileSync, statSync } from 'node:fs';
import { availableParallelism, freemem } from 'node:os';
import { basename, extname, join } from 'node:path';
import { type Command, Option } from 'commander';
import {
  type Compared,
  type Comparison,
  compare,
  MOST_NULLED,
  type Request,
} from '../compare/comparison.ts';
import { type Crew, workerCrew } from '../compare/crew.ts';
import { gridOf, type Variant } from '../compare/grid.ts';
import { overview } from '../compare/overview.ts';
import type { Play } from '../compare/tasks.ts';
import type { WrittenPatch } from '../compare/variant.ts';
import { ComparisonError, readVariations } from '../compare/vary.ts';
import { coloured, IN_PAGE, PRINT } from '../output/chart-colours.ts';
import { svgPicture } from '../output/chart-svg.ts';
import { listeningPage, MOST_EMBEDDED } from '../output/listening-page.ts';
import { writeWhole } from '../output/whole-file.ts';
import type { Patch } from '../patch/patch.ts';
import { makeFolder, requireOutput } from './clip-place.ts';
import { EXIT, Stop, wrongRequest } from './exit.ts';
import {
  gathered,
  lengthAsked,
  RACK_HELP,
  SET_HELP,
  secondsArgument,
  wholeArgument,
} from './options.ts';
import { Progress } from './progress.ts';
import { readWithSources } from './read-patch.ts';
import { table } from './table.ts';

interface Options {
  vary: string[];
  output?: string;
  bars?: number;
  seconds?: number;
  rate: number;
  depth: Play['depth'];
  pairs?: true;
  jobs: number;
  rack?: string;
  set: string[];
  json?: true;
  quiet?: true;
}

const MOST_JOBS = 64;
/** Bytes of samples that are kept at once, on a machine with plenty. */
const MOST_MEMORY = 2 ** 30;
/** Rows that a terminal can take; all are on the page. */
const MOST_ROWS = 64;

export function register(program: Command): void {
  program
    .command('compare')
    .argument('<patch>', 'patch file, or - for standard input')
    .summary('compare settings of a patch at equal loudness')
    .description(
      'Render a patch with settings varied, bring every variant to the same loudness, measure them, ' +
        'and make a chart and a page to listen on.',
    )
    .requiredOption(
      '--vary <setting=values>',
      'values of a setting: shape.decay=20ms,60ms,200ms, or a range, 20ms..500ms/8 (repeatable: a grid)',
      gathered,
      [],
    )
    .option('-o, --output <folder>', 'where the clips go (unless set: renders/NAME-compare)')
    .addOption(
      new Option('--bars <count>', 'play so many bars, the song repeating as needed')
        .argParser(wholeArgument(1, 1_000_000))
        .conflicts('seconds'),
    )
    .option(
      '--seconds <time>',
      'play so many seconds, the song repeating as needed',
      secondsArgument,
    )
    .option('--rate <hertz>', 'sample rate, 8000 to 192000', wholeArgument(8000, 192_000), 48_000)
    .addOption(
      new Option('--depth <bits>', 'bits of a sample').choices(['16', '24', '32f']).default('24'),
    )
    .option('--pairs', 'also subtract each from each, and tell what is left')
    .option(
      '--jobs <count>',
      'how many to work on at once',
      wholeArgument(1, MOST_JOBS),
      Math.min(MOST_JOBS, availableParallelism()),
    )
    .option('--rack <file>', RACK_HELP)
    .option('--set <setting=value>', SET_HELP, gathered, [])
    .option('--json', 'print one JSON object')
    .option('--quiet', 'print nothing but errors')
    .addHelpText('after', EXAMPLES)
    .action(run);
}

async function run(file: string, options: Options): Promise<void> {
  if (options.vary.length === 0)
    throw wrongRequest('--vary is needed: what to compare, such as shape.decay=20ms,60ms,200ms.');
  // The workers start while the patch is read here.
  const crew = workerCrew(new URL('./compare-worker.js', import.meta.url), options.jobs);
  let closed: Promise<void> | undefined;
  try {
    const request = requestOf(file, options);
    const { comparison, isStopped } = await compared(request, crew, options.quiet === true);
    // ... and end while the pictures are drawn.
    closed = crew.close();
    tell(comparison, { request, isStopped, options });
  } finally {
    await (closed ?? crew.close());
  }
}

type Asked = Omit<Request, 'onProgress' | 'isStopped'> & { readonly patch: Patch };

function requestOf(file: string, options: Options): Asked {
  const { patch, sources } = readWithSources(file, options.set, { rack: options.rack });
  requireOutput(patch, file);
  const written: WrittenPatch = {
    file,
    texts: new Map(sources),
    set: options.set,
    ...(options.rack !== undefined && { rack: options.rack }),
  };
  const variants = variantsOf(options, written, patch);
  const name = file === '-' ? 'stdin' : basename(file, extname(file));
  const folder = options.output ?? join('renders', `${name}-compare`);
  makeFolder(folder);
  return {
    patch,
    play: {
      written,
      sampleRate: options.rate,
      depth: options.depth,
      length: lengthAsked(options),
    },
    title: patch.title,
    variants,
    folder,
    pairs: options.pairs === true,
    memory: Math.min(MOST_MEMORY, freemem() / 4),
  };
}

async function compared(
  request: Asked,
  crew: Crew,
  isQuiet: boolean,
): Promise<{ comparison: Comparison; isStopped: boolean }> {
  const progress = new Progress('Comparing', isQuiet, 'steps');
  let isStopped = false;
  // A second Ctrl-C ends at once.
  process.once('SIGINT', () => {
    isStopped = true;
    if (!isQuiet) console.error('Stopping: what has begun is finished. Ctrl-C ends at once.');
  });
  try {
    const comparison = await compare(
      {
        ...request,
        onProgress: (done, total) => progress.show(done, total),
        isStopped: () => isStopped,
      },
      crew,
    );
    return { comparison, isStopped };
  } finally {
    progress.end();
  }
}

function tell(
  comparison: Comparison,
  {
    request,
    isStopped,
    options,
  }: { readonly request: Asked; readonly isStopped: boolean; readonly options: Options },
): void {
  const { patch, folder, variants, play } = request;
  const stopped = isStopped
    ? stopOf(comparison.variants.length, variants.length, folder)
    : undefined;
  if (stopped !== undefined && comparison.variants.length === 0) throw stopped;
  const files = writePictures(comparison, { patch, folder, sampleRate: play.sampleRate });
  if (options.json) console.log(JSON.stringify(asData(comparison, files), null, 2));
  else if (!options.quiet) print(comparison, files);
  if (stopped !== undefined) throw stopped;
}

function variantsOf(
  { vary, pairs }: Options,
  written: WrittenPatch,
  patch: Patch,
): readonly Variant[] {
  try {
    const variants = gridOf(readVariations(vary, written, patch));
    if (pairs && variants.length > MOST_NULLED)
      throw new ComparisonError(
        `--pairs takes at most ${MOST_NULLED} variants, and these are ${variants.length}.`,
      );
    return variants;
  } catch (error) {
    if (error instanceof ComparisonError) throw wrongRequest(error.message);
    throw error;
  }
}

function stopOf(finished: number, asked: number, folder: string): Stop {
  const what =
    finished === 0
      ? 'no variant was finished, and nothing was written.'
      : `${finished} of ${asked} variants are finished and lie in ${folder}.`;
  return new Stop(EXIT.interrupted, `Stopped: ${what}`);
}

interface Files {
  readonly page: string;
  readonly chart: string;
}

function writePictures(
  comparison: Comparison,
  place: { readonly patch: Patch; readonly folder: string; readonly sampleRate: number },
): Files {
  const { patch, folder, sampleRate } = place;
  const name = `${patch.title}: envelopes, spectra and spectrograms of ${comparison.variants.length} variants`;
  const chart = join(folder, 'compare.svg');
  const picture = svgPicture(overview(comparison, IN_PAGE), name, IN_PAGE);
  writeText(chart, coloured(picture, PRINT));
  const page = join(folder, 'compare.html');
  const bytes = comparison.variants.map(({ path }) => statSync(path).size);
  const isEmbedded = bytes.reduce((sum, size) => sum + size, 0) <= MOST_EMBEDDED;
  writeText(
    page,
    listeningPage({
      title: patch.title,
      about: patch.about,
      level: levelSentence(comparison),
      columns: COLUMNS,
      clips: comparison.variants.map((one) => ({
        name: one.variant.name,
        file: one.variant.file,
        sampleRate,
        cells: cellsOf(one),
        ...(isEmbedded && { data: readFileSync(one.path).toString('base64') }),
      })),
      chart: picture,
      ...(comparison.pairs && {
        pairs: comparison.pairs.map(({ a, b, differenceDb }) => [a, b, difference(differenceDb)]),
      }),
    }),
  );
  return { page, chart };
}

function writeText(path: string, text: string): void {
  writeWhole(path, new TextEncoder().encode(text));
}

const COLUMNS = [
  'loudness',
  'gain',
  'true peak',
  'attack',
  'decay tau',
  'T60',
  'centroid',
  'flatness',
];

function cellsOf({ measures, gainDb }: Compared): string[] {
  return [
    measures.loudnessLufs === null ? 'silent' : `${measures.loudnessLufs.toFixed(1)} LUFS`,
    measures.loudnessLufs === null ? '-' : `${gainDb < 0 ? '' : '+'}${gainDb.toFixed(1)} dB`,
    unit(measures.truePeakDbtp, 1, 'dBTP'),
    milliseconds(measures.attackSeconds),
    milliseconds(measures.decayTauSeconds),
    milliseconds(measures.t60Seconds),
    unit(measures.centroidHz, 0, 'Hz'),
    unit(measures.flatness, 3, ''),
  ];
}

function milliseconds(value: number | null): string {
  return value === null ? '-' : `${(1000 * value).toFixed(value < 0.1 ? 1 : 0)} ms`;
}

function unit(value: number | null, digits: number, name: string): string {
  return value === null ? '-' : `${value.toFixed(digits)} ${name}`.trimEnd();
}

function difference(db: number | null): string {
  return db === null ? 'nothing left' : `${db < 0 ? '' : '+'}${db.toFixed(1)} dB`;
}

function levelSentence({ variants, targetLufs, ceilingDbtp }: Comparison): string {
  if (targetLufs === null) return 'Every variant is silent.';
  const silent = variants.filter(({ measures }) => measures.loudnessLufs === null).length;
  const left =
    silent === 0
      ? ''
      : ` ${silent === 1 ? '1 is silent' : `${silent} are silent`} and left as it is.`;
  return `Every clip is at ${targetLufs.toFixed(1)} LUFS (ITU-R BS.1770), the loudest at which none passes ${ceilingDbtp} dBTP.${left.replace('are silent and left as it is', 'are silent and left as they are')}`;
}

function print(comparison: Comparison, { page, chart }: Files): void {
  const { variants, pairs } = comparison;
  const rows = variants.slice(0, MOST_ROWS).map((one) => [one.variant.name, ...cellsOf(one)]);
  console.log(table([['variant', ...COLUMNS], ...rows]));
  if (variants.length > MOST_ROWS)
    console.log(`${variants.length - MOST_ROWS} more are on the page; --json gives all.`);
  if (pairs !== undefined && pairs.length > 0)
    console.log(
      `\n${table([
        ['one', 'other', 'difference'],
        ...pairs.map(({ a, b, differenceDb }) => [a, b, difference(differenceDb)]),
      ])}`,
    );
  console.log(`\n${levelSentence(comparison)}\n${page}\n${chart}`);
  const cut = variants.filter((one) => one.cut).length;
  if (cut > 0)
    console.error(
      `${cut === 1 ? '1 variant' : `${cut} variants`} had not died away 10 s after the end; what rang on was cut there.`,
    );
}

/** The shape that scripts rely on; what has no number, such as the loudness of silence, is null. */
function asData(comparison: Comparison, { page, chart }: Files): object {
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

const EXAMPLES = `
Examples:
  forehear compare patches/closed-hat.yaml --vary shape.release=60ms,200ms,400ms
  forehear compare my-hat.yaml --vary shape.release=40ms..600ms/6 --vary bright.q=0.7,2 --bars 1
  forehear compare my-hat.yaml --vary level.response=linear,exponential --pairs

A range gives equal ratios; of percentages, decibels, volts and semitones, equal steps. Clips are
loops: what rings on at the end is heard at the start. Open the page in a browser to switch between
two of them at the same place, and to find out blind whether you can tell them apart.`;
