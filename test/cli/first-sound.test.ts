/**
 * What a newcomer hears first: `npm start`, what `forehear new` writes, and the README's listing.
 *
 * The ranges are common practice, no source: a closed hat between 4 and 14 kHz, heard beside other
 * sounds, gone before the next stroke, and its accents plain. Measured by src/measure, and where that
 * could be wrong in the patch's favour by the test's own arithmetic.
 */

import { spawnSync } from 'node:child_process';
import { accessSync, constants, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { check } from '../../src/findings/check.ts';
import { OverallMeter } from '../../src/measure/overall.ts';
import type { Patch } from '../../src/patch/patch.ts';
import { patchFrom, shipped } from '../patch-of.ts';
import { db, peakOf, played, RATE } from '../patches/listen.ts';
import { BIN, forehear, scratch } from './run.ts';

const ROOT = fileURLToPath(new URL('../../', import.meta.url));

/** What the built command writes. */
function started(): string {
  const folder = scratch();
  forehear(folder, ['new', 'my-hat']);
  return readFileSync(join(folder, 'my-hat.yaml'), 'utf8');
}

/** The README's blocks of code in a language. */
function blocks(language: string): readonly string[] {
  const fenced = readFileSync(join(ROOT, 'README.md'), 'utf8').split(/^```/m);
  return fenced
    .filter((text, index) => index % 2 === 1 && text.startsWith(`${language}\n`))
    .map((text) => text.slice(language.length + 1));
}

const listing = blocks('yaml')[0] as string;

const FIRST = [
  ['npm start', shipped('closed-hat.yaml')],
  ['forehear new', started()],
  ['the README', listing],
] as const;

/** The same patch with another pattern. */
function playing(text: string, tab: string, seconds?: number): Float64Array {
  const patch = patchFrom(
    text.replace(/groove: \{ hat: "[^"]*" \}/, `groove: { hat: "${tab}" }`).replace(/\?/g, ''),
  );
  return (played(patch, seconds) as [Float64Array])[0];
}

/** One stroke, and nothing after it for a second. */
const stroke = (text: string, hit: string): Float64Array =>
  playing(text, `${hit}---------------`, 1);

function energy(samples: Float64Array): number {
  return samples.reduce((sum, value) => sum + value ** 2, 0);
}

/** Power in each bin up to half the rate, by the definition of the discrete Fourier transform. */
function transformed(samples: Float64Array): { power: Float64Array; spacing: number } {
  const size = samples.length;
  const cosine = new Float64Array(size).map((_, k) => Math.cos((2 * Math.PI * k) / size));
  const power = new Float64Array(size / 2 + 1).map((_, bin) => {
    let re = 0;
    let im = 0;
    for (let n = 0; n < size; n++) {
      const turn = (bin * n) % size;
      re += (samples[n] as number) * (cosine[turn] as number);
      im += (samples[n] as number) * (cosine[(turn + (3 * size) / 4) % size] as number);
    }
    return re * re + im * im;
  });
  return { power, spacing: RATE / size };
}

/** s after which no window of 2 ms is as loud as so many dB under the loudest. */
function fallen(samples: Float64Array, decibels: number): number {
  const window = 0.002 * RATE;
  const levels = Array.from({ length: Math.floor(samples.length / window) }, (_, index) =>
    energy(samples.subarray(index * window, (index + 1) * window)),
  );
  const loudest = levels.reduce((most, level) => Math.max(most, level), 0);
  const last = levels.findLastIndex((level) => level > loudest * 10 ** (-decibels / 10));
  return ((last + 1) * window) / RATE;
}

function measured(patch: Patch): { centroid: number; loudness: number; peak: number } {
  const channels = played(patch);
  const meter = new OverallMeter(RATE, channels.length);
  meter.add({ channels, frames: (channels[0] as Float64Array).length });
  const { centroidHz, loudnessLufs } = meter.finish();
  return {
    centroid: centroidHz as number,
    loudness: loudnessLufs as number,
    peak: db(Math.max(...channels.map(peakOf))),
  };
}

describe.each(FIRST)('the first sound of %s', (_, text) => {
  const { centroid, loudness, peak } = measured(patchFrom(text));

  it('is loud enough to be heard, and nothing is cut off', () => {
    // 23 LUFS under full scale is what broadcasters play at: EBU R 128. 1 LU is theirs too, where a
    // programme cannot be aimed exactly.
    expect(loudness).toBeGreaterThan(-24);
    expect(loudness).toBeLessThan(-18);
    expect(peak).toBeLessThan(0);
  });

  it('has its weight between 8 and 11 kHz, by the meter and by a transform written out', () => {
    expect(centroid).toBeGreaterThan(8000);
    expect(centroid).toBeLessThan(11_000);
    // 4096 samples are 85 ms: the stroke down to 30 dB and more.
    const { power, spacing } = transformed(stroke(text, 'x').subarray(0, 4096));
    const all = power.reduce((sum, value) => sum + value, 0);
    const share = (low: number, high: number): number =>
      power.reduce((sum, value, bin) => {
        const hertz = bin * spacing;
        return hertz >= low && hertz < high ? sum + value : sum;
      }, 0) / all;
    const own = power.reduce((sum, value, bin) => sum + value * bin * spacing, 0) / all;
    expect(own).toBeGreaterThan(8000);
    expect(own).toBeLessThan(11_000);
    // Some between 4 and 8 kHz, and nothing much above 14 kHz: a fifth at least, a twentieth at most.
    expect(share(4000, 8000)).toBeGreaterThan(0.2);
    expect(share(14_000, 24_001)).toBeLessThan(0.05);
  });

  it('is 40 dB down within 110 ms, and then goes on falling', () => {
    for (const hit of ['x', 'X']) {
      expect(fallen(stroke(text, hit), 40)).toBeLessThan(0.11);
      // No plateau of hiss: what falls 40 dB in 110 ms falls 60 in 165 at that pace.
      expect(fallen(stroke(text, hit), 60)).toBeLessThan(0.165);
    }
  });

  it('has accents that are heard: 4 dB and more, and less than would be another sound', () => {
    const louder = 10 * Math.log10(energy(stroke(text, 'X')) / energy(stroke(text, 'x')));
    expect(louder).toBeGreaterThan(4);
    expect(louder).toBeLessThan(8);
    const line = (hit: string): number => energy(playing(text, `${hit}---`.repeat(4)));
    expect(10 * Math.log10(line('X') / line('x'))).toBeGreaterThan(4);
  });

  it('gives nothing to find', () => {
    expect(check(patchFrom(text))).toEqual([]);
  });
});

describe('the README', () => {
  it('lists what `new` writes, without comments and empty lines', () => {
    const lines = started().split('\n');
    const bare = lines.filter((line) => line !== '' && !/^ *#/.test(line));
    expect(listing).toBe(`${bare.join('\n')}\n`);
  });

  it('shows a mistake as it is shown', () => {
    const folder = scratch();
    const wrong = started().replace('cutoff: 7 kHz', 'cutoff: 7000');
    const { stderr } = forehear(folder, ['check', '-'], wrong);
    const shown = blocks('').find((block) => block.startsWith('my-hat.yaml:')) as string;
    expect(stderr.split('\n').slice(1, 4)).toEqual(shown.split('\n').slice(1, 4));
    expect(stderr).toContain((shown.split('\n')[0] as string).replace('my-hat.yaml', ''));
  });
});

describe('npm start', () => {
  const { scripts } = JSON.parse(readFileSync(join(ROOT, 'package.json'), 'utf8'));

  it('ends with what to do next, in commands that work', () => {
    const steps = (scripts.start as string).split(' && ');
    expect(steps.at(-2)).toBe('node dist/bin/forehear.cjs render patches/closed-hat.yaml');
    const last = (steps.at(-1) as string).split(' ').slice(1);
    const { stdout } = spawnSync(process.execPath, last, { cwd: ROOT, encoding: 'utf8' });
    // In a clone npx runs the built file itself.
    expect(() => accessSync(BIN, constants.X_OK)).not.toThrow();
    const commands = [...stdout.matchAll(/npx forehear (.*)$/gm)].map(
      ([, words]) => words as string,
    );
    expect(commands.map((words) => words.split(' ')[0])).toEqual(['listen', 'render', 'new']);
    for (const words of commands) {
      // With --help nothing is served or written, and with a slip in its name or options it ends with 2.
      const { status } = spawnSync(process.execPath, [BIN, ...words.split(' '), '--help'], {
        cwd: ROOT,
      });
      expect(status, words).toBe(0);
    }
    // The setting that it moves is there, and is heard.
    const [, setting] = /--set (\S+)/.exec(stdout) as unknown as [string, string];
    const folder = scratch();
    const render = (...more: string[]): string =>
      forehear(folder, ['render', join(ROOT, 'patches/closed-hat.yaml'), '--json', ...more]).stdout;
    const loudness = (text: string): number => JSON.parse(text).files[0].loudnessLufs;
    expect(loudness(render('--set', setting))).toBeGreaterThan(loudness(render()) + 2);
  });
});
