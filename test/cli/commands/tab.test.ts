// `forehear tab`, as a person runs it: a MIDI file and a recording as drum tab, and what is refused.

import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { hits } from '../../measure/synthesis.ts';
import { forehear, scratch } from '../run.ts';

/** Kick and snare at 120 bpm: two lines of one bar of sixteenths. */
const BEAT = `modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [kick, snare], patterns: { beat: { kick: "x--- --x- x--- ----", snare: "---- x--- ---- x-x-" } } }
  low: { kind: oscillator, at-zero: 60 Hz }
  shape: { kind: envelope, attack: 1 ms, decay: 60 ms, mode: trigger }
  level: { kind: amplifier }
  out: { kind: output }
cables:
  - drums.kick -> shape.trigger
  - shape.out  -> level.control
  - low.sine   -> level.in
  - level.out  -> out.left
`;
const KICK = 'x--- --x- x--- ----';
const SNARE = '---- x--- ---- x-x-';

function folder(): string {
  const at = scratch();
  writeFileSync(join(at, 'beat.yaml'), BEAT);
  return at;
}

/** A line of tab without its spaces and bars, whatever its accents. */
const steps = (tab: string): string => tab.replace(/[^-xXg]/g, '').toLowerCase();

/** Noise struck at each of the times, s, over a floor at -74 dB, as a file of 16 bits. */
function struck(times: readonly number[], rate = 22_050): Uint8Array {
  const length = Math.round(((times.at(-1) ?? 1) + 1) * rate);
  const samples = hits(
    length / rate,
    rate,
    times.map((time) => ({ at: time, tau: 0.02, amplitude: 0.2, until: 0.16 })),
    0.0002,
  );
  const loud = times.length === 0 ? 0 : 32_767;
  const data = Buffer.alloc(2 * samples.length);
  for (const [n, one] of samples.entries())
    data.writeInt16LE(Math.round(loud * Math.max(-1, Math.min(1, one))), 2 * n);
  const head = Buffer.alloc(44);
  head.write('RIFF', 0);
  head.writeUInt32LE(36 + data.length, 4);
  head.write('WAVEfmt ', 8);
  head.writeUInt32LE(16, 16);
  head.writeUInt16LE(1, 20);
  head.writeUInt16LE(1, 22);
  head.writeUInt32LE(rate, 24);
  head.writeUInt32LE(2 * rate, 28);
  head.writeUInt16LE(2, 32);
  head.writeUInt16LE(16, 34);
  head.write('data', 36);
  head.writeUInt32LE(data.length, 40);
  return Buffer.concat([head, data]);
}

describe('tab', () => {
  it('prints the lines of a MIDI file as they were written', () => {
    const at = folder();
    forehear(at, ['timing', 'beat.yaml', '--midi', 'beat.mid']);
    const { status, stdout } = forehear(at, ['tab', 'beat.mid']);
    expect(status).toBe(0);
    expect(stdout).toContain('120 bpm');
    const lines = stdout.split('\n').filter((line) => /^\s*(kick|snare): *"/.test(line));
    expect(lines.map((line) => steps(/"(.*)"/.exec(line)?.[1] ?? ''))).toEqual([
      steps(KICK),
      steps(SNARE),
    ]);
    expect(readdirSync(at).sort()).toEqual(['beat.mid', 'beat.yaml']);
  });

  it('finds the hits of a recording on their steps, at a tempo that is given', () => {
    const at = folder();
    forehear(at, ['render', 'beat.yaml', '-o', 'beat.wav']);
    const { stdout } = forehear(at, ['tab', 'beat.wav', '--tempo', '120bpm']);
    expect(stdout.split('\n').map((line) => steps(/"(.*)"/.exec(line)?.[1] ?? ''))).toContain(
      steps(KICK),
    );
  });

  // The same onsets are crotchets of one tempo and quavers of half of it: no recording can tell.
  it('and a recording names half or double of its tempo where these are counted too', () => {
    const at = folder();
    const bar = [0, 2, 4, 6, 7, 8, 10, 12].map((step) => step * 0.15625);
    const times = [0, 1, 2].flatMap((k) => bar.map((time) => 0.3 + 2.5 * k + time));
    writeFileSync(join(at, 'eighths.wav'), struck(times));
    const { stderr } = forehear(at, ['tab', 'eighths.wav']);
    expect(stderr).toMatch(/counted at 48\.00 bpm or 192\.00 bpm, give that with --tempo\./);
    expect(forehear(at, ['tab', 'eighths.wav', '--tempo', '192']).stderr).not.toMatch(/counted at/);
  });

  // Three strokes a quarter at 120 bpm are six a second, and so are four at 90: by arithmetic, no recording can tell.
  it.each([
    [
      'equal steps',
      [0, 1, 2, 3, 4, 5],
      /in fours that is 90\.00 bpm, in threes 120\.00 bpm, or half or double of these\. .*--tempo 120\.00/,
      /90\.0 bpm \(or half or double, or as triplets 120\.0 bpm\)/,
    ],
    [
      'triplets with gaps',
      [0, 1, 2, 3, 4, 6, 8, 9],
      /90\.00 bpm is in doubt: 120\.00 bpm explains the hits about as well\. .*--tempo/,
      /90\.0 bpm \? \(or half or double, or as well 120\.0 bpm\)/,
    ],
  ])(
    'and measure name the other tempo of %s, and take the one that is given',
    (_, bar, said, measured) => {
      const at = folder();
      const length = bar.length === 6 ? 6 : 12;
      const times = [0, 1, 2, 3].flatMap((k) => bar.map((step) => 0.3 + (k * length + step) / 6));
      writeFileSync(join(at, 'threes.wav'), struck(times));
      const { stderr } = forehear(at, ['tab', 'threes.wav']);
      expect(stderr).toMatch(said);
      expect(forehear(at, ['measure', 'threes.wav']).stdout).toMatch(measured);
      const given = forehear(at, ['tab', 'threes.wav', '--tempo', '120']);
      expect(given.stdout).toContain('steps-per-quarter: 3');
      expect(given.stderr).not.toMatch(/in threes|in doubt/);
    },
  );

  it('and a recording that has no hits, or too low a rate for any, say what to do', () => {
    const at = folder();
    writeFileSync(join(at, 'silence.wav'), struck([], 8000));
    expect(forehear(at, ['tab', 'silence.wav']).stderr).toMatch(
      /no hits were found.*Silence.*Was the right input recorded/,
    );
    writeFileSync(join(at, 'one.wav'), struck([0.3], 8000));
    expect(forehear(at, ['tab', 'one.wav']).stderr).toContain('1 hit in it shows no tempo');
    writeFileSync(join(at, 'low.wav'), struck([0.3, 0.8, 1.3], 400));
    const { status, stderr } = forehear(at, ['tab', 'low.wav']);
    expect(status).toBe(2);
    expect(stderr).toMatch(/a sample rate from 1 kHz .* not 400 Hz/);
  });

  it('writes the tab into a patch, and nothing else of it', () => {
    const at = folder();
    forehear(at, ['timing', 'beat.yaml', '--midi', 'beat.mid']);
    const silent = BEAT.replace(KICK, '---- ---- ---- ----').replace(SNARE, '---- ---- ---- ----');
    writeFileSync(join(at, 'mine.yaml'), silent);
    const { status } = forehear(at, ['tab', 'beat.mid', '--into', 'mine.yaml']);
    expect(status).toBe(0);
    const after = readFileSync(join(at, 'mine.yaml'), 'utf8');
    expect(after.split('\n').slice(2)).toEqual(BEAT.split('\n').slice(2));
    // It is a pattern of its own.
    const { stdout } = forehear(at, [
      'timing',
      'mine.yaml',
      '--set',
      'drums.song=[bar-1]',
      '--csv',
    ]);
    expect(stdout).toBe(forehear(at, ['timing', 'beat.yaml', '--csv']).stdout);
  });

  it('refuses a place for the tab before it measures a recording', () => {
    const at = folder();
    writeFileSync(join(at, 'silence.wav'), struck([], 8000));
    const { status, stderr } = forehear(at, ['tab', 'silence.wav', '-o', 'beat.yaml']);
    expect({ status, stderr }).toMatchObject({
      status: 2,
      stderr: expect.stringMatching(/^beat\.yaml: this file exists/),
    });
  });

  it('refuses what is not MIDI, and leaves the patch alone', () => {
    const at = folder();
    writeFileSync(join(at, 'broken.mid'), 'MThx nothing');
    const { status, stderr } = forehear(at, ['tab', 'broken.mid', '--into', 'beat.yaml']);
    expect(stderr).toMatch(/^broken\.mid: this is not a MIDI file/);
    expect(status).not.toBe(0);
    expect(readFileSync(join(at, 'beat.yaml'), 'utf8')).toBe(BEAT);
  });
});
