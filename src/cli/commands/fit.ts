/** `forehear fit`: moves settings of a patch until its hit sounds like the one of a recording. */

import { existsSync } from 'node:fs';
import { basename, dirname, extname, join, relative, resolve } from 'node:path';
import { setImmediate } from 'node:timers/promises';
import { type Command, Option } from 'commander';
import { ChangedError } from '../../files/output-error.ts';
import { replaceTexts, writeWhole } from '../../files/whole-file.ts';
import {
  builtTries,
  channelOf,
  type Fit,
  fewestTries,
  fitPatch,
  reread,
  usualTries,
} from '../../fit/fit.ts';
import { type Grown, grownFit, lackOf } from '../../fit/grow.ts';
import { limited, movable } from '../../fit/limits.ts';
import { type VoiceChannel, voicePath } from '../../fit/path.ts';
import { type RecordedHits, recordedHits } from '../../fit/recording.ts';
import { FitError, type Knob, readKnobs, usualKnobs, withTwin } from '../../fit/settings.ts';
import { withPaths, withValues } from '../../fit/write.ts';
import { KINDS } from '../../modules/kinds.ts';
import { NO_RACK } from '../../patch/overrides.ts';
import type { Patch } from '../../patch/patch.ts';
import { counted } from '../../patch/text/counted.ts';
import { fileText, loadTexts, type PatchTexts } from '../../patch/texts.ts';
import { WavFile } from '../../wav/read-wav.ts';
import { steppedBits } from '../../wav/wav-header.ts';
import { EXIT, Stop, wrongFile, wrongRequest } from '../exit.ts';
import { type Beginning, builtBeginning, chosenBeginning, tellStopping } from '../fit/begin.ts';
import { candidatesOf, isChoice } from '../fit/candidates.ts';
import { concernsOf } from '../fit/concerns.ts';
import { requirePagePlace, writeFitPage } from '../fit/page.ts';
import { RenderThread, WORTH_A_THREAD } from '../fit/render-thread.ts';
import { interruptible } from '../interrupt.ts';
import {
  jsonOption,
  PATCH_HELP,
  quietOption,
  rackOption,
  repeatableOption,
  wholeArgument,
} from '../options.ts';
import { type Output, OutputOption, PATCH, planOutputs } from '../outputs.ts';
import { Progress } from '../progress.ts';
import { readPart, readSound, readWithTexts, requireOutput } from '../read-patch.ts';
import { rackOfFile } from '../read-rack.ts';
import { rankingData, rankingWords } from '../reports/fit-ranking.ts';
import { FAR, fitData, fitReport } from '../reports/fit-report.ts';
import {
  growthData,
  growthWords,
  shortfallData,
  shortfallWords,
} from '../reports/fit-shortfalls.ts';
import { shellWord } from '../shell-word.ts';
import { say, sayJson, tell } from '../standard-output.ts';
import { unreadableWav } from '../unreadable-wav.ts';

interface Options {
  vary: string[];
  channel?: string;
  output?: string;
  write?: true;
  force?: true;
  level?: true;
  tries?: number;
  grow?: true;
  page?: string;
  rack?: string;
  json?: true;
  quiet?: true;
}

/** The ending that the last file must have to be a recording. */
const RECORDING = /\.wave?$/i;
const MOST_TRIES = 100_000;

export function register(program: Command): void {
  program
    .command('fit')
    .argument('<patch>', `${PATCH_HELP}; the recording alone to have a voice built for it`)
    .argument(
      '[others...]',
      'more patches, or folders of them, to choose from; last a WAV file of the sound: one hit, or several of one voice',
    )
    .summary("move settings until a patch's hit sounds like a recording, or build a voice for it")
    .description(
      'Move settings of a patch until its hit sounds like the average hit of a recording, write the new ' +
        'patch, and say how near it came: by how many dB the bands over time differ on average.',
    )
    .addOption(
      repeatableOption(
        '--vary <setting=range>',
        'a setting to move, in a range: shape.decay=10ms..500ms; without a range, in all of its own',
        'the times, slopes, pitches, cutoffs, q, widths, drives and mixed levels of the voice',
      ),
    )
    .option('--channel <name>', 'the channel that the recording is of, if the patch plays several')
    .addOption(
      new OutputOption(
        '-o, --output <file>',
        'where the new patch goes (unless set: PATCH-fitted.yaml, or RECORDING-voice.yaml of one that is built or chosen); - is standard output',
      ),
    )
    .addOption(new Option('--write', 'change the patch in place').conflicts('output'))
    .option('--force', 'overwrite a file that exists')
    .option('--level', 'compare the levels too, which are otherwise made equal first')
    .option(
      '--tries <count>',
      'the most renders (unless set: 400, or up to 800 for few settings and 1250 for many, of a short hit; of a voice that is built 10 a setting, or up to 400 for a short hit)',
      wholeArgument(1, MOST_TRIES),
    )
    .addOption(
      new Option(
        '--grow',
        'add layers for what the patch cannot reach, in a new file, and keep each that brings it 0.5 dB nearer',
      ).conflicts('write'),
    )
    .addOption(
      new OutputOption(
        '--page <folder>',
        'also make a page to listen on: the recording, before and after, at equal loudness',
      ),
    )
    .addOption(rackOption())
    .addOption(jsonOption())
    .addOption(quietOption())
    .addHelpText('after', EXPLAINED)
    .action(async (file: string, others: readonly string[], options: Options) => {
      try {
        await run([file, ...others], options);
      } catch (error) {
        throw error instanceof FitError ? wrongRequest(error.message) : error;
      }
    });
}

async function run(files: readonly string[], options: Options): Promise<void> {
  const patches = files.slice(0, -1);
  const wav = files.at(-1) as string;
  if (patches.length === 0 && !RECORDING.test(wav))
    throw wrongRequest(
      `fit ${wav}: the recording is missing. It comes last: forehear fit PATCH RECORDING.wav.`,
    );
  const isOne = patches.length === 1 && !isChoice(patches);
  if (!isOne) requireWhole(options);
  const place = placeOf(isOne ? patches[0] : undefined, wav, options);
  const isInput = options.write === true;
  const plan = (): Output => {
    if (options.page !== undefined) requirePagePlace(options.page);
    return planOutputs([{ option: '-o', path: place, format: PATCH, isInput }])[0] as Output;
  };
  const begun = await beginning(patches, { wav, place, plan }, options);
  const { recording, output } = begun;
  const { written, channel, knobs } = begun;
  if (begun.ranking !== undefined) requireReadable(written, place);
  const knobsLater = (grown: Patch): readonly Knob[] =>
    limited(knobsGrown(grown, channel, options), grown, recording.longest);
  const grown =
    begun.fit === undefined
      ? await fitted({ written, recording, channel, knobs }, knobsLater, {
          ...options,
          tries: options.tries ?? triesOf(begun, options),
          isStopped: begun.isStopped === true,
        })
      : { fit: begun.fit, growths: [] };
  const made = grown.fit;
  const text = moved(made.text, written.main, place);
  const before = fileText(written, written.main) ?? '';
  const kept = write(text, { place, before, output, options });
  await output.deliver();
  const listening =
    options.page === undefined
      ? undefined
      : await writeFitPage(options.page, {
          ...{ recording, channel, name: basename(wav), isLevelled: options.level !== true },
          before: reread(written, before),
          after: reread(written, made.text),
        });
  const told = output.isStandard ? 'standard output' : (kept?.place ?? place);
  const lack = lackOf({ written, channel, concernsOf }, made);
  const { tries } = options;
  const again = {
    // A voice that was chosen may be one of several in its patch.
    ...(begun.ranking && channel && { channel: `${channel.module}.${channel.name}` }),
    // ... and have more settings than that many tries are enough for.
    ...(tries !== undefined && { tries: Math.max(tries, fewestTries(knobs.length)) }),
  };
  const data = {
    ...fitData(made, recording, told),
    ...listening,
    ...(begun.built !== undefined && { built: { modules: begun.built } }),
    ...(begun.ranking && rankingData(begun.ranking)),
    shortfalls: shortfallData(made.shortfalls, lack),
    layers: growthData(grown.growths),
  };
  const stop = stopOf(made, kept, told, rendersOf(begun, made));
  if (options.json && stop === undefined) sayJson(data);
  else if (!options.json && !options.quiet) {
    const isUsual = options.vary.length === 0;
    const speak = output.isStandard ? tell : say;
    const left = [
      ...growthWords(grown.growths),
      ...shortfallWords(
        made.shortfalls,
        lack,
        options.grow === true,
        output.isStandard ? undefined : growLine(told, wav, { ...options, ...again }),
      ),
    ];
    if (begun.ranking !== undefined) speak(rankingWords(begun.ranking));
    if (begun.built !== undefined)
      speak(`A voice of ${counted(begun.built, 'module')}, built from ${wav}, and fitted:\n`);
    speak(fitReport(made, { recording, channel, place: told, isUsual, wav, left }));
    if (listening !== undefined) speak(listening.page);
  }
  if (stop !== undefined) throw stop.after(data);
}

/** The line that tries the layer that a fitted patch lacks, to be copied. */
function growLine(
  fitted: string,
  wav: string,
  { vary, channel, level, rack, tries }: Options,
): string {
  return [
    ...['forehear', 'fit', fitted, wav, '--grow'],
    ...vary.flatMap((one) => ['--vary', one]),
    ...(channel === undefined ? [] : ['--channel', channel]),
    ...(rack === undefined ? [] : ['--rack', rack]),
    ...(level === true ? ['--level'] : []),
    ...(tries === undefined ? [] : ['--tries', String(tries)]),
    ...['-o', freePath(fitted, 'grown')],
  ]
    .map(shellWord)
    .join(' ');
}

interface Begun extends Beginning {
  readonly recording: RecordedHits;
  readonly output: Output;
}

/** What is fitted, and to what: all errors are reported before the work. */
async function beginning(
  patches: readonly string[],
  {
    wav,
    place,
    plan,
  }: { readonly wav: string; readonly place: string; readonly plan: () => Output },
  options: Options,
): Promise<Begun> {
  const [file] = patches;
  if (file === undefined) {
    const { rack: named = NO_RACK } = options;
    const rack = named === NO_RACK ? undefined : rackOfFile(named);
    const recording = readRecording(wav);
    const output = plan();
    const begun = await builtBeginning(recording, {
      name: basename(wav),
      place,
      rack,
      isQuiet: options.quiet === true,
    });
    return { ...begun, recording, output };
  }
  if (isChoice(patches)) {
    const recording = readRecording(wav);
    const { channel, rack } = options;
    const { longest } = recording;
    const candidates = candidatesOf(patches, { channel, rack, longest });
    const output = plan();
    const isLevelled = options.level !== true;
    const begun = await chosenBeginning(recording, candidates, {
      isLevelled,
      isQuiet: options.quiet === true,
    });
    return { ...begun, recording, output };
  }
  const { patch, texts: written } = readWithTexts(file, [], options.rack);
  requireOutput(patch, file);
  const channel = channelOf(patch, options.channel);
  const asked = knobsOf(patch, channel, options);
  requireReadable(written, place);
  // A value that cannot be written is reported before the work, not after.
  withValues(
    written,
    asked.flatMap(withTwin).map((knob) => ({ knob, value: knob.before })),
  );
  let output: Output | undefined;
  const recording = readRecording(wav, () => {
    output = plan();
  });
  const knobs = limited(asked, patch, recording.longest);
  return { written, channel, knobs, recording, output: output ?? plan() };
}

/** Without a patch there are no settings to name, and nothing to change in place. */
function requireWhole({ vary, write }: Options): void {
  if (vary.length > 0)
    throw wrongRequest('--vary names settings of one patch: give that, and the recording.');
  if (write)
    throw wrongRequest('--write changes one patch in place: give that, and the recording.');
}

/** All renders: those of building or choosing too, among which a fit may be that is the result. */
function rendersOf({ renders, ranking, fit }: Begun, made: Fit): number {
  return (renders ?? 0) + (ranking?.renders ?? 0) + (fit === undefined ? made.tries : 0);
}

/** The message for a fit that was written, but not as it was asked for. */
function stopOf(
  made: Fit,
  kept: KeptElsewhere | undefined,
  told: string,
  renders: number,
): Stop | undefined {
  if (kept !== undefined)
    return wrongFile(
      kept.why.path,
      `${kept.why.message.slice(kept.why.path.length + 2)} The fitted patch is in ${kept.place}.`,
    );
  if (!made.isStopped) return undefined;
  return new Stop(
    EXIT.interrupted,
    `Stopped after ${counted(renders, 'render')}: the best so far is in ${told}.`,
  );
}

/** Where a fitted patch went instead, and why. */
interface KeptElsewhere {
  readonly place: string;
  readonly why: ChangedError;
}

interface PatchWriting {
  readonly place: string;
  /** What the patch file held when it was read. */
  readonly before: string;
  readonly output: Output;
  readonly options: Options;
}

/**
 * Writes the new patch. Where its place was changed or taken while it was made, the work is not lost:
 * it goes to a new file beside it.
 * @returns that file, and why.
 */
function write(
  text: string,
  { place, before, output, options }: PatchWriting,
): KeptElsewhere | undefined {
  const bytes = new TextEncoder().encode(text);
  try {
    if (options.write) replaceTexts([{ path: place, before, after: text }]);
    else writeWhole(output.path, bytes, { isNew: options.force !== true });
    return undefined;
  } catch (error) {
    if (!(error instanceof ChangedError)) throw error;
    return { place: writeBeside(place, bytes), why: error };
  }
}

/** Writes a new file under the first name that is free. @returns its path. */
function writeBeside(place: string, bytes: Uint8Array): string {
  for (let count = 1; ; count++) {
    const path = besidePath(place, 'fitted', count);
    try {
      writeWhole(path, bytes, { isNew: true });
      return path;
    } catch (error) {
      if (!(error instanceof ChangedError)) throw error;
    }
  }
}

/** `PATCH-fitted.yaml`, or with a number behind it. */
function besidePath(file: string, suffix: string, count = 1): string {
  const ending = extname(file);
  const number = count === 1 ? '' : `-${count}`;
  return join(dirname(file), `${basename(file, ending)}-${suffix}${number}${ending || '.yaml'}`);
}

/** The first of these under which there is no file. */
function freePath(file: string, suffix: string): string {
  let count = 1;
  while (existsSync(besidePath(file, suffix, count))) count++;
  return besidePath(file, suffix, count);
}

/** `RECORDING-voice.yaml`, of a voice that was built or chosen for it. */
function voicePathOf(wav: string): string {
  return join(dirname(wav), `${basename(wav, extname(wav))}-voice.yaml`);
}

/** Where the new patch goes. @throws Stop if it would overwrite something. */
function placeOf(
  file: string | undefined,
  wav: string,
  { output, write, force, json }: Options,
): string {
  if (write && file !== undefined) {
    if (file !== '-') return file;
    throw wrongRequest('--write has no file to write to when the patch comes from standard input.');
  }
  if (output === undefined && file === '-')
    throw wrongRequest('-o is needed when the patch comes from standard input: where to write.');
  const place = output ?? (file === undefined ? voicePathOf(wav) : besidePath(file, 'fitted'));
  if (place === '-' && json)
    throw wrongRequest('-o -: standard output takes one thing, and --json is another.');
  if (place === '-') return place;
  if (existsSync(place) && !force)
    throw wrongFile(
      place,
      `this file exists; it was left alone. Choose another with -o, or overwrite it with --force.`,
    );
  return place;
}

function knobsOf(
  patch: Patch,
  channel: VoiceChannel | undefined,
  { vary, tries }: Options,
): readonly Knob[] {
  const knobs =
    vary.length > 0
      ? readKnobs(vary, patch)
      : movable(usualKnobs(patch, voicePath(patch, channel)), patch);
  if (knobs.length === 0)
    throw wrongRequest(
      'The voice has no envelope, cutoff or decay, so --vary is needed: what to move, such as --vary tone.tune=-12st..12st.',
    );
  const fewest = fewestTries(knobs.length);
  if (tries !== undefined && tries < fewest)
    throw wrongRequest(
      `--tries ${tries}: to move ${counted(knobs.length, 'setting')} takes at least ${fewest}.`,
    );
  return knobs;
}

/** What is moved once a patch has more layers: the settings asked for, and all of the layers. */
function knobsGrown(
  patch: Patch,
  channel: VoiceChannel | undefined,
  { vary }: Options,
): readonly Knob[] {
  const usual = movable(usualKnobs(patch, voicePath(patch, channel)), patch);
  if (vary.length === 0) return usual;
  const asked = readKnobs(vary, patch);
  const isNew = ({ path, module }: Knob): boolean =>
    module.startsWith('layer-') && asked.every((knob) => knob.path !== path);
  return [...asked, ...usual.filter(isNew)];
}

/** How many renders a fit makes unless told. Once a layer is added, a voice that was built is no longer near a minimum. */
function triesOf({ built, knobs, recording }: Begun, { grow }: Options): number {
  return built === undefined || grow === true
    ? usualTries(knobs.length, recording)
    : builtTries(knobs.length, recording);
}

/** @param onOpen called once it is known to be a recording, before it is measured. */
function readRecording(file: string, onOpen = (): void => {}): RecordedHits {
  let wav: WavFile | undefined;
  try {
    wav = new WavFile(file);
    onOpen();
    return recordedHits(wav, file, steppedBits(wav.layout));
  } catch (error) {
    if (error instanceof FitError) throw error;
    throw unreadableWav(error, file);
  } finally {
    wav?.close();
  }
}

async function fitted(
  what: Pick<Parameters<typeof fitPatch>[0], 'written' | 'recording' | 'channel' | 'knobs'>,
  knobsOf: (patch: Patch) => readonly Knob[],
  {
    tries,
    level,
    quiet,
    grow,
    isStopped,
  }: Options & { readonly tries: number; readonly isStopped: boolean },
): Promise<Grown> {
  const progress = new Progress('Fitting', quiet === true, 'tries');
  const second = tries < WORTH_A_THREAD ? undefined : RenderThread.open();
  try {
    return await interruptible(
      async (signal) => {
        const request = {
          ...what,
          concernsOf,
          knobsOf,
          tries,
          isLevelled: level !== true,
          second,
          onProgress: (done: number, total: number) => progress.show(done, total),
          breathe: () => setImmediate(),
          isStopped: () => isStopped || signal.aborted,
        };
        const fit = await fitPatch(request);
        return grow === true ? await grownFit(request, fit) : { fit, growths: [] };
      },
      () => tellStopping(quiet === true),
    );
  } finally {
    progress.end();
    await second?.close();
  }
}

/** @throws Stop if the patch could not be read where it is to be written: its recordings lie in its own folder. */
function requireReadable(written: PatchTexts, place: string): void {
  const before = fileText(written, written.main) ?? '';
  const text = moved(before, written.main, place);
  if (text === before) return;
  const from = { ...written, main: place, texts: { ...written.texts, [place]: text } };
  const [problem] = loadTexts(from, readPart, { kinds: KINDS, loadRecording: readSound }).problems;
  if (problem !== undefined)
    throw wrongRequest(
      `-o ${place}: the patch could not be read there: ${problem.message}. Choose a place in ${dirname(written.main)}.`,
    );
}

/** The text, its paths relative to the place it is written to. */
function moved(text: string, file: string, place: string): string {
  const [from, to] = [file === '-' ? '.' : dirname(file), dirname(place)];
  if (resolve(from) === resolve(to)) return text;
  return withPaths(file, text, (path) => relative(to, join(from, path)).replaceAll('\\', '/'));
}

const EXPLAINED = `
The distance is that of "forehear measure A --against B", in dB: third octaves over time, from the
attack to 60 dB down or to the noise of the recording, and how the two differ in tonality and pitch.
Neither the phase nor the waveform of a noise counts, and level only with --level. Chance alone keeps
two hits of one noise some 3 dB apart; above ${FAR} dB the patch cannot make the sound with the settings
that were varied. Of several hits one is chosen, and named; others are averaged with it while searching
if they are like it. Drift and mains hum of the recording are taken out first, if they are heard alone
for 0.8 s, as before the hit.

A fit does no harm. A setting that the recording does not decide goes back to its old value, or as
near to it as sounds the same; so does one that gains no more than another draw of the noise gives by
chance. At most four settings of a voice with noise go on from the nearest values to those with which
the recording is likeliest, over many draws of the noise; of each it is told which others chance might
have led to, the rest making up for it. Where a release goes on from a decay in mode trigger, both are
moved. What would add a fault or a caution to "forehear check" is undone and reported. The distance is
that of the new patch as it is written, and never more than before. Times go up to four times the
longest hit, and settings as far as the dials of the rack. An envelope in mode trigger that opens an
amplifier may come to fall in two slopes, a decay to its sustain and a slower release from there, or
along its other curve; where yours cannot, say so in the rack, such as "fixed: { curve: linear }".

With the recording alone, a voice of at most 16 modules is built from it (its partials with their
decays, a pitch that falls, layers of noise), from the modules of --rack if given, and fitted. Of
several patches, or a folder, each channel that is heard is put in order by its kind of drum (where
the sound lies, its width, rise, fall and tone, measured of the voice as it is, and with its times and
frequencies moved towards the recording's, each by a factor of two at most). The nearest get a short
fit, which shows what keeps each from the recording, and the first is fitted fully. A recording of
another kind of drum than the voice is reported.

What is left of the difference is listed as boxes of bands and time. --grow adds a layer for the
largest box of which the recording has more, in the file's own words: a struck resonator for a
partial, otherwise noise with a filter and an envelope. It fits again, two layers at most, and keeps
each that lowers the distance by 0.5 dB or more and adds no finding.

Ranges of times, frequencies, resistances and q are searched in ratios, others in equal steps.

Examples:
  forehear fit my-hat.yaml hat.wav
  forehear fit my-hat.yaml hat.wav --vary shape.release=10ms..500ms --vary bright.cutoff --write
  forehear fit my-tom.yaml conga.wav --grow -o conga.yaml
  forehear fit conga.wav
  forehear fit conga.wav --rack patches/racks/teaching-cabinet.yaml
  forehear fit patches conga.wav
  forehear fit patches/two-bar-kit.yaml kick.wav --channel kick -o kit-with-that-kick.yaml`;
