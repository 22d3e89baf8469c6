// Any command line at all, made of the commands' own options and of values that fit and that do not: it
// ends by itself with one of the promised exit codes, in words, and never with a trace. `npm run search`
// tries 20,000 of them.

import { spawnSync } from 'node:child_process';
import { readdirSync, readFileSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import type { Command } from 'commander';
import fc from 'fast-check';
import { expect, it } from 'vitest';
import { runs } from '../runs.ts';
import { everyCommand } from './every-command.ts';
import { BIN, type Ended, forehear } from './run.ts';
import { workshop } from './writings.ts';

const COMMANDS: readonly Command[] = [
  ...new Map((await everyCommand()).map(({ name, command }) => [name, command])).values(),
];

/** Words that a person, a script or a slip may give for anything. */
const VALUE = fc.oneof(
  fc.constantFrom(
    ...['', '-', '--', '0', '-1', '1e9', '1e-300', 'NaN', 'Infinity', '0x10', '3.5', '250ms', '2s'],
    ...['10%', '16', '24', '32f', '48000', '1/8', '2 per quarter', 'hat.yaml', 'take.wav', 'none'],
    ...[
      'voice.shape.decay=80ms',
      'voice.shape.decay=80',
      'a=b=c',
      '=',
      'seed=x',
      'drums.tempo=0 bpm',
    ],
    ...['voice.shape.out', 'drums.hat', 'voice', 'renders/x.wav', 'x.flac', 'a\u001b[31mb'],
    ...['bash', 'clips', 'envelope', '{}', '[', 'ä', '\u202e', 'x'.repeat(5000)],
  ),
  // No way out of the folder, since a file that a word names may be written.
  fc.string({ maxLength: 12 }).filter((text) => !/[/\0]/.test(text)),
);

/** Options that would go on until Ctrl-C, or ask for a person's own browser. */
const ENDLESS = ['--watch', '--open', '--tap', '--port'];

function lineOf(command: Command): fc.Arbitrary<readonly string[]> {
  const options = command.options.filter(
    ({ long }) => long !== null && long !== undefined && !ENDLESS.includes(long),
  );
  const option = fc
    .constantFrom(...options)
    .chain((one) =>
      one.required || one.optional
        ? VALUE.map((value): readonly string[] => [one.long as string, value])
        : fc.constant<readonly string[]>([one.long as string]),
    );
  return fc
    .tuple(
      fc.array(fc.oneof({ weight: 3, arbitrary: fc.constant('hat.yaml') }, VALUE), {
        maxLength: 3,
      }),
      fc.array(option, { maxLength: 4 }),
    )
    .map(([words, chosen]) => [command.name(), ...words, ...chosen.flat()]);
}

const LINE = fc
  .constantFrom(...COMMANDS.filter((command) => command.name() !== 'listen'))
  .chain(lineOf);

/** How long a long clip or search would take does not matter here. */
const LONGEST_MS = 60_000;
/** The texts of the folder that no line asks to write over. */
const KEPT = ['hat.yaml', 'faulty.yaml', 'take.wav'];

/** A search may draw a line that takes hours, so each has a process of its own, which can be ended. */
const isSearch = runs(1).numRuns > 1;

function ended(cwd: string, args: readonly string[]): Ended & { readonly error?: Error } {
  if (!isSearch) return forehear(cwd, args);
  return spawnSync(process.execPath, [BIN, ...args], {
    cwd,
    input: '',
    encoding: 'utf8',
    timeout: LONGEST_MS,
    killSignal: 'SIGINT',
    maxBuffer: 1 << 28,
  });
}

it('any command line ends in one of four ways, in words, and harms no file that it was not given to', () => {
  const folder = workshop();
  const before = new Map(KEPT.map((name) => [name, readFileSync(join(folder, name))]));
  fc.assert(
    fc.property(LINE, (args) => {
      const { status, signal, stdout, stderr, error } = ended(folder, args);
      const shown = `${JSON.stringify(args)} ended with ${status ?? signal}:\n${stderr.slice(0, 2000)}`;
      const wasLong = (error as NodeJS.ErrnoException | undefined)?.code === 'ETIMEDOUT';
      if (!wasLong) expect([0, 1, 2, 3], shown).toContain(status);
      expect(stderr, shown).not.toMatch(/mistake in Forehear|\n\s+at .*:\d+:\d+/);
      // An error is told, and in words that a terminal can show.
      if (status === 2 || status === 3) expect(`${stderr}${stdout}`, shown).not.toBe('');
      expect(stderr.replace(/[\n\t]/g, ''), shown).not.toMatch(/\p{Cc}/u);
      if (!args.includes('--write'))
        for (const [name, bytes] of before)
          expect(readFileSync(join(folder, name)).equals(bytes), `${name} after ${shown}`).toBe(
            true,
          );
    }),
    runs(60, 20_000),
  );
  for (const name of readdirSync(folder)) rmSync(join(folder, name), { recursive: true });
});
