/** `forehear calibrate`: the dial tables of one's own modules, from recordings at several positions. */

import { setImmediate } from 'node:timers/promises';
import type { Command } from 'commander';
import { replaceTexts } from '../../files/whole-file.ts';
import { KINDS } from '../../modules/kinds.ts';
import { type DialClips, readDialClips } from '../../patch/rack/dial-clips.ts';
import { Report } from '../../patch/text/report.ts';
import { WavFile } from '../../wav/read-wav.ts';
import { type CalibratedDial, calibrated } from '../calibrate/calibrated.ts';
import { dialData, dialReport, dialsPicture } from '../calibrate/calibration-report.ts';
import {
  replacedPositions,
  replacedPositionText,
  requireFits,
  withDials,
} from '../calibrate/dials-into.ts';
import { wrongFile, wrongRequest } from '../exit.ts';
import { jsonOption, quietOption } from '../options.ts';
import { forceOption, OutputOption, planOutputs, SVG } from '../outputs.ts';
import { Progress } from '../progress.ts';
import { problemsStop, readPart } from '../read-patch.ts';
import { type RackOfFile, rackOfFile } from '../read-rack.ts';
import { say, sayJson, tell } from '../standard-output.ts';

interface Options {
  into?: string;
  svg?: string;
  force?: true;
  json?: true;
  quiet?: true;
}

export function register(program: Command): void {
  program
    .command('calibrate')
    .argument('<file>', 'dial file: which recording is which position of which dial')
    .summary('make the dial tables of a rack from recordings at several positions')
    .description(
      'Measure recordings of your own modules at several positions of a dial: envelope times and ' +
        'sustain, filter cutoff and q, noise level and colour, oscillator pitch, clock rate and duty, ' +
        'pulse length, delay time, spacing of a burst, rate of random steps, levels of attenuator and mixer, slew times, a low-pass gate, each with its error.',
    )
    .option(
      '--into <file>',
      'write the tables into this rack, whose units they are; all else in it stays as it is',
    )
    .addOption(new OutputOption('--svg <file>', 'draw what each dial stands for from end to end'))
    .addOption(forceOption())
    .addOption(jsonOption())
    .addOption(quietOption())
    .addHelpText('after', EXAMPLES)
    .action(run);
}

async function run(file: string, options: Options): Promise<void> {
  const { svg, json, force } = options;
  if (force && svg === undefined)
    throw wrongRequest('--force is of --svg: say which file with it.');
  if (svg === '-' && json)
    throw wrongRequest('--svg -: standard output takes one thing, and --json is another.');
  const into = options.into === undefined ? undefined : rackOfFile(options.into);
  const { clips, text } = readFile(file, into);
  noteRead(clips);
  const [output] =
    svg === undefined
      ? []
      : planOutputs([{ option: '--svg', path: svg, format: SVG }], options.force);
  const report = new Report();
  const dials = await measured(clips, report, options);
  if (into !== undefined) requireFits(dials, report);
  if (report.count > 0)
    throw problemsStop(report.sorted(file), { main: file, set: [], texts: { [file]: text } });
  const rack = into && { path: into.rack.file, before: into.text, after: intoText(into, dials) };
  if (output !== undefined) {
    output.write(dialsPicture(clips.title, dials));
    await output.deliver();
  }
  if (rack !== undefined && rack.after !== rack.before) replaceTexts([rack]);
  const replaced = rack === undefined ? [] : replacedPositions(dials);
  const words = [
    ...dials.map(dialReport),
    ...(rack === undefined
      ? []
      : [
          [`into ${rack.path}, as dials of its units`, ...replaced.map(replacedPositionText)].join(
            '\n',
          ),
        ]),
    ...(output === undefined || output.isStandard ? [] : [output.path]),
  ].join('\n\n');
  if (json) {
    const files = output === undefined ? [] : [{ path: output.path, kind: 'chart' }];
    sayJson({ file, dials: dials.map(dialData), into: rack?.path ?? null, replaced, files });
  } else if (!options.quiet) {
    if (output?.isStandard) tell(words);
    else say(words);
  }
}

function intoText({ rack, text }: RackOfFile, dials: readonly CalibratedDial[]): string {
  return withDials(rack.file, text, dials);
}

/** @throws Stop with every problem in the dial file. */
function readFile(
  file: string,
  into: RackOfFile | undefined,
): { readonly clips: DialClips; readonly text: string } {
  const text = readPart(file);
  if (typeof text !== 'string')
    throw wrongFile(
      file,
      text === undefined
        ? 'there is no such file. Check the name and the folder.'
        : `this ${text.why}; a dial file was expected.`,
    );
  const { dials, problems } = readDialClips(text, { file, kinds: KINDS, rack: into?.rack });
  if (dials !== undefined) return { clips: dials, text };
  throw problemsStop(problems, { main: file, set: [], texts: { [file]: text } });
}

/** Opens all recordings once, so that no output is planned over one. What is wrong with one is reported later. */
function noteRead({ dials }: DialClips): void {
  for (const path of dials.flatMap(pathsOf)) {
    try {
      new WavFile(path).close();
    } catch {
      // It is reported when it is measured, with its place in the dial file.
    }
  }
}

function pathsOf({ clips, input }: DialClips['dials'][number]): readonly string[] {
  const paths = clips.map(({ path }) => path);
  return typeof input === 'string' ? paths : [...paths, input.path];
}

async function measured(
  clips: DialClips,
  report: Report,
  { json, quiet }: Options,
): Promise<readonly CalibratedDial[]> {
  const total = clips.dials.reduce((sum, dial) => sum + dial.clips.length, 0);
  const progress = new Progress('measured', json === true || quiet === true, 'clips');
  let done = 0;
  try {
    return await calibrated(clips, report, async () => {
      progress.show(done, total);
      done += 1;
      await setImmediate();
    });
  } finally {
    progress.end();
  }
}

const EXAMPLES = `
Examples:
  forehear calibrate bench/dials.yaml
  forehear calibrate bench/dials.yaml --into my-rack.yaml --svg dials.svg

A dial file is laid out as a rack is, with recordings where that has values:

  volts: 10 V          # what full scale stands for; for levels of noise
  units:
    bright:
      kind: filter     # may be left out with --into
      dials:
        cutoff: { jack: low, input: white, 0: cutoff-0.wav, 5: cutoff-5.wav, 10: cutoff-10.wav }
    shape:
      kind: envelope
      dials:
        decay: { as: sound, 0: decay-0.wav, 5: decay-5.wav, 10: decay-10.wav }

envelope     attack, decay, sustain, release. as: sound is a steady tone of 1 kHz or more through an
             amplifier of a straight law; as: volts the envelope itself, by a DC-coupled input. A few
             strokes, rest before each. Attack: a gate that lasts beyond it. Decay: sustain at 0 %.
             Sustain: a gate that lasts beyond the decay. Release: sustain at 100 %.
filter       cutoff, q. Ten seconds of noise through it; jack says which output, input what goes in:
             white, pink or a recording of it. Longer for cutoffs under 50 Hz; at 96 kHz for
             those over 10 kHz.
noise        level, from jack white, pink or red; its colour is printed and checked.
oscillator   at-zero, or tune over the at-zero that the rack fixes (C2 unless it does). Of slow
             ones twelve periods at least, by a DC-coupled input under some hertz.
clock        rate, duty; pulse and delay: length. The gate as volts, alone, several pulses of it.
delay        time. Trigger and pulse on two channels of each recording: trigger: 1, channel: 2.
burst        spacing. Its pulses as volts, several bursts, at rest before each.
random       rate, with its own clock: its stepped output as volts, ten steps or more.
attenuator   level; mixer: level-1 and so on. A steady tone through it; input: a recording of
             what goes in. Turned upside down it is as loud: take one side of the middle alone.
low-pass-gate  fall. Gates of as many volts as unity; as: sound is a steady tone with mode: level,
             as: volts steady volts at in, in any mode.
slew         rise, fall: its volts while a gate goes in, by a DC-coupled input; say volts at the
             top of the file if it is straight.

A stretch with far fewer clips than the rest is refused; "gaps: meant" beside the clips allows it.
Leave all other knobs where they are, and the gain too. Nothing is written where a clip is silent,
clipped or of another kind, a position is there twice, or a dial rises and then falls. Of twenty
figures nineteen are within their stated error. Keep the level down while you turn a q up, and headphones off.`;
