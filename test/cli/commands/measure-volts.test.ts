// `measure --as-volts`, run as built: on files that `timing --wav` writes, whose volts and times follow from the patch.

import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { close } from '../../close.ts';
import { forehear, PATCHES, scratch } from '../run.ts';

const BASS = join(PATCHES, 'bass-line.yaml');

describe('forehear measure --as-volts', () => {
  let folder: string;
  beforeAll(() => {
    folder = scratch();
    const volts = ['timing', BASS, '--wav', 'c.wav', '--jacks', 'drums.clock,drums.kick'];
    expect(forehear(folder, [...volts, '--full-scale', '12V']).status).toBe(0);
    expect(forehear(folder, ['render', BASS, '-o', 'sound.wav']).status).toBe(0);
    expect(existsSync(join(folder, 'sound.wav'))).toBe(true);
  });

  it('reads the clock that the patch sends, and lines it up with the plan', () => {
    const args = ['measure', 'c.wav', '--as-volts', '12V', '--channel', '1', '--tempo', '104'];
    const { status, stdout } = forehear(folder, [...args, '--against', BASS, '--json']);
    expect(status).toBe(0);
    const [clock] = JSON.parse(stdout).channels;
    expect(clock).toMatchObject({ channel: 1, isDcCoupled: true, cornerHz: null });
    close(clock.highVolts, 5, { rel: 0.01, unit: 'V', why: 'promised: 1 %' });
    close(clock.clock.pulsesPerQuarter, 2, {
      rel: 1e-3,
      unit: 'a quarter',
      why: 'promised: 0.1 %',
    });
    for (const { lateSeconds } of clock.against.pulses)
      close(lateSeconds, 0, {
        abs: 1.2e-5,
        unit: 's',
        why: 'edges lie on samples there, half a sample off at most: 10.4 us at 48 kHz',
      });
    expect(clock.against.extra).toEqual([]);
  });

  it('says so in words, one channel after another', () => {
    const { status, stdout } = forehear(folder, ['measure', 'c.wav', '--as-volts', '12V']);
    expect(status).toBe(0);
    expect(stdout).toMatch(/^c\.wav, 12 V at full scale/);
    expect(stdout).toMatch(/channel 1\n {2}low 0\.0 mV, high 5\.000 V, swing 5\.000 V/);
    expect(stdout).toMatch(/jitter .* rms/);
    const against = ['--against', BASS, '--jack', 'drums.kick'];
    const kick = forehear(folder, ['measure', 'c.wav', '--as-volts', '12V', ...against]).stdout;
    expect(kick).toMatch(/channel 2[\s\S]*beside drums\.kick of .*: it begins .* drift/);
  });

  it('draws the pulses and the histogram of periods, with the thresholds of the plan', () => {
    const rack = 'units:\n  seq: { kind: rhythm }\n';
    writeFileSync(join(folder, 'rack.yaml'), rack);
    const one = ['measure', 'c.wav', '--as-volts', '12V', '--channel', '1', '--svg'];
    const drawn = forehear(folder, [...one, 'c.svg', '--against', BASS]);
    expect(drawn.stdout).toMatch(/\n\nc\.svg\n$/);
    const svg = readFileSync(join(folder, 'c.svg'), 'utf8');
    expect(svg).toMatch(/^<svg /);
    expect(svg).toContain('>fires above 2.5 V<');
    const into = ['--into', 'rack.yaml', '--jack', 'seq.clock', '--json'];
    const both = forehear(folder, [...one, 'both.svg', ...into]);
    expect(JSON.parse(both.stdout)).toMatchObject({ svg: 'both.svg', into: { jack: 'clock' } });
    expect(readFileSync(join(folder, 'rack.yaml'), 'utf8')).toContain('high: 5 V');
    const out = forehear(folder, [...one, '-']);
    // Behind the picture stands the mark by which a later run knows the file.
    expect(out.stdout).toMatch(/^<svg [\s\S]*<\/svg>\s*<!-- Made by Forehear \w+ -->\n$/);
    expect(out.stderr).toMatch(/^c\.wav, 12 V/);
  });

  it.each([
    [['c.wav', 'c.wav', '--as-volts', '12V', '--svg', 'n.svg'], /draws one recording/],
    [['c.wav', '--as-volts', '12V', '--svg', '-', '--json'], /takes one thing/],
    [['c.wav', '--as-volts', '12V', '--svg', 'c.wav'], /an SVG file, whose name ends in \.svg/],
    [['c.wav', '--as-volts', '12V', '--svg', join('no', 'n.svg')], /its folder does not exist/],
    [['sound.wav', '--as-volts', '10V', '--svg', 'n.svg'], /no gate or clock|is a wave/],
    [
      [
        ...['c.wav', '--as-volts', '12V', '--channel', '1', '--svg', 'n'],
        ...['--into', 'n', '--jack', 'seq.clock'],
      ],
      /this is the same file as --svg n/,
    ],
    [
      ['sound.wav', '--as-volts', '10V'],
      /there is no gate or clock in it|this is a wave, not a gate/,
    ],
    [['c.wav', '--as-volts', '12V', '--channel', '3'], /it has 2 channels, counted from 1/],
    [['c.wav', '--tempo', '92'], /--tempo goes with --as-volts/],
    [['c.wav', '--as-volts', '0V'], /--as-volts 0V: a voltage such as 10 V/],
    [['c.wav', '--as-volts', '12V', '--jack', 'drums.clock'], /give that with --against/],
    [
      ['c.wav', '--as-volts', '12V', '--against', BASS, '--jack', 'walk.pitch'],
      /a gate or the clock of a rhythm sequencer was expected/,
    ],
    [['none.wav', '--as-volts', '10V'], /there is no such file/],
  ])('%j is refused, and nothing written', (args, message) => {
    const before = readdirSync(folder);
    const { status, stderr } = forehear(folder, ['measure', ...args]);
    expect(status).toBe(2);
    expect(stderr).toMatch(message);
    expect(readdirSync(folder)).toEqual(before);
  });
});
