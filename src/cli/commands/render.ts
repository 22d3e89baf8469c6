/** `forehear render`: a patch to WAV. */

import { basename, extname, join } from 'node:path';
import { type Command, Option } from 'commander';
import { Prepared } from '../../engine/prepared.ts';
import type { Tail } from '../../engine/take.ts';
import { USUAL_RATE } from '../../engine/usual-rate.ts';
import { countsOf, findingsIn } from '../../findings/check.ts';
import { contextFrom, listenerFor } from '../../findings/context.ts';
import type { Finding } from '../../findings/finding.ts';
import { outsetOf } from '../../findings/outset.ts';
import { type Clip, type ClipFile, renderClip } from '../../output/clip.ts';
import type { JackRef, Patch } from '../../patch/patch.ts';
import { counted } from '../../patch/text/counted.ts';
import { again } from '../again.ts';
import { wrongRequest } from '../exit.ts';
import { interruptible } from '../interrupt.ts';
import {
  barsOption,
  depthOption,
  jackArgument,
  jsonOption,
  lengthAsked,
  PATCH_HELP,
  quietOption,
  rackOption,
  rateOption,
  repeatableOption,
  secondsOption,
  setOption,
  timeArgument,
} from '../options.ts';
import { forceOption, type Output, OutputOption, planOutputs, WAV } from '../outputs.ts';
import { Progress } from '../progress.ts';
import { readPatchFile, requireOutput } from '../read-patch.ts';
import { findingsLine } from '../reports/findings-line.ts';
import { renderStrokes, strokesOptions } from '../reports/strokes-report.ts';
import { say, sayJson, tell } from '../standard-output.ts';

interface Options {
  output?: string;
  force?: true;
  rate: number;
  depth: '16' | '24' | '32f';
  bars?: number;
  seconds?: number;
  tail?: number;
  stems?: true;
  tap: string[];
  loop?: true;
  rack?: string;
  set: string[];
  watch?: true;
  strokes?: string;
  turns: number;
  note: string[];
  json?: true;
  quiet?: true;
}

export function register(program: Command): void {
  const [strokes, turns, note] = strokesOptions();
  program
    .command('render')
    .argument('<patch>', PATCH_HELP)
    .summary('render a patch to a WAV file')
    .description('Render exactly what a patch would sound like to renders/NAME.wav.')
    .addOption(
      new OutputOption('-o, --output <file>', 'where to write the mix; - is standard output'),
    )
    .addOption(forceOption())
    .addOption(rateOption())
    .addOption(depthOption())
    .addOption(barsOption())
    .addOption(secondsOption())
    .option(
      '--tail <time>',
      'how long to listen on after the last step, such as 500ms (unless set: until silence, after the song)',
      timeArgument(),
    )
    .option(
      '--stems',
      'also write each voice of the mix, both sides, panners included; the stems sum to it',
    )
    .addOption(
      repeatableOption('--tap <jack>', 'also write the volts at a jack, 10 V at full scale'),
    )
    .addOption(new Option('--loop', 'make a clip that repeats without a seam').conflicts('tail'))
    .addOption(rackOption())
    .addOption(setOption())
    .option(
      '--watch',
      'render again whenever the patch, a part or the rack changes; Ctrl-C ends it',
    )
    .addOption(strokes)
    .addOption(turns)
    .addOption(note)
    .addOption(jsonOption('; with --watch, one for each render'))
    .addOption(quietOption())
    .addHelpText('after', EXAMPLES)
    .action(run);
}

async function run(file: string, options: Options, command: Command): Promise<void> {
  const { set, rack } = options;
  if (options.output === '-') requireOne(options);
  if (options.note.length > 0 && options.strokes === undefined)
    throw wrongRequest('--note is of --strokes: say which folder with it.');
  if (command.getOptionValueSource('turns') === 'cli' && options.strokes === undefined)
    throw wrongRequest('--turns is of --strokes: say which folder with it.');
  if (options.force && options.strokes !== undefined)
    throw wrongRequest(
      '--force is of the clip: what was changed in the folder of --strokes is always left alone.',
    );
  // Read before Ctrl-C is listened to: it is not noticed while standard input is waited for.
  const patch = options.watch ? undefined : readPatchFile(file, set, rack);
  await interruptible(async (signal) => {
    if (patch !== undefined && options.strokes !== undefined)
      return renderStrokes(patch, file, { ...options, strokes: options.strokes }, signal);
    if (patch !== undefined) return render(patch, file, options, signal);
    const isJson = options.json === true;
    return again(file, { set, rack, isJson, signal }, (read, current) =>
      render(read, file, options, current),
    );
  });
}

/** @throws Stop for outputs that standard output cannot take beside a clip. */
function requireOne(options: Options): void {
  const other = options.stems
    ? '--stems'
    : options.tap.length > 0
      ? '--tap'
      : options.watch
        ? '--watch'
        : options.json
          ? '--json'
          : undefined;
  if (other !== undefined)
    throw wrongRequest(
      `-o -: standard output takes one file, and ${other} gives more. Give the file a name.`,
    );
}

async function render(
  patch: Patch,
  file: string,
  options: Options,
  signal: AbortSignal,
): Promise<void> {
  requireOutput(patch, file);
  const path = options.output ?? join('renders', `${file === '-' ? 'stdin' : nameOf(file)}.wav`);
  const [output] = planOutputs(
    [{ option: '-o', path, format: WAV, makesFolder: true }],
    options.force,
  ) as [Output];
  const speak = output.isStandard ? tell : say;

  const length = lengthAsked(options);
  const tail: Tail =
    options.tail !== undefined
      ? { unit: 'seconds', value: options.tail }
      : length.unit === 'song'
        ? { unit: 'silence' }
        : { unit: 'seconds', value: 0 };

  const progress = new Progress('rendering', options.quiet === true);
  const all = new Prepared(patch);
  const outset = options.quiet && !options.json ? undefined : outsetOf(all);
  // The check listens to the render itself, if that is played as the check would play it.
  const isAsChecked = options.rate === USUAL_RATE && options.loop === undefined;
  const listener = outset !== undefined && isAsChecked ? listenerFor(outset) : undefined;
  try {
    const clip = await renderClip(all, {
      path: output.path,
      sampleRate: options.rate,
      depth: options.depth,
      length,
      tail,
      loop: options.loop === true,
      stems: options.stems === true,
      taps: options.tap.map((text) => jackOf(text, patch)),
      onProgress: (done, total) =>
        progress.show(done / options.rate, total === undefined ? undefined : total / options.rate),
      signal,
      ...(listener && { listener }),
    });
    progress.end();
    await output.deliver();
    const findings =
      outset === undefined ? [] : findingsIn(contextFrom(outset, listener?.heard(patch)));
    if (options.json) sayJson(asData(clip, findings));
    else if (!options.quiet) {
      describeClip(output.isStandard ? renamed(clip, 'standard output') : clip, speak);
      speak(findingsLine(findings));
    }
  } finally {
    progress.end();
  }
}

function nameOf(file: string): string {
  return basename(file, extname(file));
}

function jackOf(text: string, patch: Patch): JackRef {
  return jackArgument(text, patch, '--tap');
}

/** A clip of one file, shown under another name. */
function renamed(clip: Clip, name: string): Clip {
  return { ...clip, files: clip.files.map((file) => ({ ...file, path: name })) };
}

/** dBFS: above this level at the end of a clip, its cut is heard as a click. Common practice, no source. */
const HEARD_CUT = -60;

function describeClip(clip: Clip, speak: (text: string) => void): void {
  for (const file of clip.files) speak(describe(file, clip.seconds));
  const clipped = clip.files.filter((file) => file.clipped > 0);
  for (const { path, clipped: count } of clipped)
    tell(
      `${path}: ${counted(count, 'sample')} ${count === 1 ? 'lies above full scale and was' : 'lie above full scale and were'} limited. Turn a level down, or use --depth 32f.`,
    );
  if (clip.cut)
    tell(
      'The sound had not died away 10 s after the last step and was cut there; --tail sets the time.',
    );
  else if (clip.endDbfs > HEARD_CUT)
    tell(
      `The clip ends while it sounds, at ${clip.endDbfs.toFixed(1)} dBFS, and may click there; --tail 1s lets it die away, --loop lets it go round.`,
    );
  if (clip.files.some(({ kind }) => kind === 'tap'))
    tell(
      'A tap may be direct current: look at it, and never send it to headphones or loudspeakers.',
    );
}

function describe(file: ClipFile, seconds: number): string {
  const { path, jack, channels, sampleRate, bitDepth, peakDbfs, loudnessLufs } = file;
  const format = `${channels === 1 ? 'mono' : 'stereo'}, ${sampleRate / 1000} kHz, ${bitDepth === '32f' ? '32-bit float' : `${bitDepth} bit`}`;
  const peak = Number.isFinite(peakDbfs) ? `peak ${peakDbfs.toFixed(1)} dBFS` : 'silence';
  const loudness =
    loudnessLufs === undefined || !Number.isFinite(loudnessLufs)
      ? ''
      : `, ${loudnessLufs.toFixed(1)} LUFS`;
  const what = jack === undefined ? '' : ` (${file.kind} of ${jack})`;
  return `${path}${what}\n  ${seconds.toFixed(3)} s, ${format}, ${peak}${loudness}`;
}

/** The shape that scripts rely on; what has no number, such as the peak of silence, is null. */
function asData(clip: Clip, findings: readonly Finding[]): object {
  const number = (value: number | undefined): number | null =>
    value !== undefined && Number.isFinite(value) ? value : null;
  return {
    files: clip.files.map(({ peakDbfs, loudnessLufs, ...file }) => ({
      ...file,
      peakDbfs: number(peakDbfs),
      loudnessLufs: number(loudnessLufs),
    })),
    seconds: clip.seconds,
    endDbfs: number(clip.endDbfs),
    findings: countsOf(findings),
  };
}

const EXAMPLES = `
Examples:
  forehear render patches/closed-hat.yaml
  forehear render my-hat.yaml --set shape.release=80ms -o renders/short.wav
  forehear render my-kit.yaml --bars 8 --stems --depth 16 --rate 44100
  forehear render my-kit.yaml --loop
  forehear render my-kit.yaml --loop --watch      again at every change of the file
  forehear render my-hat.yaml --tap shape.out     the envelope, as a picture for an editor
  forehear render my-kit.yaml --strokes renders/my-kit     one-shots for a sampler, and an SFZ file

With neither --bars nor --seconds, the song is played once and heard until it has died away. Strokes
are as loud as in the mix and trimmed where they are under -90 dBFS; the second of those that take
turns is that of --set "seed=SEED 2", and so on.`;
