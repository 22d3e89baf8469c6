// `forehear tab`, as a person runs it: a MIDI file and a recording as drum tab, and what is refused.

import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
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

  it('refuses what is not MIDI, with its place, and leaves the patch alone', () => {
    const at = folder();
    writeFileSync(join(at, 'broken.mid'), 'MThx nothing');
    const { status, stderr } = forehear(at, ['tab', 'broken.mid', '--into', 'beat.yaml']);
    expect(stderr).toMatch(/^broken\.mid: byte 0: /);
    expect(status).not.toBe(0);
    expect(readFileSync(join(at, 'beat.yaml'), 'utf8')).toBe(BEAT);
  });
});
