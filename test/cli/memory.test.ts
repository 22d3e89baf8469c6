// The memory of a command does not grow with the requested length, or the request is refused with
// the number. The peak is the process's own account (getrusage: ru_maxrss, POSIX).

import { spawnSync } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { BIN, forehear, PATCHES, scratch } from './run.ts';

/** Runs a command. @returns the most memory that it had, MB. */
function peakOf(cwd: string, args: readonly string[]): number {
  const probe = join(cwd, 'probe.cjs');
  writeFileSync(
    probe,
    "process.on('exit', () => console.error('peak', process.resourceUsage().maxRSS / 1024));",
  );
  const all = ['--require', probe, BIN, ...args];
  const { status, stderr } = spawnSync(process.execPath, all, { cwd, encoding: 'utf8' });
  expect(status, stderr).toBe(0);
  return Number(/^peak ([\d.]+)$/m.exec(stderr)?.[1]);
}

const KIT = join(PATCHES, 'kit-of-eight.yaml');

describe('memory', () => {
  it('holds ten hours of MIDI as bytes: 4 MB of them took 730 MB as numbers', () => {
    const peak = peakOf(scratch(), [
      'timing',
      KIT,
      '--seconds',
      '36000',
      '--midi',
      'x.mid',
      '--quiet',
    ]);
    // Node with the command loaded takes about 70 MB, garbage that is not yet collected as much again.
    expect(peak).toBeLessThan(350);
  });

  it('refuses a lesson that it has no room for, with the number', () => {
    const args = ['lesson', KIT, '--bars', '64', '--rate', '192000', '--set', 'drums.tempo=20bpm'];
    const { status, stderr } = forehear(scratch(), args);
    expect(status).toBe(2);
    expect(stderr).toMatch(
      /64 bars of this patch are \d+ s, and a lesson at 192000 Hz has room for 87 s/,
    );
  });

  it.each([
    ['render', []],
    ['compare', ['--vary', 'shape.release=60ms,200ms']],
  ])('says what %s lacks where addresses are limited, and what to do', (command, more) => {
    // kB: room for Node and its threads, but not for what V8 reserves beside a WebAssembly memory.
    const limited = ['-c', 'ulimit -v 8000000; exec "$@"', 'sh', process.execPath, BIN];
    const args = [command, join(PATCHES, 'closed-hat.yaml'), '--seconds', '1', ...more];
    const cwd = scratch();
    const { status, stderr } = spawnSync('sh', [...limited, ...args], { cwd, encoding: 'utf8' });
    expect(stderr).toMatch(/^Forehear has no room to render: .*ulimit -v unlimited/m);
    expect(stderr).not.toMatch(/mistake/);
    expect(status).toBe(3);
  });

  it('starts no more workers than there are cores', () => {
    const args = [
      'compare',
      join(PATCHES, 'closed-hat.yaml'),
      '--vary',
      'shape.release=60ms,200ms',
    ];
    const peak = peakOf(scratch(), [...args, '--seconds', '1', '--jobs', '64', '--quiet']);
    // A worker takes some 40 MB: 64 of them 2.5 GB.
    expect(peak).toBeLessThan(1500);
  });
});
