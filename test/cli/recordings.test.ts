// A recording that a user adds to a patch, as the commands read it: beside the patch, never written over, and part of
// what decides the render.

import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import wavefile from 'wavefile';
import { likenessOf } from '../../src/measure/likeness/likeness.ts';
import { wavBytes } from '../../src/wav/wav-bytes.ts';
import { KNOCK } from '../knock.ts';
import { forehear, scratch } from './run.ts';

const WAV = Buffer.from(KNOCK.slice(KNOCK.indexOf(',') + 1), 'base64');
/** Where its samples begin: after the 44 bytes of a plain header. */
const FIRST_SAMPLE = 44;
const PATCH = `modules:
  drums: { kind: rhythm, channels: [knock], patterns: { beat: { knock: "x-x-" } } }
  knock: { kind: recording, file: sounds/knock.wav }
  out:   { kind: output }
cables: [drums.knock -> knock.trigger, knock.out -> out.left]
`;

/** A folder with the patch in a folder of its own, and its recording. */
function folder(): { readonly cwd: string; readonly sound: string } {
  const cwd = scratch();
  mkdirSync(join(cwd, 'kit/sounds'), { recursive: true });
  writeFileSync(join(cwd, 'kit/kit.yaml'), PATCH);
  const sound = join(cwd, 'kit/sounds/knock.wav');
  writeFileSync(sound, WAV);
  return { cwd, sound };
}

describe('a recording beside a patch', () => {
  it('is heard from whatever folder the patch is named, and decides the render', () => {
    const { cwd, sound } = folder();
    const render = (from: string, patch: string): Buffer => {
      const { status, stderr } = forehear(join(cwd, from), ['render', patch, '-o', 'a.wav']);
      expect(stderr).not.toContain('error');
      expect(status).toBe(0);
      return readFileSync(join(cwd, from, 'a.wav'));
    };
    const whole = render('kit', 'kit.yaml');
    expect(render('', 'kit/kit.yaml').equals(whole)).toBe(true);
    const changed = Buffer.from(WAV);
    changed[FIRST_SAMPLE + 10] = 255;
    writeFileSync(sound, changed);
    expect(render('kit', 'kit.yaml').equals(whole)).toBe(false);
    writeFileSync(sound, WAV);
    expect(render('kit', 'kit.yaml').equals(whole)).toBe(true);
  });

  it('is never written over', () => {
    const { cwd, sound } = folder();
    const { status, stderr } = forehear(cwd, ['render', 'kit/kit.yaml', '-o', sound]);
    expect(status).toBe(2);
    expect(stderr).toContain('knock.wav');
    expect(readFileSync(sound).equals(WAV)).toBe(true);
  });

  it('that is none is told at its name, by every way of reading it', () => {
    const { cwd, sound } = folder();
    writeFileSync(sound, WAV.subarray(0, 60));
    for (const command of ['render', 'check', 'volts', 'timing', 'sheet', 'lesson']) {
      const { status, stdout } = forehear(cwd, [command, 'kit/kit.yaml', '--json']);
      expect(status).toBe(2);
      const { errors } = JSON.parse(stdout);
      expect(errors).toMatchObject([
        { code: 'recording', file: 'kit/kit.yaml', line: 3, column: 35 },
      ]);
      expect(errors[0].message).toContain('it is cut short');
    }
  });

  it('is set, and varied, like any other setting', () => {
    const { cwd } = folder();
    const lower = Buffer.from(WAV);
    lower.writeUInt32LE(4000, 24);
    lower.writeUInt32LE(4000, 28);
    writeFileSync(join(cwd, 'kit/lower.wav'), lower);
    const set = forehear(cwd, ['render', 'kit/kit.yaml', '--set', 'knock.file=lower.wav']);
    expect(set.stderr).not.toContain('problem');
    expect(set.status).toBe(0);
    const vary = 'knock.file=sounds/knock.wav,lower.wav';
    const { status, stdout } = forehear(cwd, ['compare', 'kit/kit.yaml', '--vary', vary, '--json']);
    expect(status).toBe(0);
    const { variants } = JSON.parse(stdout);
    expect(variants).toHaveLength(2);
  });
});

describe('a WAV file that a command is given', () => {
  const DIALS = `units:
  shape: { kind: envelope, dials: { decay: { as: sound, 0: odd.wav, 10: good.wav } } }
`;
  const READERS = {
    measure: ['measure', 'odd.wav'],
    volts: ['measure', 'odd.wav', '--as-volts', '10V'],
    against: ['measure', 'good.wav', '--against', 'odd.wav'],
    tab: ['tab', 'odd.wav'],
    fit: ['fit', 'odd.wav'],
    compare: ['compare', 'kit/kit.yaml', 'odd.wav', '--seconds', '1s', '--jobs', '1'],
    calibrate: ['calibrate', 'dials.yaml'],
    patch: ['check', 'kit/kit.yaml', '--set', 'knock.file=odd.wav'],
  } as const;
  const hit = Float64Array.from({ length: 8000 }, (_, n) =>
    n < 800 ? 0 : 0.5 * Math.sin(0.3 * n) * Math.exp((800 - n) / 1000),
  );
  const written = async (samples: Float64Array, spoil = (_: Buffer): void => undefined) => {
    const { cwd } = folder();
    const options = { sampleRate: 16_000, depth: '32f' } as const;
    writeFileSync(join(cwd, 'good.wav'), await wavBytes([hit], options));
    const bytes = Buffer.from(await wavBytes([samples], options));
    spoil(bytes);
    for (const place of ['.', 'kit']) writeFileSync(join(cwd, place, 'odd.wav'), bytes);
    writeFileSync(join(cwd, 'dials.yaml'), DIALS);
    return cwd;
  };

  it('and that holds a NaN is told at its frame, by every one', async () => {
    const at = 4 * 5000;
    const cwd = await written(hit, (bytes) => {
      const start = bytes.indexOf('data') + 8;
      bytes.writeFloatLE(Number.NaN, start + at);
    });
    for (const [name, args] of Object.entries(READERS)) {
      const { status, stdout, stderr } = forehear(cwd, [...args]);
      expect(`${name} ${status}`).toBe(`${name} 2`);
      expect(`${name}: ${stdout}${stderr}`).toMatch(/odd\.wav.*(NaN.*)?frame 5000(.*NaN)?/s);
    }
  });

  it.each([
    ['one sample', Float64Array.of(0.5)],
    ['one value', new Float64Array(8000).fill(0.5)],
    ['-0', new Float64Array(8000).fill(-0)],
  ])('and that is %s ends no command but by a reason', async (_, samples) => {
    const cwd = await written(samples);
    for (const [name, args] of Object.entries(READERS)) {
      const { status, stderr } = forehear(cwd, [...args]);
      const isRead = name === 'measure' || name === 'compare' || name === 'patch';
      expect(`${name} ${status}: ${status === 3 ? stderr : ''}`).toBe(
        `${name} ${isRead ? 0 : 2}: `,
      );
    }
  });

  // The header states the rate at byte 24; the samples are those of the hit, faster or slower.
  it.each([500, 6000, 500_000])(
    'and that is at %i Hz ends no command but by a reason',
    async (rate) => {
      const cwd = await written(hit, (bytes) => {
        bytes.writeUInt32LE(rate, 24);
      });
      for (const [name, args] of Object.entries(READERS)) {
        const { status, stderr } = forehear(cwd, [...args]);
        const why = status === 0 ? '' : stderr;
        expect(`${name} ${[0, 2].includes(status ?? -1)}: ${why}`).toMatch(
          status === 0 ? /true: $/ : /true: .*odd\.wav/s,
        );
      }
    },
  );
});

const HAT = `modules:
  drums: { kind: rhythm, channels: [hat], patterns: { beat: { hat: "x-x-" } } }
  hiss:  { kind: noise }
  shape: { kind: envelope, decay: 60ms, mode: trigger }
  level: { kind: amplifier }
  out:   { kind: output }
cables: [drums.hat -> shape.trigger, hiss.white -> level.in, shape.out -> level.control, level.out -> out.left]
`;

describe('what a recording suffers from', () => {
  const RATE = 8000;
  const struck = [1, 2, 3].map((at) => 0.5 * at);
  const clean = Float64Array.from({ length: 2.1 * RATE }, (_, n) =>
    struck.reduce((sum, at) => {
      const t = n / RATE - at;
      return t < 0 ? sum : sum + 0.3 * Math.sin(2 * Math.PI * 400 * t) * Math.exp(-t / 0.03);
    }, 0),
  );
  const wave = (hz: number, peak: number) =>
    clean.map((x, n) => x + peak * Math.sin((2 * Math.PI * hz * n) / RATE));
  // Each fault by its definition; which word tells it.
  const FAULTS = [
    ['nothing', undefined, '24', [clean]],
    ['clipped', /clipped/i, '24', [clean.map((x) => Math.max(-0.15, Math.min(0.15, x)))]],
    ['hum', /\bhum\b/i, '24', [wave(50, 0.02)]],
    ['drift', /\bdrift/i, '24', [wave(0.4, 0.2)]],
    ['opposed', /opposite phase/i, '24', [clean, clean.map((x) => -x)]],
    ['silent-channel', /silent/i, '24', [clean, new Float64Array(clean.length)]],
    ['coarse', /\bbits\b/i, '8', [clean]],
  ] as const;
  const READERS = {
    measure: ['measure', 'odd.wav'],
    sound: ['measure', 'odd.wav', '--against', 'good.wav'],
    reference: ['measure', 'good.wav', '--against', 'odd.wav'],
    tab: ['tab', 'odd.wav', '--tempo', '120'],
    fit: ['fit', 'hat.yaml', 'odd.wav', '--vary', 'shape.decay', '--tries', '20', '--force'],
    compare: [
      'compare',
      'hat.yaml',
      'odd.wav',
      '--seconds',
      '0.5s',
      '--rate',
      '16000',
      '--jobs',
      '1',
    ],
  } as const;

  it.each(FAULTS)(
    '%s, is told by every command that looks for its hits',
    async (kind, word, bits, channels) => {
      const { cwd } = folder();
      writeFileSync(join(cwd, 'hat.yaml'), HAT);
      writeFileSync(
        join(cwd, 'good.wav'),
        await wavBytes([clean], { sampleRate: RATE, depth: '24' }),
      );
      const codes = channels.map((one) =>
        Float64Array.from(one, (x) =>
          bits === '8' ? Math.round(127 * x) + 128 : Math.round(2 ** 23 * x),
        ),
      );
      const made = new wavefile.WaveFile();
      made.fromScratch(codes.length, RATE, bits, codes);
      writeFileSync(join(cwd, 'odd.wav'), made.toBuffer());
      for (const [name, args] of Object.entries(READERS)) {
        const { status, stdout, stderr } = forehear(cwd, [...args]);
        expect(`${name} ${status}`).toBe(`${name} 0`);
        const told = `${stdout}${stderr}`.replace(/\s+/g, ' ');
        const about = `${name} of ${kind}: ${told}`;
        if (word === undefined)
          for (const [, other] of FAULTS) {
            if (other) expect(about).not.toMatch(other);
          }
        else expect(about).toMatch(new RegExp(`: .*${word.source}`, word.flags));
        // The same hits on both sides, but for a hum that is taken out.
        if (name !== 'sound' || kind !== 'hum') continue;
        expect(about).toMatch(/taken out before it is compared/);
        const sound = (samples: Float64Array) => ({ sampleRate: RATE, channels: [samples] });
        const untouched = likenessOf(sound(channels[0]), sound(clean)).db;
        // It is measured in stretches that it fills to 1.5 dB, 19 %, so that 14 dB less are left of it at most: a
        // quarter, with some margin for how levels become distances.
        expect(Number(/([\d.]+) dB apart/.exec(told)?.[1])).toBeLessThan(untouched / 4);
      }
    },
  );

  it('hum, is taken out before its strokes are written as tab', async () => {
    const { cwd } = folder();
    // Sixteen strokes a quarter second apart, each other one 10 dB softer.
    const beat = Float64Array.from({ length: 4.5 * RATE }, (_, n) => {
      const k = Math.floor((n / RATE - 0.25) / 0.25);
      const t = n / RATE - 0.25 - 0.25 * k;
      if (k < 0 || k > 15) return 0;
      return (k % 2 === 0 ? 0.4 : 0.126) * Math.sin(2 * Math.PI * 400 * t) * Math.exp(-t / 0.03);
    });
    const hum = (n: number): number => 0.1 * Math.sin((2 * Math.PI * 50 * n) / RATE);
    const options = { sampleRate: RATE, depth: '24' } as const;
    writeFileSync(join(cwd, 'clean.wav'), await wavBytes([beat], options));
    writeFileSync(
      join(cwd, 'faulty.wav'),
      await wavBytes([beat.map((x, n) => x + hum(n))], options),
    );
    const tabOf = (file: string): { strokes: number; tab: string } =>
      JSON.parse(forehear(cwd, ['tab', file, '--tempo', '120', '--json']).stdout);
    const [clean, faulty] = [tabOf('clean.wav'), tabOf('faulty.wav')];
    expect(clean.strokes).toBe(16);
    expect(faulty.tab).toBe(clean.tab.replace('clean.wav', 'faulty.wav'));
  });
});
