/** `forehear compare`: variants of a patch at one loudness, measured, drawn, and a page to listen on. */

import { availableParallelism, freemem } from 'node:os';
import { basename, extname, join, resolve } from 'node:path';
import { type Command, Option } from 'commander';
import {
  type Comparison,
  type ComparisonRequest,
  compare,
  compareMeasured,
  MOST_NULLED,
  type VariantSound,
} from '../../compare/comparison.ts';
import { type Crew, workerCrew } from '../../compare/crew.ts';
import { gridOf, type Variant } from '../../compare/grid.ts';
import { movesBetween } from '../../compare/moves.ts';
import { markOf, readShares, type Share } from '../../compare/share.ts';
import type { VariantPlay } from '../../compare/task.ts';
import { ComparisonError, readVariations, withFiles } from '../../compare/vary.ts';
import { FileSet, type SetFile } from '../../files/file-set.ts';
import { hasLoudness } from '../../measure/loudness/loudness.ts';
import type { Patch } from '../../patch/patch.ts';
import type { PatchTexts } from '../../patch/texts.ts';
import { WavFile } from '../../wav/read-wav.ts';
import { shareArgument, writeShare } from '../compare-share.ts';
import { EXIT, Stop, wrongFile, wrongRequest } from '../exit.ts';
import { interruptible } from '../interrupt.ts';
import {
  barsOption,
  depthOption,
  jsonOption,
  lengthAsked,
  PATCH_HELP,
  quietOption,
  rackOption,
  rateOption,
  repeatableOption,
  secondsOption,
  setOption,
  VERSION,
  wholeArgument,
} from '../options.ts';
import { OutputOption, requireFolder } from '../outputs.ts';
import { Progress } from '../progress.ts';
import { readPart, readPatchFile, readSound, readWithTexts, requireOutput } from '../read-patch.ts';
import { movesText } from '../reports/compare-moves.ts';
import {
  CHART,
  comparisonAsData,
  PAGE,
  printComparison,
  writePictures,
} from '../reports/compare-report.ts';
import { say, sayJson, tell } from '../standard-output.ts';
import { unreadableWav } from '../unreadable-wav.ts';

interface Options {
  vary: string[];
  output?: string;
  bars?: number;
  seconds?: number;
  rate: number;
  depth: VariantPlay['depth'];
  moves?: true;
  pairs?: true;
  share?: Share;
  join?: true;
  jobs: number;
  rack?: string;
  set: string[];
  json?: true;
  quiet?: true;
}

const MOST_JOBS = 64;
/** Bytes of samples that are kept at once, on a machine with plenty. */
const MOST_MEMORY = 2 ** 30;

export function register(program: Command): void {
  program
    .command('compare')
    .argument('<patch>', PATCH_HELP)
    .argument('[others...]', 'more patches, or recordings (WAV), to compare with it')
    .summary('compare patches, or settings, cables and parts of one, at equal loudness')
    .description(
      'Render several patches, or one with settings, cables, parts, the rack or the seed varied, bring every variant to the same loudness, measure them, ' +
        'and make a chart and a page to listen on.',
    )
    .addOption(
      repeatableOption(
        '--vary <setting=values>',
        'values of a setting: shape.decay=20ms,60ms,200ms, or a range, 20ms..500ms/8; ' +
          'outputs for an input: bright.in=hiss.white,hiss.pink; files of a part; racks, and none for no rack; several make a grid',
      ),
    )
    .addOption(
      new OutputOption(
        '-o, --output <folder>',
        'where the clips go (unless set: renders/NAME-compare)',
      ),
    )
    .addOption(barsOption())
    .addOption(secondsOption())
    .addOption(rateOption())
    .addOption(depthOption())
    .option(
      '--moves',
      'of two patches, only print what to pull, plug and turn to make the first into the second',
    )
    .option('--pairs', 'also subtract each from each, and print what is left')
    .addOption(
      new Option(
        '--share <k/n>',
        'play and measure only one share of several, such as 3/8, on any machine; --join then makes the comparison',
      )
        .argParser(shareArgument)
        .conflicts(['join', 'pairs', 'moves']),
    )
    .addOption(
      new Option('--join', 'put together the shares that lie in the folder').conflicts('moves'),
    )
    .option(
      '--jobs <count>',
      'how many to work on at once; more than the processor has cores are not started',
      wholeArgument(1, MOST_JOBS),
      Math.min(MOST_JOBS, availableParallelism()),
    )
    .addOption(rackOption())
    .addOption(setOption())
    .addOption(jsonOption())
    .addOption(quietOption())
    .addHelpText('after', EXAMPLES)
    .action(run);
}

async function run(
  file: string,
  others: readonly string[],
  options: Options,
  command: Command,
): Promise<void> {
  const files = [file, ...others];
  if (files.filter((one) => one === '-').length > 1)
    throw wrongRequest('Standard input can be read once: give "-" for one patch at most.');
  if (options.moves) {
    const idle = OF_CLIPS.filter((name) => command.getOptionValueSource(name) === 'cli');
    return tellMoves(files, options, idle);
  }
  if (options.vary.length > 0 && files.every((one) => RECORDING.test(one)))
    throw wrongRequest(
      '--vary varies a patch, and only recordings were given, which stay as they are.',
    );
  const both = options.vary.map(pathIn).find((path) => options.set.map(pathIn).includes(path));
  if (both !== undefined)
    throw wrongRequest(`--set ${both}: --vary gives it each of its values. Leave one of them out.`);
  if (options.vary.length === 0 && others.length === 0)
    throw wrongRequest(
      '--vary is needed, or a second patch: what to compare, such as --vary shape.decay=20ms,60ms,200ms.',
    );
  // The workers start while the patch is read here.
  const crew = workerCrew(new URL('./compare-worker.js', import.meta.url), jobsOf(options));
  let closed: Promise<void> | undefined;
  let set: FileSet | undefined;
  try {
    const asked = requestOf(files, options);
    const { folder } = asked;
    if (options.share !== undefined)
      return await writeShare(asked, { ...options, share: options.share }, crew);
    const sounds = options.join && sharesOf(asked);
    set = new FileSet(folder, 'compare');
    set.plan(membersOf(asked.variants));
    const request = { ...asked, folder: set.stage };
    const { comparison, isStopped } = await compared(request, {
      crew,
      isQuiet: options.quiet === true,
      ...(sounds && { sounds }),
    });
    // ... and end while the pictures are drawn.
    closed = crew.close();
    report(comparison, { request, set, folder, isStopped, options });
  } catch (error) {
    throw set === undefined ? error : set.told(error);
  } finally {
    set?.abandon();
    await (closed ?? crew.close());
  }
}

/** More than cores would take memory and gain nothing. */
function jobsOf({ jobs }: Options): number {
  return Math.min(jobs, availableParallelism());
}

/** The clips, the chart and the page. */
function membersOf(variants: readonly Variant[]): readonly SetFile[] {
  return [...variants.map(({ file }) => file), CHART, PAGE].map((name) => ({ name }));
}

type AskedComparison = Omit<ComparisonRequest, 'onProgress' | 'isStopped'> & {
  readonly about: string;
};

function requestOf(files: readonly string[], options: Options): AskedComparison {
  const twice = files.find((file, at) => files.some((one, i) => i < at && isSame(one, file)));
  if (twice !== undefined)
    throw wrongRequest(`${twice}: this file is given twice, and would be compared with itself.`);
  const names = namesOf(files);
  const read = files.map((file) => readSource(file, options));
  if (options.pairs) requireOneRate(read, options.rate);
  const variants = variantsOf(options, read, names);
  const folder = options.output ?? join('renders', `${folderName(names)}-compare`);
  requireFolder('-o', folder);
  return {
    play: { sampleRate: options.rate, depth: options.depth, length: lengthAsked(options) },
    title: read.map((one) => (one.type === 'patch' ? one.patch.title : one.title)).join(', '),
    about: read.length === 1 && read[0]?.type === 'patch' ? read[0].patch.about : '',
    variants,
    folder,
    pairs: options.pairs === true,
    memory: Math.min(MOST_MEMORY, freemem() / 4),
  };
}

/** What is compared: a patch and its texts, or a recording. */
type ComparedSource =
  | { readonly type: 'patch'; readonly patch: Patch; readonly written: PatchTexts }
  | {
      readonly type: 'recording';
      readonly path: string;
      readonly title: string;
      readonly sampleRate: number;
    };

/** A file name that is a recording; all others are patches. */
const RECORDING = /\.wave?$/i;

function readSource(file: string, options: Options): ComparedSource {
  return RECORDING.test(file) ? readRecording(file) : readPlayable(file, options);
}

/** Reads a recording, so that an error in it is reported before anything is played. */
function readRecording(path: string): ComparedSource {
  try {
    const file = new WavFile(path);
    try {
      // Samples that are no numbers are found as they are read.
      if (file.layout.encoding === 'float') for (const block of file.blocks) void block;
    } finally {
      file.close();
    }
    if (file.channels > 2)
      throw wrongFile(
        path,
        `this has ${file.channels} channels, and one or two are compared. Give one or two of them as a file of their own.`,
      );
    if (file.layout.frames === 0) throw wrongFile(path, 'this has no samples.');
    if (!hasLoudness(file.sampleRate))
      throw wrongFile(
        path,
        `its sample rate is ${file.sampleRate} Hz, and clips are brought to one loudness at 8000 to 384000 Hz. Convert it, for instance to 48000 Hz.`,
      );
    return { type: 'recording', path, title: basename(path), sampleRate: file.sampleRate };
  } catch (error) {
    throw unreadableWav(error, path);
  }
}

function readPlayable(file: string, options: Options): ComparedSource {
  const { patch, texts } = readWithTexts(file, options.set, options.rack);
  requireOutput(patch, file);
  try {
    const written = withFiles(options.vary, texts, patch, readPart, {
      loadRecording: readSound,
    });
    return { type: 'patch', patch, written };
  } catch (error) {
    if (error instanceof ComparisonError) throw wrongRequest(error.message);
    throw error;
  }
}

/** Clips can be subtracted sample by sample only at the same rate. */
function requireOneRate(read: readonly ComparedSource[], rate: number): void {
  for (const one of read)
    if (one.type === 'recording' && one.sampleRate !== rate)
      throw wrongFile(
        one.path,
        `--pairs subtracts clips of one rate: this is at ${one.sampleRate} Hz and patches are played at ${rate} Hz. Give --rate ${one.sampleRate}.`,
      );
}

/** `shape.decay` of `shape.decay=80ms`. */
function pathIn(set: string): string {
  return (set.split('=', 1)[0] as string).trim();
}

function isSame(one: string, other: string): boolean {
  return resolve(one) === resolve(other);
}

/** Names of files without folder and ending; whole paths where these are the same. */
function namesOf(files: readonly string[]): readonly string[] {
  const short = files.map((file) => (file === '-' ? 'stdin' : basename(file, extname(file))));
  return new Set(short).size === short.length ? short : files;
}

function folderName([first = '', second, ...more]: readonly string[]): string {
  const plain = basename(first, extname(first));
  if (second === undefined) return plain;
  return more.length === 0
    ? `${plain}-${basename(second, extname(second))}`
    : `${plain}-and-${more.length + 1}-more`;
}

/** What the shares in the folder have measured, if they are shares of the comparison asked for. */
function sharesOf(asked: AskedComparison): readonly VariantSound[] {
  try {
    return readShares(asked, markOf(asked, VERSION));
  } catch (error) {
    if (error instanceof ComparisonError) throw wrongRequest(error.message);
    throw error;
  }
}

async function compared(
  request: AskedComparison,
  {
    crew,
    isQuiet,
    sounds,
  }: { readonly crew: Crew; readonly isQuiet: boolean; readonly sounds?: readonly VariantSound[] },
): Promise<{ comparison: Comparison; isStopped: boolean }> {
  const progress = new Progress('Comparing', isQuiet, 'steps');
  const work = async (signal: AbortSignal) => {
    const asked = {
      ...request,
      onProgress: (done: number, total: number) => progress.show(done, total),
      isStopped: () => signal.aborted,
    };
    const comparison = await (sounds === undefined
      ? compare(asked, crew)
      : compareMeasured(asked, sounds, crew));
    return { comparison, isStopped: signal.aborted };
  };
  try {
    return await interruptible(work, () => {
      if (!isQuiet) tell('Stopping: what has begun is finished. Ctrl-C ends at once.');
    });
  } finally {
    progress.end();
  }
}

function report(
  comparison: Comparison,
  {
    request,
    set,
    folder,
    isStopped,
    options,
  }: {
    readonly request: AskedComparison;
    readonly set: FileSet;
    readonly folder: string;
    readonly isStopped: boolean;
    readonly options: Options;
  },
): void {
  const { title, about, variants } = request;
  const stopped = isStopped
    ? stopOf(comparison.variants.length, variants.length, folder)
    : undefined;
  if (stopped !== undefined && comparison.variants.length === 0) throw stopped;
  writePictures(comparison, { title, about, folder: set.stage });
  set.commit(membersOf(comparison.variants.map(({ variant }) => variant)));
  const placed = placedIn(folder, comparison);
  const files = { page: join(folder, PAGE), chart: join(folder, CHART) };
  const data = comparisonAsData(placed, files);
  if (options.json && stopped === undefined) sayJson(data);
  else if (!options.json && !options.quiet) printComparison(placed, files);
  if (stopped !== undefined) throw stopped.after(data);
}

/** The comparison, its clips in the folder that they were put into. */
function placedIn(folder: string, comparison: Comparison): Comparison {
  const variants = comparison.variants.map((one) => ({
    ...one,
    path: join(folder, one.variant.file),
  }));
  return { ...comparison, variants };
}

function variantsOf(
  { vary, pairs }: Options,
  read: readonly ComparedSource[],
  names: readonly string[],
): readonly Variant[] {
  try {
    const variants = gridOf(
      read.map((one, index) => ({
        source: one.type === 'patch' ? { type: 'patch', written: one.written } : one,
        variations: one.type === 'patch' ? variationsOf(vary, one, read.length === 1) : [],
        ...(read.length > 1 && { name: names[index] as string }),
      })),
    );
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

/** @throws ComparisonError, with the file's name in front where there are several. */
function variationsOf(
  vary: readonly string[],
  { written, patch }: ComparedSource & { readonly type: 'patch' },
  isOne: boolean,
) {
  try {
    return readVariations(vary, written, patch);
  } catch (error) {
    if (isOne || !(error instanceof ComparisonError)) throw error;
    throw new ComparisonError(`${written.main}: ${error.message}`);
  }
}

/** What would do nothing where no clips are made. */
const OF_CLIPS = ['vary', 'output', 'bars', 'seconds', 'rate', 'depth', 'pairs', 'jobs'] as const;

/**
 * Prints the moves from one patch to another; nothing is played.
 * @param idle options that were given and would do nothing.
 */
function tellMoves(files: readonly string[], options: Options, idle: readonly string[]): void {
  if (files.some((file) => RECORDING.test(file)))
    throw wrongRequest('--moves goes from patch to patch; a recording has no cables.');
  const [from, to, ...more] = files;
  if (from === undefined || to === undefined || more.length > 0)
    throw wrongRequest(
      `--moves takes two patches, the one that is patched and the one to change it into. Given: ${files.length}.`,
    );
  if (idle.length > 0)
    throw wrongRequest(
      `--moves only prints what to move, and plays nothing: leave out ${idle.map((name) => `--${name}`).join(', ')}.`,
    );
  const [before, after] = [from, to].map((file) => readPatchFile(file, options.set, options.rack));
  const moves = movesBetween(before as Patch, after as Patch);
  if (options.json) sayJson({ from, to, moves });
  else say(movesText(moves, from, to));
}

function stopOf(finished: number, asked: number, folder: string): Stop {
  const what =
    finished === 0
      ? 'no variant was finished, and nothing was written.'
      : `${finished} of ${asked} variants are finished and lie in ${folder}.`;
  return new Stop(EXIT.interrupted, `Stopped: ${what}`);
}

const EXAMPLES = `
Examples:
  forehear compare patches/closed-hat.yaml --vary shape.release=60ms,200ms,400ms
  forehear compare my-hat.yaml --vary shape.release=40ms..600ms/6 --vary bright.q=0.7,2 --bars 1
  forehear compare my-hat.yaml --vary level.response=linear,exponential --pairs
  forehear compare my-hat.yaml --vary bright.in=hiss.white,hiss.pink
  forehear compare patches/closed-hat.yaml patches/open-hat.yaml recordings/real-hat.wav
  forehear compare patches/closed-hat.yaml patches/open-hat.yaml --moves
  forehear compare my-hat.yaml --vary shape.release=40ms..600ms/64 --share 3/8    (one of eight runs)
  forehear compare my-hat.yaml --vary shape.release=40ms..600ms/64 --join         (after all eight)
  forehear compare my-kit.yaml --vary hat=parts/short-hat.yaml,parts/long-hat.yaml --vary seed=a,b

Of several patches each is a variant, or has those of --vary; a recording stays as it is, but for
its level. A range gives equal ratios; of percentages, decibels, volts and semitones, equal steps.
Clips are loops: what rings on at the end is heard at the start. Open the page in a browser to
switch between two of them at the same place, and to find out blind whether you can tell them
apart.`;
