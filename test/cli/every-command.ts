/**
 * Every command, from the commands' own definitions, with arguments that make it do its work quickly in
 * the folder that `workshop` makes. A new command without a line here fails the tests until it
 * has one.
 */

import type { Command } from 'commander';
import { definitions } from './writings.ts';

interface Way {
  /** Without output options. */
  readonly args: readonly string[];
  readonly stdin?: string;
  /** Whether it goes on until Ctrl-C. */
  readonly isEndless?: true;
}

const WAYS: { readonly [command: string]: readonly Way[] } = {
  render: [
    { args: ['hat.yaml', '--seconds', '0.2'] },
    { args: ['hat.yaml', '--seconds', '0.2', '--stems', '--tap', 'voice.shape.out'] },
    { args: ['hat.yaml', '--strokes', 'set', '--turns', '1'] },
  ],
  check: [
    { args: ['hat.yaml'] },
    { args: ['faulty.yaml', '--fix'] },
    { args: ['faulty.yaml', '--fix', '--write'] },
    { args: ['--explain'] },
    { args: ['--explain', 'clips'] },
  ],
  volts: [{ args: ['hat.yaml'] }],
  survey: [{ args: ['hat.yaml'] }],
  measure: [
    { args: ['take.wav'] },
    { args: ['take.wav', 'take.wav'] },
    { args: ['take.wav', '--against', 'take.wav'] },
  ],
  calibrate: [{ args: ['dials.yaml'] }],
  timing: [
    { args: ['hat.yaml', '--bars', '1'] },
    { args: ['hat.yaml', '--svg', 'a.svg', '--midi', 'a.mid', '--wav', 'a.wav'] },
    { args: ['hat.yaml', '--midi', 'a.mid', '--note', 'hat=44', '--channel', 'hat=1'] },
  ],
  tab: [
    { args: ['take.wav', '--tempo', '120'] },
    { args: ['take.wav', '--tempo', '120', '--into', 'hat.yaml'] },
  ],
  clock: [{ args: [] }, { args: ['--tap'], stdin: '0\n0.5\n1\n' }],
  compare: [
    { args: ['hat.yaml', '--vary', 'seed=a,b', '--seconds', '0.2', '--jobs', '1'] },
    { args: ['hat.yaml', 'faulty.yaml', '--seconds', '0.2', '--jobs', '1'] },
    { args: ['hat.yaml', 'faulty.yaml', '--moves'] },
  ],
  fit: [
    { args: ['hat.yaml', 'take.wav', '--vary', 'voice.shape.decay', '--tries', '20'] },
    {
      args: [
        'hat.yaml',
        'take.wav',
        '--vary',
        'voice.shape.decay',
        '--tries',
        '20',
        '--grow',
        '-o',
        'grown.yaml',
        '--page',
        'page',
      ],
    },
  ],
  lesson: [{ args: ['hat.yaml', '--bars', '1', '--rate', '8000'] }],
  listen: [{ args: ['hat.yaml'], isEndless: true }],
  sheet: [{ args: ['hat.yaml', '--no-clip', '--seconds', '0.2'] }, { args: ['hat.yaml', '--md'] }],
  new: [{ args: ['mine'] }],
  kinds: [{ args: [] }, { args: ['envelope'] }],
  completion: [{ args: ['bash'] }],
};

export interface Working extends Way {
  readonly command: Command;
  readonly name: string;
}

/** Every way to run every command. */
export async function everyCommand(): Promise<readonly Working[]> {
  return (await definitions()).flatMap((command) => {
    const name = command.name();
    const ways = WAYS[name];
    if (ways === undefined) throw new Error(`${name} has no line in test/cli/every-command.ts`);
    return ways.map((way) => ({ command, name, ...way }));
  });
}
