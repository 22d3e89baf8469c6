// The clock command, run as built, against test/reference/tempo.json and arithmetic by hand.

import { describe, expect, it } from 'vitest';
import { close } from '../../close.ts';
import { expected, reference } from '../../reference.ts';
import { forehear, scratch } from '../run.ts';

interface Answer {
  readonly tempo: number;
  readonly divider?: number;
  readonly swingSeconds?: number;
  readonly spreadSeconds?: number;
  readonly rows: readonly {
    readonly perQuarter: number;
    readonly note: string | null;
    readonly seconds: number;
    readonly hertz: number;
  }[];
}

const clock = (args: readonly string[], input = '') =>
  forehear(scratch(), ['clock', ...args], input);

function answer(...args: string[]): Answer {
  const { status, stdout } = clock([...args, '--json']);
  expect(status).toBe(0);
  return JSON.parse(stdout);
}

const exact = { rel: 1e-9, unit: 's', why: 'doubles in a few operations' };

describe('forehear clock', () => {
  it.each(['S-tempo-01', 'S-tempo-02', 'S-tempo-04'])('gives the lengths of notes: %s', (id) => {
    const entry = reference('tempo', id);
    const { rows } = answer('--tempo', String(entry.inputs.bpm));
    let found = 0;
    for (const note of Object.keys(entry.expected)) {
      const row = rows.find((one) => one.note === note);
      if (row === undefined) continue;
      close(row.seconds, expected(entry, note) / 1000, exact);
      close(row.hertz * row.seconds, 1, exact);
      found += 1;
    }
    expect(found).toBe(7);
  });

  it.each(['S-tempo-05', 'S-tempo-07'])('gives the periods of clocks: %s', (id) => {
    const entry = reference('tempo', id);
    for (const [rate, ms] of Object.entries(entry.expected)) {
      const { rows } = answer(
        '--tempo',
        String(entry.inputs.bpm),
        '--clock',
        `${rate} per quarter`,
      );
      expect(rows[0]?.perQuarter).toBe(Number(rate));
      close(rows[0]?.seconds ?? 0, ms / 1000, exact);
    }
  });

  it('gives how late swung steps are: S-tempo-10', () => {
    const entry = reference('tempo', 'S-tempo-10');
    for (const swing of ['50%', '54%', '58%']) {
      const { swingSeconds } = answer('--tempo', '90', '--swing', swing);
      close(swingSeconds, expected(entry, swing) / 1000, {
        abs: 5e-10,
        unit: 's',
        why: 'rounding',
      });
    }
  });

  // Divider = clocks a quarter x quarters of the note.
  it.each([
    ['24 per quarter', '1/8', 12],
    ['24 per quarter', '1/8.', 18],
    ['24 per quarter', '1/16T', 4],
    ['2 per quarter', '1/8', 1],
    ['1 per step', '1/4', 4],
    ['2 per quarter', '1/16', 0.5],
  ])('from %s to %s divides by %d', (rate, note, divider) => {
    expect(answer('--clock', rate, '--want', note).divider).toBe(divider);
  });

  it.each([
    [['--clock', '24 per quarter', '--want', '1/8'], /From 24 per quarter: divide by 12\./],
    [['--clock', '24 per quarter'], /1\/64T, .*the rate of MIDI clock/],
    [
      ['--clock', '2 per quarter', '--want', '1/16'],
      /multiply by 2, or set the clock to 4 per quarter/,
    ],
    [
      ['--clock', '2 per quarter', '--want', '1/8T'],
      /no divider gives it\. Set the clock to 3 per quarter/,
    ],
    [
      ['--want', '1/8.'],
      /Set the clock to 4 per quarter and divide it by 3\.\nFrom MIDI clock, 24 per quarter: divide by 18/,
    ],
    [['--tempo', '92'], /\n1\/8 +326\.09 ms +3\.07 Hz +489\.13 ms/],
    [
      ['--tempo', '90', '--steps', '2', '--swing', '66.667'],
      /Swing 66\.667 % on 1\/8: off-steps 111\.113 ms late/,
    ],
  ])('%j is answered in words', (args, words) => {
    const { status, stdout, stderr } = clock(args);
    expect({ status, stderr }).toEqual({ status: 0, stderr: '' });
    expect(stdout).toMatch(words);
  });

  it('fits envelopes: 60 dB down after a quarter at 120 bpm', () => {
    // exp(-0.5 / tau) = 1 / 1000, and a decay is five time constants.
    const decay = (5 * 0.5 * 1000) / Math.log(1000);
    expect(clock(['--tempo', '120']).stdout).toContain(`${decay.toFixed(2)} ms`);
  });

  it('takes taps from a pipe: times, or lines as they come', () => {
    const { status, stdout } = clock(['--tap', '--json'], '10\n10.5\n11\n12\n12.5\n');
    expect(status).toBe(0);
    const { tempo, spreadSeconds } = JSON.parse(stdout) as Answer;
    close(tempo, 120, { abs: 5e-10, unit: 'bpm', why: 'rounding' });
    expect(spreadSeconds).toBeLessThan(1e-9);
    expect(clock(['--tap'], '0\n0.52\n0.98\n1.5\n').stdout).toMatch(
      /^Tapped: 1\d\d\.\d bpm, 4 taps, \d+ ms either way\./,
    );
  });

  it.each([
    [['--tempo', '1e-9'], /a tempo such as 92 bpm, from 1 bpm to 999 bpm/],
    [['--tempo', '0'], /from 1 bpm/],
    [['--want', '1/0'], /a note value was expected/],
    [['--clock', '3'], /is not a rate/],
    [['--clock', '97 per quarter'], /is out of range/],
    [['--swing', '40'], /from 50 % to 75 %/],
    [['--tap'], /at least two taps/],
  ])('%j is refused', (args, message) => {
    const { status, stdout, stderr } = clock(args);
    expect({ status, stdout }).toEqual({ status: 2, stdout: '' });
    expect(stderr).toMatch(message);
  });

  it('refuses taps that go back in time', () => {
    const { status, stderr } = clock(['--tap'], '2\n1\n');
    expect(status).toBe(2);
    expect(stderr).toMatch(/1 comes before the tap at 2 s/);
  });
});

describe('forehear clock --tap', () => {
  const tap = (input: string) => forehear(scratch(), ['clock', '--tap', '--json'], input);

  it('reads the times of taps, with units or in seconds', () => {
    // A beat of half a second is 120 a minute.
    expect(JSON.parse(tap('0\n500ms\n1\n1.5 s\n').stdout)).toMatchObject({ tempo: 120, taps: 4 });
  });

  it.each([
    ['too fast', '0\n1ms\n2ms\n', 'which is not a tempo'],
    ['too slow', '0\n100\n200\n', 'which is not a tempo'],
    ['at one time', '1\n1\n1\n', 'at different times'],
    ['one alone', '1\n', 'at least two taps'],
    ['uneven', '0\n1\n2.5\n3.4\n4.5\n6\n6.5\n7.4\n9\n10.4\n', 'too uneven'],
    ['no times', 'kick\nsnare\n', '--tap kick'],
  ])('refuses taps that are %s', (_what, input, message) => {
    const { status, stderr } = tap(input);
    expect({ status, stderr }).toMatchObject({ status: 2 });
    expect(stderr).toContain(message);
  });
});
