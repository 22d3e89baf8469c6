// The compare command, run as built: files, figures, workers, stopping, and every way to ask wrongly.

import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import wavefile, { type WaveFile } from 'wavefile';
import { close } from '../../close.ts';
import { forehear, interruptedAtTerminal, PATCHES, scratch } from '../run.ts';

const HAT = join(PATCHES, 'closed-hat.yaml');
const KICK = join(PATCHES, 'kick.yaml');
/** No figure of these tests needs what is above: a third of the samples. */
const LOW = ['--rate', '16000'];
/** A second thread takes time to start; that it changes nothing is a test of its own. */
const ONE = ['--jobs', '1'];
const VARY = ['--vary', 'shape.release=60ms,400ms', '--vary', 'bright.q=0.7,3'];

interface Data {
  targetLufs: number;
  ceilingDbtp: number;
  variants: {
    name: string;
    settings: Record<string, string>;
    file: string;
    gainDb: number;
    measures: { loudnessLufs: number; truePeakDbtp: number; seconds: number };
  }[];
  pairs?: { a: string; b: string; differenceDb: number | null }[];
  page: string;
  chart: string;
}

/** LUFS, as `measure` has it. */
function loudnessOf(folder: string, file: string): number {
  const { stdout } = forehear(folder, ['measure', file, '--json']);
  return (JSON.parse(stdout) as { loudnessLufs: number }).loudnessLufs;
}

describe('forehear compare', () => {
  it('warns of a steady voltage in a recording, which raising it would raise', () => {
    const folder = scratch();
    // A tenth of full scale all along: silence to the ear, but for its first sample.
    const made = new wavefile.WaveFile();
    made.fromScratch(1, 48_000, '16', new Int16Array(48_000).fill(3277));
    writeFileSync(join(folder, 'steady.wav'), made.toBuffer());
    const warned = forehear(folder, [
      'compare',
      HAT,
      'steady.wav',
      '--seconds',
      '0.5',
      ...ONE,
      '-o',
      'pair',
    ]);
    expect(warned.status).toBe(0);
    const words = /Beware: steady holds a steady voltage, up to (\d+) % of full scale/;
    // -1 dBTP is 89 % of full scale; the true peak of its first step is up to 2 dB over the rest.
    expect(Number(words.exec(warned.stdout)?.[1])).toBeGreaterThan(70);
    expect(readFileSync(join(folder, 'pair', 'compare.html'), 'utf8')).toMatch(words);
  });

  it('writes a clip for each variant, a chart and a page, and tells the figures', () => {
    const folder = scratch();
    const args = ['compare', HAT, ...VARY, '--bars', '1', ...LOW, '--pairs', '--json'];
    const { status, stdout, stderr } = forehear(folder, args);
    expect({ status, stderr }).toEqual({ status: 0, stderr: '' });
    const data: Data = JSON.parse(stdout);
    expect(data.variants.map(({ settings }) => Object.values(settings))).toEqual([
      ['60 ms', '0.7'],
      ['60 ms', '3'],
      ['400 ms', '0.7'],
      ['400 ms', '3'],
    ]);
    for (const { file, measures } of data.variants) {
      expect(existsSync(join(folder, file))).toBe(true);
      close(measures.loudnessLufs, data.targetLufs, {
        abs: 0.05,
        unit: 'LU',
        why: '24 bits, and the mended gain',
      });
      expect(measures.truePeakDbtp).toBeLessThanOrEqual(data.ceilingDbtp + 0.05);
      close(measures.seconds, (4 * 60) / 92, {
        abs: 1e-4,
        unit: 's',
        why: 'whole samples, and one bar of four quarters at 92 bpm',
      });
    }
    // 4 over 2.
    expect(data.pairs).toHaveLength(6);
    expect(data.page).toBe('renders/closed-hat-compare/compare.html');
    const page = readFileSync(join(folder, data.page), 'utf8');
    for (const { name } of data.variants) expect(page).toContain(name);
    expect(readFileSync(join(folder, data.chart), 'utf8')).toMatch(/^<svg /);
  });

  it('compares several patches, each clip that of its patch alone', () => {
    const folder = scratch();
    const args = ['compare', HAT, KICK, '--bars', '1', ...LOW, ...ONE, '--json'];
    const { status, stdout, stderr } = forehear(folder, args);
    expect({ status, stderr }).toEqual({ status: 0, stderr: '' });
    const data: Data = JSON.parse(stdout);
    expect(data.variants.map(({ name, settings }) => [name, settings])).toEqual([
      ['closed-hat', {}],
      ['kick', {}],
    ]);
    expect(data.page).toBe('renders/closed-hat-kick-compare/compare.html');
    for (const [index, file] of [HAT, KICK].entries()) {
      forehear(folder, [
        'render',
        file,
        '--bars',
        '1',
        '--loop',
        ...LOW,
        '--depth',
        '32f',
        '-o',
        'own.wav',
      ]);
      const own = loudnessOf(folder, 'own.wav');
      const { gainDb, file: clip } = data.variants[index] as Data['variants'][number];
      // The clip is the patch's own render, louder by its gain: 0.05 LU for 24 bits and the mended gain.
      close(loudnessOf(folder, clip) - own, gainDb, {
        abs: 0.05,
        unit: 'LU',
        why: '24 bits, and the mended gain',
      });
    }
  });

  it('says what each recording suffers from', () => {
    const folder = scratch();
    // The faults by their definitions: flat tops, hum of 50 Hz, a slow wave, one channel inverted, each of 2 s.
    const rate = 16_000;
    const hit = Float64Array.from({ length: 2 * rate }, (_, n) => {
      const t = n / rate - 0.3;
      return t < 0 ? 0 : 0.5 * Math.sin(2 * Math.PI * 220 * t) * Math.exp(-t / 0.1);
    });
    const sine = (hz: number, peak: number) =>
      hit.map((x, n) => x + peak * Math.sin((2 * Math.PI * hz * n) / rate));
    const faulty = {
      clipped: [hit.map((x) => Math.max(-0.2, Math.min(0.2, x)))],
      hum: [sine(50, 0.02)],
      drift: [sine(0.4, 0.15)],
      turned: [hit, hit.map((x) => -x)],
      rest: [hit.subarray(0.3123 * rate)],
      clean: [hit],
      faint: [hit.map((x) => 4e-4 * x)],
    };
    for (const [name, channels] of Object.entries(faulty)) {
      const made = new wavefile.WaveFile();
      const codes = channels.map((one) => Int16Array.from(one, (x) => Math.round(32_767 * x)));
      made.fromScratch(codes.length, rate, '16', codes);
      writeFileSync(join(folder, `${name}.wav`), made.toBuffer());
    }
    const files = Object.keys(faulty).map((name) => `${name}.wav`);
    const { stdout } = forehear(folder, [
      'compare',
      HAT,
      ...files,
      '--seconds',
      '0.5',
      '-o',
      'all',
    ]);
    const row = (name: string) =>
      new RegExp(`^${name} .* dBTP +\\S+ ms(?: \\?)? +(\\S+) ms`, 'm').exec(stdout);
    expect(stdout).toMatch(/clipped \(clipped\)/);
    expect(stdout).toMatch(/hum \(mains hum\)/);
    expect(stdout).toMatch(/drift \([^)]*level at rest drifts/);
    expect(stdout).toMatch(/turned \(channels in opposite phase\)/);
    expect(stdout).toMatch(/rest \(begins in the middle of a sound\)/);
    expect(stdout).not.toMatch(/clean \(/);
    // A time constant of 100 ms by its definition, under a hum and a drift too.
    expect(stdout).toMatch(
      /taken out of attack, decay and T60: the hum of hum, the drift of drift/,
    );
    for (const name of ['clean', 'hum', 'drift'])
      close(Number(row(name)?.[1]), 100, {
        ...{ rel: 0.05, unit: 'ms', why: 'the stated error of a figure that is not in doubt' },
      });
    // -74 dBFS: under the gate of BS.1770, which is not silence.
    expect(stdout).toMatch(/^faint +< -70 LUFS +- /m);
    expect(stdout).toContain('1 is under -70 LUFS, where BS.1770 measures nothing: left as it is.');
    expect(stdout).not.toMatch(/hat \(/);
  });

  it('compares a recording as it is, at its own rate, and leaves it alone', () => {
    const folder = scratch();
    forehear(folder, ['render', KICK, '--rate', '44100', '--seconds', '0.5', '-o', 'own.wav']);
    const before = readFileSync(join(folder, 'own.wav'));
    const args = ['compare', HAT, 'own.wav', '--seconds', '0.5', ...ONE, '--json', '-o', '.'];
    const { status, stdout, stderr } = forehear(folder, args);
    expect({ status, stderr }).toEqual({ status: 0, stderr: '' });
    expect(readFileSync(join(folder, 'own.wav'))).toEqual(before);
    const data: Data = JSON.parse(stdout);
    const clip = join(folder, data.variants[1]?.file as string);
    const [own, louder] = [join(folder, 'own.wav'), clip].map(
      (path) => new wavefile.WaveFile(readFileSync(path)),
    ) as [WaveFile, WaveFile];
    expect((louder.fmt as { sampleRate: number }).sampleRate).toBe(44_100);
    const samples = (wav: WaveFile): Float64Array =>
      wav.getSamples(false, Float64Array) as unknown as Float64Array;
    const gain = 10 ** ((data.variants[1]?.gainDb as number) / 20);
    const [was, is] = [samples(own), samples(louder)];
    expect(is.length).toBe(was.length);
    // Half a step of 24 bits each: rounded once in the recording, times the gain, and once in the clip.
    const off = is.map((value, n) => Math.abs(value - gain * (was[n] as number)));
    expect(off.reduce((most, one) => Math.max(most, one), 0)).toBeLessThan(1);
    const pairs = forehear(folder, ['compare', HAT, 'own.wav', '--pairs']);
    expect(pairs.stderr).toMatch(
      /at 44100 Hz and patches are played at 48000 Hz. Give --rate 44100/,
    );
  });

  it('says which variants sound alike, as those of a seed that nothing draws from', () => {
    // What rings when it is struck: no noise, no chance.
    const bell = `modules:
  drums: { kind: rhythm, channels: [a], patterns: { p: { a: x--- } } }
  bell: { kind: resonator, decay: 50 ms }
  out: { kind: output }
cables: [drums.a -> bell.strike, bell.out -> out.left]
`;
    const vary = ['--vary', 'seed=a,b', '--vary', 'bell.decay=50ms,90ms', '--jobs', '1'];
    const args = ['compare', '-', ...vary, '--seconds', '0.2', '--rate', '8000', '-o', 'bells'];
    const { stdout } = forehear(scratch(), args, bell);
    expect(stdout).toMatch(/^variant +loudness/);
    // Too long for the table, so that the numbers of their clips stand in it.
    const long = forehear(
      scratch(),
      [...args, '--vary', 'drums.patterns.p.a=x---,-x--'],
      bell,
    ).stdout;
    expect(long).toMatch(/^01 {2}seed a, bell\.decay 50 ms, drums\.patterns\.p\.a x---$/m);
    expect(long).toMatch(/^01 +-[\d.]+ LUFS/m);
    for (const decay of ['50', '90'])
      expect(stdout).toContain(
        `seed a, bell.decay ${decay} ms and seed b, bell.decay ${decay} ms sound alike`,
      );
  });

  it('tells the moves from one patch to another, and plays nothing', () => {
    const folder = scratch();
    const { status, stdout } = forehear(folder, ['compare', HAT, KICK, '--moves', '--json']);
    expect(status).toBe(0);
    const { moves } = JSON.parse(stdout) as { moves: { type: string; what: string }[] };
    expect(moves).toContainEqual({ type: 'plug', what: 'kick.level.out -> out.left' });
    expect(readdirSync(folder)).toEqual([]);
    const words = forehear(folder, ['compare', HAT, KICK, '--moves']).stdout;
    expect(words).toMatch(
      /^From .*closed-hat.yaml to .*kick.yaml: \d+ cables to pull, \d+ to plug/,
    );
    expect(forehear(folder, ['compare', HAT, HAT, '--moves']).stdout).toMatch(/nothing to move/);
  });

  it.each([
    [[HAT, '--moves'], /--moves takes two patches/],
    [[HAT, KICK, KICK, '--moves'], /--moves takes two patches/],
    [[HAT, KICK, '--moves', '-o', 'x'], /plays nothing: leave out --output\./],
    [
      [HAT, KICK, '--moves', '--bars', '2', '--rate', '44100', '--vary', 'seed=a,b'],
      /plays nothing: leave out --vary, --bars, --rate\./,
    ],
    [['-', '-'], /Standard input can be read once/],
    [['a.wav', '--vary', 'seed=a,b'], /only recordings were given, which stay as they are/],
    [[HAT, 'none.wav'], /none.wav: there is no such file/],
    [[HAT, 'a.wav', '--moves'], /a recording has no cables/],
    [
      [HAT, KICK, '--vary', 'shape.decay=10ms,20ms'],
      /kick.yaml: --vary:1:1: there is no module "shape"/,
    ],
  ])('refuses %j', (args, message) => {
    const { status, stderr } = forehear(scratch(), ['compare', ...args]);
    expect(status).toBe(2);
    expect(stderr).toMatch(message);
  });

  it('gives the same files whatever the number of jobs', () => {
    const folder = scratch();
    for (const jobs of ['1', '3'])
      forehear(folder, [
        'compare',
        HAT,
        ...VARY,
        '--seconds',
        '0.5',
        ...LOW,
        '--jobs',
        jobs,
        '-o',
        jobs,
        '--quiet',
      ]);
    const names = readdirSync(join(folder, '1'));
    expect(readdirSync(join(folder, '3'))).toEqual(names);
    // The hidden list of them has their times.
    const seen = names.filter((name) => !name.startsWith('.'));
    expect(seen).toHaveLength(6);
    for (const name of seen) {
      const [one, three] = ['1', '3'].map((jobs) => readFileSync(join(folder, jobs, name)));
      expect(one?.equals(three as Buffer), name).toBe(true);
    }
  });

  it('prints a table, and reads parts and standard input', () => {
    const folder = scratch();
    const args = [
      'compare',
      KICK,
      '--vary',
      'kick.fall.decay=40ms..160ms/3',
      '--bars',
      '1',
      ...LOW,
    ];
    const { status, stdout } = forehear(folder, args);
    expect(status).toBe(0);
    expect(stdout).toMatch(/^variant +loudness +gain[\s\S]*kick\.fall\.decay +-\d.*\n80 ms\n/);
    expect(stdout).toMatch(/Every clip is at -\d+\.\d LUFS/);
    // Neither holds for three falls of one kick.
    expect(stdout).not.toMatch(/Beware|sound alike/);
    const piped = forehear(
      folder,
      ['compare', '-', '--vary', 'seed=a,b', '--seconds', '0.5', '-o', 'in', '--quiet'],
      readFileSync(HAT),
    );
    expect(piped).toEqual({ status: 0, stdout: '', stderr: '' });
    expect(readdirSync(join(folder, 'in'))).toContain('02-seed-b.wav');
  });

  it('keeps what is finished when it is stopped, and says so', async () => {
    const folder = scratch();
    const args = [
      'compare',
      HAT,
      '--vary',
      'shape.release=20ms..2s/400',
      '--jobs',
      '1',
      '-o',
      'out',
    ];
    const out = join(folder, 'out');
    const isAtIt = (shown: string): boolean => /[1-9]\d* of \d+ steps/.test(shown);
    const { status, shown } = await interruptedAtTerminal(folder, args, isAtIt);
    expect(status, shown).toBe(130);
    const told = /Stopped: (\d+) of 400 variants are finished and lie in out\./.exec(shown);
    const files = readdirSync(out);
    expect(files.filter((name) => name.endsWith('.wav'))).toHaveLength(Number(told?.[1]));
    expect(files).toContain('compare.html');
    expect(files.filter((name) => name.endsWith('.part'))).toEqual([]);
  });

  it.each([
    [['--vary', 'shape.dekay=1s,2s'], /did you mean decay\?/],
    [['--vary', 'shape.decay=1s..2s'], /a range needs how many values/],
    [['--vary', 'shape.decay=1ms..1s/33', '--vary', 'bright.q=0.5..5/33'], /grid of 1089 variants/],
    [['--vary', 'shape.decay=1ms..1s/65', '--pairs'], /--pairs takes at most 64 variants/],
    [['--vary', 'shape.decay=1s,2s', '--jobs', '0'], /whole number from 1/],
    [['--vary', 'shape.decay=1s,2s', '--bars', '1', '--seconds', '2'], /cannot be used with/],
    [[], /--vary is needed/],
    [[`${PATCHES}/./closed-hat.yaml`], /this file is given twice/],
    [
      ['--vary', 'shape.decay=1s,2s', '--set', 'shape.decay=3s'],
      /--set shape.decay: --vary gives it each of its values/,
    ],
    [['--vary', 'seed=a,b', '--seconds', '0'], /a time such as 1.5 s, from 1 ms to 86400 s/],
  ])('refuses %j with exit code 2', (args, message) => {
    const folder = scratch();
    const { status, stderr, stdout } = forehear(folder, ['compare', HAT, ...args]);
    expect({ status, stdout }).toEqual({ status: 2, stdout: '' });
    expect(stderr).toMatch(message);
    expect(readdirSync(folder)).toEqual([]);
  });

  it('says what is in the way of its folder', () => {
    const folder = scratch();
    writeFileSync(join(folder, 'taken'), '');
    const args = ['compare', HAT, '--vary', 'seed=a,b', '-o', 'taken'];
    const { status, stderr } = forehear(folder, args);
    expect(status).toBe(2);
    expect(stderr).toMatch(/taken: this is a file/);
  });

  it('says which file could not be written, as a worker met it', () => {
    const folder = scratch();
    mkdirSync(join(folder, 'out/02-seed-b.wav'), { recursive: true });
    const args = ['compare', HAT, '--vary', 'seed=a,b', '--seconds', '0.2', '-o', 'out'];
    const { status, stderr } = forehear(folder, args);
    expect(status).toBe(2);
    expect(stderr).toBe(
      'out/02-seed-b.wav: could not be written: it is a folder. Give the file another name.\n',
    );
  });
});
