/**
 * Every command that writes, from the commands' own definitions, and a folder to run each of them in.
 * A new command or output option fails the tests until it has a line here.
 */

import { copyFileSync, mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { Command, type Option } from 'commander';
import { COMMANDS } from '../../src/cli/commands.ts';
import { OutputOption } from '../../src/cli/outputs.ts';
import { forehear, scratch } from './run.ts';
import { DIALS, writeTones } from './tones.ts';

/** A voice with a part and a rack. */
export const PATCH = `title: Hat   # keep this
rack: cabinet.yaml
parts: { voice: voice.yaml }
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [hat], gate: 2 ms, patterns: { beat: { hat: "x-x-" } }, song: [beat, beat] }
  out: { kind: output }
cables:
  - drums.hat -> voice.shape.trigger
  - voice.level.out -> out.left
`;
export const PART = `title: Voice
modules:
  hiss: { kind: noise }
  shape: { kind: envelope, mode: trigger, attack: 1 ms, decay: 40 ms }
  level: { kind: amplifier, response: linear }
cables:
  - shape.out -> level.control
  - hiss.white -> level.in
`;
export const RACK = `title: Cabinet
units:
  drums: { kind: rhythm }
  hiss: { kind: noise }
  shape: { kind: envelope }
  level: { kind: amplifier }
  out: { kind: output }
`;

/** What a run of a writing command reads, by what it is. */
export const INPUTS = {
  patch: 'hat.yaml',
  part: 'voice.yaml',
  rack: 'cabinet.yaml',
  'other rack': 'other.yaml',
  recording: 'take.wav',
  'dial file': 'dials.yaml',
  'clip of a dial': 'low.wav',
  'other clip of a dial': 'high.wav',
} as const;
export type Input = keyof typeof INPUTS;

const OF_A_PATCH: readonly Input[] = ['patch', 'part', 'rack'];

/** Arguments that make a command do its work quickly, without its output, and what it then reads. */
interface Run {
  readonly args: readonly string[];
  readonly reads: readonly Input[];
}

/** By command or, where one output goes without the arguments of the others, by command and option. */
const RUNS: { readonly [command: string]: Run } = {
  'render --strokes': { args: ['hat.yaml', '--turns', '2'], reads: OF_A_PATCH },
  render: { args: ['hat.yaml', '--seconds', '0.2'], reads: OF_A_PATCH },
  timing: { args: ['hat.yaml', '--bars', '1'], reads: OF_A_PATCH },
  sheet: { args: ['hat.yaml', '--no-clip', '--seconds', '0.2'], reads: OF_A_PATCH },
  fit: {
    args: ['hat.yaml', 'take.wav', '--vary', 'voice.shape.decay', '--tries', '20'],
    reads: [...OF_A_PATCH, 'recording'],
  },
  survey: { args: ['hat.yaml'], reads: OF_A_PATCH },
  tab: { args: ['take.wav', '--tempo', '120'], reads: ['recording'] },
  measure: { args: ['take.wav', '--against', 'take.wav'], reads: ['recording'] },
  calibrate: {
    args: ['dials.yaml'],
    reads: ['dial file', 'clip of a dial', 'other clip of a dial'],
  },
  compare: {
    args: ['hat.yaml', '--vary', 'seed=a,b', '--seconds', '0.2', '--jobs', '1'],
    reads: OF_A_PATCH,
  },
  lesson: { args: ['hat.yaml', '--bars', '1', '--rate', '8000'], reads: OF_A_PATCH },
};

/** How the name of an output ends; a slash for a folder. */
const ENDINGS: { readonly [output: string]: string } = {
  'render --output': '.wav',
  'render --strokes': '/',
  'timing --svg': '.svg',
  'timing --midi': '.mid',
  'timing --wav': '.wav',
  'sheet --output': '.html',
  'fit --output': '.yaml',
  'fit --page': '/',
  'survey --sheet': '.html',
  'survey --blanks': '.yaml',
  'tab --output': '.yaml',
  'measure --svg': '.svg',
  'calibrate --svg': '.svg',
  'compare --output': '/',
  'lesson --output': '/',
};

export interface Writing extends Run {
  readonly command: string;
  readonly option: string;
  /** As `.wav`; a slash for a folder. */
  readonly ending: string;
  readonly hasForce: boolean;
}

/** The commands as they register themselves. */
export async function definitions(): Promise<readonly Command[]> {
  const program = new Command();
  for (const load of Object.values(COMMANDS)) (await load()).register(program);
  return program.commands;
}

/** Every option of every command that names what is to be written. */
export async function writings(): Promise<readonly Writing[]> {
  return (await definitions()).flatMap((command) =>
    command.options
      .filter((option) => option instanceof OutputOption)
      .map((option) => writingOf(command, option)),
  );
}

function writingOf(command: Command, option: Option): Writing {
  const name = command.name();
  const run = RUNS[`${name} ${option.long}`] ?? RUNS[name];
  const ending = ENDINGS[`${name} ${option.long}`];
  if (run === undefined || ending === undefined)
    throw new Error(`${name} ${option.long} writes and has no line in test/cli/writings.ts`);
  return {
    command: name,
    option: option.long as string,
    ending,
    // The folder of `render --strokes` never gives way: its `--force` is of the clip.
    hasForce: option.long !== '--strokes' && command.options.some(({ long }) => long === '--force'),
    ...run,
  };
}

/** A patch with too short a gate, which `check --fix` makes longer. */
export const FAULTY = 'faulty.yaml';

let made: string | undefined;

/** A new folder with everything that {@link INPUTS} names, and {@link FAULTY}. */
export function workshop(): string {
  made ??= firstWorkshop();
  const folder = scratch();
  for (const file of [...Object.values(INPUTS), FAULTY])
    copyFileSync(join(made, file), join(folder, file));
  return folder;
}

function firstWorkshop(): string {
  const folder = scratch();
  mkdirSync(folder, { recursive: true });
  writeFileSync(join(folder, INPUTS.patch), PATCH);
  writeFileSync(join(folder, FAULTY), PATCH.replace('gate: 2 ms', 'gate: 0.2 ms'));
  writeFileSync(join(folder, INPUTS.part), PART);
  writeFileSync(join(folder, INPUTS.rack), RACK);
  writeFileSync(join(folder, INPUTS['other rack']), RACK);
  writeFileSync(join(folder, INPUTS['dial file']), DIALS);
  writeTones(folder);
  const { status, stderr } = forehear(folder, [
    'render',
    'hat.yaml',
    '--set',
    'voice.shape.decay=80ms',
    '--seconds',
    '0.5',
    // Nobody looks at what is above 8 kHz of it, and whoever measures or fits it is done sooner.
    '--rate',
    '16000',
    '-o',
    INPUTS.recording,
  ]);
  if (status !== 0) throw new Error(`the recording could not be made: ${stderr}`);
  return folder;
}
