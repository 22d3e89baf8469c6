// The render command, run as built: files, figures, options, and every way to ask wrongly.

import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import wavefile from 'wavefile';
import { close } from '../../close.ts';
import { listTexts, readRiff } from '../../riff.ts';
import { forehear, interrupted, PATCHES, scratch } from '../run.ts';

const HAT = join(PATCHES, 'closed-hat.yaml');
const KIT = join(PATCHES, 'two-bar-kit.yaml');

/** Samples of a file as the wavefile package reads them, one array a channel, 1 being full scale. */
function samplesOf(path: string): { channels: Float64Array[]; rate: number; bits: string } {
  const wav = new wavefile.WaveFile(readFileSync(path));
  const { bitDepth, fmt } = wav as unknown as {
    bitDepth: string;
    fmt: { sampleRate: number; numChannels: number };
  };
  const read = wav.getSamples(false, Float64Array) as unknown as Float64Array | Float64Array[];
  const scale = bitDepth === '32f' ? 1 : 2 ** (Number(bitDepth) - 1);
  const channels = (fmt.numChannels === 1 ? [read] : read) as Float64Array[];
  return {
    channels: channels.map((c) => c.map((v) => v / scale)),
    rate: fmt.sampleRate,
    bits: bitDepth,
  };
}

function json(text: string): { files: Record<string, unknown>[]; seconds: number } {
  return JSON.parse(text);
}

describe('forehear render', () => {
  it('writes renders/NAME.wav and says where it is, how long, how loud', () => {
    const folder = scratch();
    const { status, stdout, stderr } = forehear(folder, ['render', HAT]);
    expect({ status, stderr }).toEqual({ status: 0, stderr: '' });
    expect(stdout).toMatch(
      /^renders\/closed-hat\.wav\n {2}\d+\.\d{3} s, mono, 48 kHz, 24 bit, peak -\d+\.\d dBFS, -\d+\.\d LUFS\ncheck: nothing found\n$/,
    );
    expect(readdirSync(join(folder, 'renders'))).toEqual(['closed-hat.wav']);
  });

  it('gives the figures as JSON, as the file has them', () => {
    const folder = scratch();
    const args = [
      'render',
      HAT,
      '--json',
      '--seconds',
      '2',
      '--rate',
      '44100',
      '--depth',
      '16',
      '-o',
      'a.wav',
    ];
    const { stdout } = forehear(folder, args);
    const { files, seconds } = json(stdout);
    expect(seconds).toBe(2);
    expect(files).toHaveLength(1);
    const [file] = files;
    expect(file).toMatchObject({
      path: 'a.wav',
      kind: 'mix',
      channels: 1,
      sampleRate: 44_100,
      bitDepth: '16',
      frames: 88_200,
      clipped: 0,
    });
    const { channels, rate } = samplesOf(join(folder, 'a.wav'));
    expect(rate).toBe(44_100);
    expect(channels[0]).toHaveLength(88_200);
    const peak = channels[0]?.reduce((most, v) => Math.max(most, Math.abs(v)), 0) ?? 0;
    close(20 * Math.log10(peak), file?.peakDbfs as number, {
      abs: 0.002,
      unit: 'dB',
      why: 'dither adds up to one and a half steps of 2^-15 to a peak of about a half',
    });
  });

  it('gives the same bytes every time, and others for another seed', () => {
    const folder = scratch();
    forehear(folder, ['render', HAT, '-o', 'a.wav']);
    forehear(folder, ['render', HAT, '-o', 'b.wav']);
    forehear(folder, ['render', HAT, '-o', 'c.wav', '--set', 'seed=another']);
    const [a, b, c] = ['a', 'b', 'c'].map((name) => readFileSync(join(folder, `${name}.wav`)));
    expect(a?.equals(b as Buffer)).toBe(true);
    expect(a?.equals(c as Buffer)).toBe(false);
  });

  it('renders a patch from standard input, with settings changed', () => {
    const folder = scratch();
    const text = readFileSync(HAT);
    const run = (set: string[]): number =>
      json(forehear(folder, ['render', '-', '--json', ...set], text).stdout).seconds;
    const longer = run(['--set', 'shape.decay=2s', '--set', 'shape.release=2 s']);
    expect(longer).toBeGreaterThan(run([]) + 0.3);
    expect(existsSync(join(folder, 'renders/stdin.wav'))).toBe(true);
  });

  it.each(['16', '24', '32f'])(
    'writes stems that sum to the mix within a step, %s bits',
    (depth) => {
      const folder = scratch();
      const args = [
        'render',
        KIT,
        '--stems',
        '--json',
        '--depth',
        depth,
        '--seconds',
        '2',
        '-o',
        'kit.wav',
      ];
      const { files } = json(forehear(folder, args).stdout);
      const stems = files.filter(({ kind }) => kind === 'stem');
      expect(stems.map(({ jack }) => jack)).toContain('kick.level.out');
      expect(files.map(({ path }) => path)).toContain('kit.kick-level-out.wav');
      const mix = samplesOf(join(folder, 'kit.wav')).channels[0] as Float64Array;
      const voices = stems.map(
        ({ path }) => samplesOf(join(folder, path as string)).channels[0] as Float64Array,
      );
      let worst = 0;
      mix.forEach((value, i) => {
        const sum = voices.reduce((total, voice) => total + (voice[i] as number), 0);
        worst = Math.max(worst, Math.abs(sum - value));
      });
      // The promise of the command's help; a float's step at 1 is 2^-24 either side.
      expect(worst).toBeLessThanOrEqual(
        { '16': 2 ** -15, '24': 2 ** -23, '32f': 2 ** -22 }[depth] as number,
      );
    },
  );

  it('writes the volts at a jack: a gate of 5 V through 1 kohm into 100 kohm, 8 ms long', () => {
    const folder = scratch();
    const args = [
      'render',
      HAT,
      '--tap',
      'drums.hat',
      '--seconds',
      '1',
      '--depth',
      '32f',
      '-o',
      'h.wav',
    ];
    const { stderr } = forehear(folder, args);
    expect(stderr).toContain('direct current');
    const gate = samplesOf(join(folder, 'h.drums-hat.wav')).channels[0] as Float64Array;
    const volts = [0, 100, 383, 384].map((i) => (gate[i] as number) * 10);
    const high = Math.fround((5 * 100) / 101 / 10) * 10;
    expect(volts).toEqual([high, high, high, 0]);
  });

  it('makes a loop as long as its bars', () => {
    const folder = scratch();
    const { files } = json(
      forehear(folder, ['render', HAT, '--loop', '--bars', '1', '--json']).stdout,
    );
    // A bar of four quarters at 92 bpm.
    expect(files[0]?.frames).toBe(Math.round((4 * 60 * 48_000) / 92));
  });

  it('marks the bars with cue points', () => {
    const folder = scratch();
    forehear(folder, ['render', KIT, '-o', 'kit.wav']);
    const wav = new wavefile.WaveFile(readFileSync(join(folder, 'kit.wav')));
    const cues = wav.listCuePoints() as { position: number; label: string }[];
    expect(cues.map(({ label }) => label)).toEqual(['Bar 1', 'Bar 2']);
    close(cues[1]?.position, (4 * 60_000) / 92, {
      abs: 0.05,
      unit: 'ms',
      why: 'a cue is at a whole sample, of 0.02 ms',
    });
    // wavefile finds no title behind labels; the walker goes by the published layout.
    const riff = readRiff(readFileSync(join(folder, 'kit.wav')));
    expect(listTexts(riff, 'INFO').get('INAM')).toBe('Two-bar kit');
  });

  it('says nothing when asked to be quiet', () => {
    expect(forehear(scratch(), ['render', HAT, '--quiet'])).toEqual({
      status: 0,
      stdout: '',
      stderr: '',
    });
  });

  it('warns of samples above full scale', () => {
    const { status, stderr } = forehear(scratch(), ['render', HAT, '--set', 'out.full-scale=1V']);
    expect(status).toBe(0);
    expect(stderr).toMatch(/\d+ samples lie above full scale/);
  });
});

describe('a clip that ends while it sounds', () => {
  // 5 V behind 1 kohm into 100 kohm, of 10 V at full scale: 20 log10(0.5 x 100 / 101) = -6.107 dBFS.
  const TONE = `modules: { tone: { kind: oscillator, at-zero: 1 kHz }, out: { kind: output } }
cables: [tone.sine -> out.left]
`;
  it.each([
    ['is told, and by how much', [], 1, -6.107],
    ['goes round in a loop', ['--loop'], 0, null],
  ])('%s', (_, more, told, dbfs) => {
    const args = ['render', '-', '--seconds', '1', ...more];
    const { stderr } = forehear(scratch(), args, TONE);
    expect(stderr.split('The clip ends while it sounds, at -6.1 dBFS').length - 1).toBe(told);
    const { endDbfs } = JSON.parse(forehear(scratch(), [...args, '--json'], TONE).stdout);
    if (dbfs === null) expect(endDbfs).toBeNull();
    else close(endDbfs, dbfs, { abs: 0.05, unit: 'dB', why: 'told to a tenth' });
  });
});

describe('forehear render, asked wrongly', () => {
  const cases: [string, string[], string][] = [
    ['no patch', [], "missing required argument 'patch'"],
    ['a file that is not there', ['nowhere.yaml'], 'nowhere.yaml: there is no such file'],
    ['a folder', ['.'], 'this is a folder'],
    ['an unknown option', [HAT, '--volume', '3'], "unknown option '--volume'"],
    ['a rate out of range', [HAT, '--rate', '10'], 'from 8 kHz to 192 kHz, was expected'],
    ['a depth that does not exist', [HAT, '--depth', '20'], 'allowed choices are 16, 24, 32f'],
    ['bars and seconds', [HAT, '--bars', '1', '--seconds', '1'], 'cannot be used with option'],
    ['a negative time', [HAT, '--tail', '-1'], 'from 0 s to 86400 s, was expected'],
    ['a clip of nothing', [HAT, '--seconds', '0'], 'from 1 ms to 86400 s, was expected'],
    ['a jack that does not exist', [HAT, '--tap', 'shape.outt'], 'Did you mean shape.out?'],
    ['a module that does not exist', [HAT, '--tap', 'x.y'], 'The modules are drums, adapt'],
    ['a setting that does not exist', [HAT, '--set', 'shape.decoy=1 s'], 'decay'],
    ['a value without its unit', [HAT, '--set', 'shape.decay=80'], 'shape.decay=80'],
  ];
  it.each(cases)('%s: exit 2, a message, no stack trace, no file', (_, args, message) => {
    const folder = scratch();
    const { status, stdout, stderr } = forehear(folder, ['render', ...args]);
    expect(status).toBe(2);
    expect(stdout).toBe('');
    expect(stderr).toContain(message);
    expect(stderr).not.toMatch(/\n\s+at /);
    expect(existsSync(join(folder, 'renders/closed-hat.wav'))).toBe(false);
  });

  it('a patch without an output says what to add', () => {
    const text = 'title: x\nmodules: { n: { kind: noise } }\ncables: []\n';
    const { status, stderr } = forehear(scratch(), ['render', '-'], text);
    expect(status).toBe(2);
    expect(stderr).toContain('out: { kind: output }');
  });

  it('every mistake in a file is reported in one run, each where it stands', () => {
    const text = `title: five
modules:
  a: { kind: nois }
  b: { kind: filter, cutoff: 7500 }
  c: { kind: envelope, decay: 90 s, atack: 1 ms }
  out: { kind: output }
cables:
  - b.low -> out.lefft
`;
    const { status, stderr } = forehear(scratch(), ['render', '-'], text);
    expect(status).toBe(2);
    for (const place of ['-:3:', '-:4:', '-:5:', '-:8:']) expect(stderr).toContain(place);
    expect(stderr).toContain('5 problems');
  });

  it('bytes that are no text get a message', () => {
    const bytes = new Uint8Array(500).map((_, i) => (i * 77) % 256);
    const { status, stderr } = forehear(scratch(), ['render', '-'], bytes);
    expect(status).toBe(2);
    expect(stderr).toContain('UTF-8');
  });

  it('a place where a folder cannot be made', () => {
    const folder = scratch();
    writeFileSync(join(folder, 'renders'), 'a file');
    const { status, stderr } = forehear(folder, ['render', HAT]);
    expect(status).toBe(2);
    expect(stderr).toContain('renders: this is a file');
  });

  it('a folder where the file should go', () => {
    const folder = scratch();
    mkdirSync(join(folder, 'a.wav'));
    const { status, stderr } = forehear(folder, ['render', HAT, '-o', 'a.wav']);
    expect(status).toBe(2);
    expect(stderr).toContain('a.wav');
    expect(readdirSync(folder)).toEqual(['a.wav']);
  });

  it('stopped with Ctrl-C it leaves nothing behind', async () => {
    const folder = scratch();
    const renders = join(folder, 'renders');
    const { status, stderr } = await interrupted(
      folder,
      ['render', KIT, '--seconds', '80000'],
      () => existsSync(renders) && readdirSync(renders).length > 0,
    );
    expect(status).toBe(130);
    expect(stderr).toContain('Stopped');
    expect(existsSync(renders)).toBe(false);
  });
});
