// The fit command, run as built: the new file, the figures, stopping, and every way to ask wrongly.

import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { close } from '../../close.ts';
import { forehear, interruptedAtTerminal, PATCHES, scratch } from '../run.ts';

const FOLDER = scratch();
// A tom: a sine that decays, with the same beginning at every stroke. A quarter of the usual rate, since it has nothing up there.
const PATCH = `# keep this line
title: Tom
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [tom], patterns: { beat: { tom: "x--- x---" } }, song: [beat] }
  gate:  { kind: multiple, jacks: 3 }
  body:  { kind: oscillator, at-zero: 110 Hz }   # about an A
  shape: { kind: envelope, mode: trigger, attack: 1 ms, decay: 400 ms }
  level: { kind: amplifier, response: linear }
  out:   { kind: output }
cables:
  - drums.tom -> gate.in
  - gate.out-1 -> shape.trigger
  - gate.out-2 -> body.sync
  - shape.out -> level.control
  - body.sine -> level.in
  - level.out -> out.left
`;
const FIT = ['fit', 'tom.yaml', 'tom.wav', '--vary', 'shape.decay=50ms..2s', '--tries', '50'];

interface Data {
  settings: {
    setting: string;
    before: string;
    after: string;
    riseDb: number;
    decided: boolean;
  }[];
  distanceBefore: number;
  distanceAfter: number;
  file: string;
}

/** A 16-bit mono WAV, laid out by hand. Source: RIFF WAVE, format 1 (from memory). */
function wav(samples: ArrayLike<number>, rate: number): Buffer {
  const bytes = Buffer.alloc(44 + 2 * samples.length);
  bytes.write('RIFF', 0);
  bytes.writeUInt32LE(bytes.length - 8, 4);
  bytes.write('WAVEfmt ', 8);
  bytes.writeUInt32LE(16, 16);
  bytes.writeUInt16LE(1, 20);
  bytes.writeUInt16LE(1, 22);
  bytes.writeUInt32LE(rate, 24);
  bytes.writeUInt32LE(2 * rate, 28);
  bytes.writeUInt16LE(2, 32);
  bytes.writeUInt16LE(16, 34);
  bytes.write('data', 36);
  bytes.writeUInt32LE(2 * samples.length, 40);
  for (let n = 0; n < samples.length; n++)
    bytes.writeInt16LE(Math.round(32767 * (samples[n] as number)), 44 + 2 * n);
  return bytes;
}

beforeAll(() => {
  writeFileSync(join(FOLDER, 'tom.yaml'), PATCH);
  const { status } = forehear(FOLDER, [
    'render',
    'tom.yaml',
    '--set',
    'shape.decay=180ms',
    '--rate',
    '12000',
    '-o',
    'tom.wav',
    '--quiet',
  ]);
  expect(status).toBe(0);
});

describe('forehear fit', () => {
  it('writes the new patch beside the old, its comments kept, and tells the figures', () => {
    const { status, stdout, stderr } = forehear(FOLDER, [...FIT, '--json']);
    expect({ status, stderr }).toEqual({ status: 0, stderr: '' });
    const data: Data = JSON.parse(stdout);
    expect(data.file).toBe('tom-fitted.yaml');
    expect(data.settings).toHaveLength(1);
    const [decay] = data.settings as [Data['settings'][number]];
    expect(decay).toMatchObject({ setting: 'shape.decay', before: '400 ms', decided: true });
    // The decay that the recording was rendered with; 5 % as agreed for the command.
    close(Number.parseFloat(decay.after), 180, {
      rel: 0.05,
      unit: '',
      why: 'as agreed for the command',
    });
    expect(data.distanceAfter).toBeLessThan(data.distanceBefore / 5);
    expect(readFileSync(join(FOLDER, data.file), 'utf8')).toBe(
      PATCH.replace('decay: 400 ms', `decay: ${decay.after}`),
    );
    expect(readFileSync(join(FOLDER, 'tom.yaml'), 'utf8')).toBe(PATCH);

    // What was written is as near as was told, where the next fit starts.
    const again = forehear(FOLDER, [...FIT, '--json', '-o', 'again.yaml'].with(1, data.file));
    const { distanceBefore }: Data = JSON.parse(again.stdout);
    close(distanceBefore, data.distanceAfter, {
      abs: 0.02,
      unit: 'dB',
      why: 'settings are written to three digits',
    });

    const third = forehear(FOLDER, FIT);
    expect(third.status).toBe(2);
    expect(third.stderr).toMatch(/tom-fitted\.yaml: this file exists; it was left alone.*--force/);
    expect(forehear(FOLDER, [...FIT.with(6, '20'), '--force', '--quiet'])).toEqual({
      status: 0,
      stdout: '',
      stderr: '',
    });
  });

  it('shows a table, with what the recording does not decide', () => {
    const args = ['--vary', 'shape.release', '-o', 'table.yaml'];
    const { status, stdout } = forehear(FOLDER, [...FIT, ...args]);
    expect(status).toBe(0);
    expect(stdout).toMatch(/^setting +before +after +moved by 10 %, the distance rises by$/m);
    expect(stdout).toMatch(/^shape\.decay +400 ms +1[78]\d(\.\d+)? ms +0\.\d\d dB$/m);
    // A release goes on where a decay ends, 43 dB down: it is hardly heard.
    expect(stdout).toMatch(
      /^shape\.release +100 ms +100 ms +(undecided|anything from .* is as good)/m,
    );
    expect(stdout).toMatch(/differ by 0\.\d\d dB on average, \d+\.\d\d dB before/);
    expect(stdout.trimEnd().endsWith('table.yaml')).toBe(true);
  });

  it('changes the patch in place with --write, and says which settings it took', () => {
    writeFileSync(join(FOLDER, 'mine.yaml'), PATCH);
    const { status, stdout } = forehear(FOLDER, [
      ...['fit', 'mine.yaml', 'tom.wav', '--write', '--tries', '100'],
    ]);
    expect(status).toBe(0);
    expect(stdout).toMatch(/Varied, since --vary names none: the times, slopes, pitches, cutoffs/);
    const decay = /decay: ([\d.]+) ms/.exec(readFileSync(join(FOLDER, 'mine.yaml'), 'utf8'))?.[1];
    close(Number(decay), 180, { rel: 0.05, unit: '', why: 'as above' });
  });

  it('sets a part where it is used, and finds its file from another folder', () => {
    const folder = scratch();
    mkdirSync(join(folder, 'new'));
    const set = ['--set', 'kick.fall.decay=50ms', '--rate', '24000', '--quiet'];
    forehear(folder, ['render', join(PATCHES, 'kick.yaml'), ...set, '-o', 'kick.wav']);
    const { status } = forehear(folder, [
      ...['fit', join(PATCHES, 'kick.yaml'), 'kick.wav', '-o', 'new/kick.yaml', '--quiet'],
      ...['--vary', 'kick.fall.decay=20ms..400ms', '--tries', '40'],
    ]);
    expect(status).toBe(0);
    const text = readFileSync(join(folder, 'new/kick.yaml'), 'utf8');
    expect(text).toMatch(/set: \{ fall\.decay: (49|50|51)(\.\d+)? ms \}/);
    expect(forehear(folder, ['check', 'new/kick.yaml']).status).toBe(0);
  });

  it('leaves out what cannot matter, and adds no finding', () => {
    // In gate mode a long decay is cut off where the gate of 50 ms ends.
    const gated = PATCH.replace('mode: trigger', 'mode: gate')
      .replace('channels: [tom]', 'gate: 50 ms, channels: [tom]')
      .replace('decay: 400 ms', 'decay: 100 ms, release: 150 ms');
    writeFileSync(join(FOLDER, 'gated.yaml'), gated);
    const long = ['--set', 'shape.decay=600ms', '--rate', '12000', '-o', 'long.wav', '--quiet'];
    forehear(FOLDER, ['render', 'tom.yaml', ...long]);
    const asked = ['--vary', 'shape.decay=50ms..1s', '--tries', '50'];
    const { status, stdout } = forehear(FOLDER, ['fit', 'gated.yaml', 'long.wav', ...asked]);
    expect(status).toBe(0);
    expect(stdout.replace(/\s+/g, ' ')).toMatch(
      /shape\.decay 100 ms 100 ms kept as it was, see below .*shape\.decay stays at 100 ms\. With [\d.]+ m?s it would sound more alike, but "forehear check" would find: .*shape/,
    );
    const check = (file: string) => forehear(FOLDER, ['check', file, '--json']).stdout;
    const count = (file: string) => JSON.parse(check(file)).findings.length;
    expect(count('gated-fitted.yaml')).toBe(count('gated.yaml'));

    // The decay falls by 43 dB, and what the release does is under that.
    forehear(FOLDER, [
      ...['fit', 'tom.yaml', 'tom.wav', '-o', 'usual.yaml', '--tries', '100', '--quiet'],
    ]);
    expect(readFileSync(join(FOLDER, 'usual.yaml'), 'utf8')).not.toMatch(/release|sustain|curve/);
  });

  it('says so when the sound is out of reach', () => {
    const rate = 12_000;
    // High noise in bursts, which no low sine comes near.
    let seed = 1;
    const noise = Array.from({ length: rate }, (_, n) => {
      seed = (Math.imul(seed, 1664525) + 1013904223) | 0;
      const flip = n % 2 === 0 ? 1 : -1;
      return 0.5 * flip * (seed / 2 ** 31) * Math.exp(-((n % (rate / 2)) / rate) / 0.03);
    });
    writeFileSync(join(FOLDER, 'noise.wav'), wav(noise, rate));
    const { status, stdout } = forehear(FOLDER, [...FIT, '-o', 'far.yaml'].with(2, 'noise.wav'));
    expect(status).toBe(0);
    expect(stdout).toMatch(/the patch cannot make this sound/);
  });

  it('keeps the best so far at Ctrl-C', async () => {
    // So many samples, and so many settings, that it is still at it when the bar shows a render.
    const rate = ['--rate', '192000', '-o', 'fine.wav', '--quiet'];
    forehear(FOLDER, ['render', 'tom.yaml', ...rate, '--set', 'shape.decay=180ms']);
    const vary = ['shape.attack', 'body.at-zero', 'body.tune'].flatMap((one) => ['--vary', one]);
    const args = [...FIT.with(2, 'fine.wav').with(6, '100000'), ...vary, '-o', 'stopped.yaml'];
    const isAtIt = (shown: string): boolean => /[1-9]\d* of 100000/.test(shown);
    const { status, shown } = await interruptedAtTerminal(FOLDER, args, isAtIt);
    expect(status, shown).toBe(130);
    expect(shown).toMatch(/Stopped after \d+ renders?: the best so far is in stopped\.yaml/);
    expect(existsSync(join(FOLDER, 'stopped.yaml'))).toBe(true);
  });
});

describe('a wrong request', () => {
  const NEVER = [...FIT, '-o', 'never.yaml'];
  const refused = (args: readonly string[], input?: string) => {
    const { status, stdout, stderr } = forehear(FOLDER, args, input);
    expect({ status, stdout }).toEqual({ status: 2, stdout: '' });
    expect(existsSync(join(FOLDER, 'never.yaml'))).toBe(false);
    return expect(stderr);
  };

  beforeAll(() => {
    writeFileSync(join(FOLDER, 'silent.wav'), wav(new Float64Array(24_000), 24_000));
    writeFileSync(join(FOLDER, 'slow.wav'), wav(new Float64Array(4000), 4000));
    writeFileSync(join(FOLDER, 'text.wav'), 'no sound at all');
    writeFileSync(join(FOLDER, 'dumb.yaml'), 'modules: { hiss: { kind: noise } }\n');
    writeFileSync(join(FOLDER, 'still.yaml'), PATCH.replace('  - drums.tom -> gate.in\n', ''));
  });

  it.each([
    [
      'a recording that is not there',
      NEVER.with(2, 'none.wav'),
      /none\.wav: there is no such file/,
    ],
    ['a folder', NEVER.with(2, '.'), /a folder; a WAV file was expected/],
    ['what is no WAV', NEVER.with(2, 'text.wav'), /text\.wav: /],
    ['a silent recording', NEVER.with(2, 'silent.wav'), /silent\.wav: it is silent/],
    ['a rate that nothing is rendered at', NEVER.with(2, 'slow.wav'), /4000 Hz.*Convert/],
    ['a patch that is not there', NEVER.with(1, 'none.yaml'), /none\.yaml: there is no such file/],
    ['a patch without an output', NEVER.with(1, 'dumb.yaml'), /no output module/],
    ['a patch that makes no hit', NEVER.with(1, 'still.yaml'), /still\.yaml: .*no hit to compare/],
    ['a setting that is no number', NEVER.with(4, 'shape.mode'), /not a single number/],
    ['a range outside the setting', NEVER.with(4, 'shape.decay=1ms..90s'), /from 0 s to 60 s/],
    ['too few tries', NEVER.with(6, '3'), /--tries 3: .* at least 20/],
    ['no such channel', [...NEVER, '--channel', 'snare'], /--channel snare: .*tom/],
    ['two places', [...NEVER, '--write'], /cannot be used with/],
    ['no folder', [...FIT, '-o', 'none/never.yaml'], /its folder does not exist/],
  ])('is refused: %s', (_, args, message) => {
    refused(args).toMatch(message);
  });

  it('is refused: standard input with nowhere to write', () => {
    refused(FIT.with(1, '-'), PATCH).toMatch(/-o is needed/);
    refused([...FIT, '--write'].with(1, '-'), PATCH).toMatch(/--write has no file/);
  });
});
