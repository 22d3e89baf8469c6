// Runs that are ended in the middle, by every signal that ends programs: either the old file is complete
// or the new one is, and nothing unfinished is left. A kill that nothing can catch may leave something;
// the next run of the same output removes it.

import { type ChildProcess, spawn } from 'node:child_process';
import { cpSync, rmSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { runs } from '../runs.ts';
import { contents } from './contents.ts';
import { BIN, forehear, forehearAlone } from './run.ts';
import { definitions, workshop, writings } from './writings.ts';

/** Arguments of a longer run than the walk over the inputs needs: the old output's, and what makes it new. */
interface Case {
  readonly command: string;
  readonly old: readonly string[];
  readonly fresh: readonly string[];
  /** Whether Ctrl-C ends it early with what it has, which is then whole. */
  readonly hasBest?: boolean;
}

const LONG: { readonly [output: string]: Omit<Case, 'command'> } = {
  'render --output': {
    old: ['hat.yaml', '--seconds', '2', '-o', 'out.wav'],
    fresh: ['hat.yaml', '--seconds', '20', '-o', 'out.wav'],
  },
  'render --stems': {
    old: ['hat.yaml', '--seconds', '2', '--stems', '--tap', 'voice.shape.out', '-o', 'out.wav'],
    fresh: ['hat.yaml', '--seconds', '10', '--stems', '--tap', 'voice.shape.out', '-o', 'out.wav'],
  },
  'render --strokes': {
    old: ['hat.yaml', '--strokes', 'out', '--turns', '2'],
    fresh: ['hat.yaml', '--strokes', 'out', '--turns', '4', '--set', 'seed=other'],
  },
  'timing --svg': {
    old: ['hat.yaml', '--bars', '1', '--svg', 'out.svg'],
    fresh: ['hat.yaml', '--bars', '30', '--svg', 'out.svg'],
  },
  'timing --midi': {
    old: ['hat.yaml', '--bars', '1', '--midi', 'out.mid'],
    fresh: ['hat.yaml', '--bars', '1000', '--midi', 'out.mid'],
  },
  'timing --wav': {
    old: ['hat.yaml', '--bars', '1', '--wav', 'out.wav'],
    fresh: ['hat.yaml', '--seconds', '100', '--wav', 'out.wav'],
  },
  'sheet --output': {
    old: ['hat.yaml', '--no-clip', '--seconds', '0.2', '-o', 'out.html'],
    fresh: ['hat.yaml', '--seconds', '2', '-o', 'out.html'],
  },
  'fit --output': {
    old: ['hat.yaml', 'take.wav', '--vary', 'voice.shape.decay', '--tries', '20', '-o', 'out.yaml'],
    fresh: [
      ...['hat.yaml', 'take.wav', '--vary', 'voice.shape.decay', '--tries', '60'],
      ...['-o', 'out.yaml', '--force'],
    ],
    hasBest: true,
  },
  'survey --sheet': {
    old: ['hat.yaml', '--sheet', 'out.html'],
    fresh: ['hat.yaml', '--set', 'drums.level=4 V', '--sheet', 'out.html'],
  },
  'survey --blanks': {
    old: ['hat.yaml', '--blanks', 'out.yaml'],
    fresh: ['hat.yaml', '--set', 'drums.level=4 V', '--blanks', 'out.yaml', '--force'],
  },
  'tab --output': {
    old: ['take.wav', '--tempo', '120', '-o', 'out.yaml'],
    fresh: ['take.wav', '--tempo', '90', '-o', 'out.yaml', '--force'],
  },
  'fit --page': {
    old: [
      ...['hat.yaml', 'take.wav', '--vary', 'voice.shape.decay', '--tries', '20'],
      ...['-o', '-', '--page', 'out'],
    ],
    fresh: [
      ...['hat.yaml', 'take.wav', '--vary', 'voice.shape.release', '--tries', '60'],
      ...['-o', '-', '--page', 'out'],
    ],
    hasBest: true,
  },
  'measure --svg': {
    old: ['take.wav', '--against', 'take.wav', '--svg', 'out.svg'],
    fresh: ['take.wav', '--against', 'take.wav', '--svg', 'out.svg'],
  },
  'calibrate --svg': {
    old: ['dials.yaml', '--svg', 'out.svg'],
    fresh: ['dials.yaml', '--svg', 'out.svg'],
  },
  'compare --output': {
    old: ['hat.yaml', '--vary', 'seed=a,b,c,d', '--seconds', '0.2', '--jobs', '2', '-o', 'out'],
    fresh: ['hat.yaml', '--vary', 'seed=f,g,h', '--seconds', '1', '--jobs', '2', '-o', 'out'],
    hasBest: true,
  },
  'lesson --output': {
    old: ['hat.yaml', '--bars', '1', '--rate', '8000', '-o', 'out'],
    fresh: [
      ...['hat.yaml', '--bars', '2', '--rate', '16000'],
      ...['--set', 'voice.shape.decay=90ms', '-o', 'out'],
    ],
  },
  'check --write': {
    old: ['hat.yaml', '--quiet'],
    fresh: ['faulty.yaml', '--fix', '--write', '--quiet'],
  },
  new: { old: ['there'], fresh: ['mine'] },
};

const CASES: readonly Case[] = Object.entries(LONG).map(([name, one]) => ({
  command: name.split(' ')[0] as string,
  ...one,
}));

const isStray = (name: string): boolean => name.includes('.part');

interface Prepared {
  /** A folder with the old output in it. */
  readonly folder: string;
  readonly old: Record<string, string>;
  readonly fresh: Record<string, string>;
  /** What the run takes, ms. */
  readonly ms: number;
}

const prepared = new Map<Case, Prepared>();

function prepare(one: Case): Prepared {
  const found = prepared.get(one);
  if (found !== undefined) return found;
  const folder = workshop();
  const made = forehear(folder, [one.command, ...one.old]);
  expect(made.status, made.stderr).toBe(0);
  const old = contents(folder);
  const copy = `${folder}-new`;
  cpSync(folder, copy, { recursive: true, preserveTimestamps: true });
  // The run that is killed is a process of its own, so its time is measured in one.
  const started = performance.now();
  const run = forehearAlone(copy, [one.command, ...one.fresh]);
  expect(run.status, run.stderr).toBe(0);
  const ms = performance.now() - started;
  const result = { folder, old, fresh: contents(copy), ms };
  prepared.set(one, result);
  return result;
}

function killed(
  folder: string,
  args: readonly string[],
  signal: NodeJS.Signals,
  ms: number,
): Promise<number | null> {
  return new Promise((resolve) => {
    const child: ChildProcess = spawn(process.execPath, [BIN, ...args], {
      cwd: folder,
      stdio: 'ignore',
    });
    // At moments all over the run, whatever it is at then.
    const timer = setTimeout(() => child.kill(signal), ms);
    child.once('close', (status) => {
      clearTimeout(timer);
      resolve(status);
    });
  });
}

/** Whether clips and page belong together: of a comparison that was ended early. */
function isWholeComparison(files: Record<string, string>): boolean {
  const page = Buffer.from(files['out/compare.html'] ?? '', 'base64').toString();
  const clips = Object.keys(files).filter(
    (name) => name.endsWith('.wav') && name.startsWith('out/'),
  );
  const told = new Set(page.match(/\d\d-(?:seed-[a-z]|recording|before|after)\.wav/g));
  return clips.length > 0 && clips.every((name) => told.delete(name.slice(4))) && told.size === 0;
}

/** Whether the patch is there to its last line. */
function isWholePatch(files: Record<string, string>): boolean {
  return Buffer.from(files['out.yaml'] ?? '', 'base64')
    .toString()
    .endsWith('-> out.left\n');
}

let count = 0;

async function expectWhole(one: Case, signal: NodeJS.Signals, share: number): Promise<void> {
  const { folder, old, fresh, ms } = prepare(one);
  const copy = `${folder}-${count++}`;
  cpSync(folder, copy, { recursive: true, preserveTimestamps: true });
  try {
    const status = await killed(copy, [one.command, ...one.fresh], signal, share * ms);
    const left = contents(copy);
    const strays = Object.keys(left).filter(isStray);
    const shown = Object.fromEntries(Object.entries(left).filter(([name]) => !isStray(name)));
    const is = (other: Record<string, string>): boolean =>
      JSON.stringify(shown) === JSON.stringify(other);
    const isBest =
      one.hasBest === true &&
      status === 130 &&
      (one.fresh.includes('out') ? isWholeComparison(shown) : isWholePatch(shown));
    expect(is(old) || is(fresh) || isBest, `mixed: ${Object.keys(shown).join(' ')}`).toBe(true);
    if (signal !== 'SIGKILL') {
      expect(strays).toEqual([]);
      return;
    }
    // The next run of the same output.
    const { status: ended, stderr } = forehear(copy, [one.command, ...one.fresh]);
    // A new patch that is there already is left alone.
    expect(ended, stderr).toBe(one.command === 'new' && is(fresh) ? 2 : 0);
    expect(contents(copy)).toEqual(fresh);
  } finally {
    rmSync(copy, { recursive: true });
  }
}

const SIGNALS: readonly NodeJS.Signals[] = ['SIGINT', 'SIGTERM', 'SIGHUP', 'SIGQUIT', 'SIGKILL'];

describe('a run that is ended in the middle', () => {
  it('is tried of every command that writes', async () => {
    const outputs = (await writings()).map(({ command, option }) => `${command} ${option}`);
    const others = (await definitions()).flatMap((command) =>
      command.options
        .filter(({ long }) => long === '--write' || long === '--stems')
        .map(({ long }) => `${command.name()} ${long}`),
    );
    // What --write of a fit writes is what its -o writes.
    const wanted = [...outputs, ...others, 'new'].filter((name) => name !== 'fit --write');
    expect(wanted.sort()).toEqual(Object.keys(LONG).sort());
  });

  // Two of each in an ordinary run, forty in a search: 24 and 480 kills.
  it.each(Object.keys(LONG).map((name, index) => [name, CASES[index] as Case] as const))(
    'leaves the old or the new, whole, and no part: %s',
    async (_, one) => {
      await fc.assert(
        fc.asyncProperty(
          fc.constantFrom(...SIGNALS),
          fc.double({ min: 0, max: 1.1, noNaN: true }),
          (signal, share) => expectWhole(one, signal, share),
        ),
        { ...runs(2), endOnFailure: true },
      );
    },
  );
});
