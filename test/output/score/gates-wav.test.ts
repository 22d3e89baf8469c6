// Gates as volts in a file, read back by this project's own strict reader of chunks and by hand.

import { mkdtempSync, readFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { sentEdges } from '../../../src/engine/trace.ts';
import {
  CAUTION,
  type GatesOptions,
  TooManyVolts,
  writeGates,
} from '../../../src/output/score/gates-wav.ts';
import { close } from '../../close.ts';
import { patchFrom } from '../../patch-of.ts';
import { listTexts, readRiff } from '../../riff.ts';

const PATCH = patchFrom(`
title: Volts
modules:
  drums:
    kind: rhythm
    tempo: 133.37 bpm
    swing: 61 %
    level: 6 V
    channels: [kick, hat]
    patterns: { a: { kick: "X-x-x", hat: "x-f-4-?-" } }
  out: { kind: output }
`);

function sampled(view: DataView, frames: number, count: number, channel: number): Float64Array {
  const samples = new Float64Array(frames);
  for (let frame = 0; frame < frames; frame++) {
    const at = 3 * (frame * count + channel);
    samples[frame] = ((view.getInt8(at + 2) << 16) | view.getUint16(at, true)) / 0x80_0000;
  }
  return samples;
}

async function written(some: Partial<GatesOptions> = {}, patch = PATCH) {
  const path = join(mkdtempSync(join(tmpdir(), 'forehear-test-')), 'gates.wav');
  const options = {
    path,
    sampleRate: 48_000,
    seconds: 1.5,
    fullScale: 10,
    calibration: 1,
    ...some,
  };
  const made = await writeGates(patch, options);
  const riff = readRiff(readFileSync(path));
  const body = (id: string): Uint8Array => {
    const chunk = riff.chunks.find((one) => one.id === id);
    if (chunk === undefined) throw new Error(`no ${id}`);
    return chunk.body;
  };
  const format = body('fmt ');
  const count = new DataView(format.buffer, format.byteOffset).getUint16(2, true);
  const data = body('data');
  const view = new DataView(data.buffer, data.byteOffset, data.byteLength);
  const frames = data.byteLength / 3 / count;
  const channels = Array.from({ length: count }, (_, channel) =>
    sampled(view, frames, count, channel),
  );
  return { made, riff, channels, options };
}

describe('gates as volts', () => {
  it('has a channel a jack: gates, then clock, run and start', async () => {
    const { made, channels } = await written();
    expect(made.channels.map(({ jack }) => jack)).toEqual([
      'drums.kick',
      'drums.hat',
      'drums.clock',
      'drums.run',
      'drums.start',
    ]);
    expect(channels).toHaveLength(5);
    // What each goes between, before any factor.
    for (const { leastVolts, mostVolts, calibration } of made.channels)
      expect([leastVolts, mostVolts, calibration]).toEqual([0, 6, 1]);
    expect(made.frames).toBe(channels[0]?.length);
  });

  it('rises and falls at the very samples of the edges, by volts x calibration / full scale', async () => {
    const { made, channels, options } = await written({ calibration: 1.02, fullScale: 9.5 });
    const edges = [...sentEdges(PATCH, options)];
    made.channels.forEach(({ jack }, index) => {
      const own = edges.filter((edge) => edge.jack === jack);
      const expected = new Float64Array(made.frames);
      own.forEach(({ sample, volts }, i) => {
        expected.fill((volts * 1.02) / 9.5, sample, own[i + 1]?.sample ?? made.frames);
      });
      const samples = channels[index] as Float64Array;
      // Half a step of 24 bits.
      const wrong = expected.findIndex(
        (v, i) => Math.abs(v - (samples[i] as number)) > 0.6 / 0x80_0000,
      );
      expect({ jack, wrong }).toEqual({ jack, wrong: -1 });
      expect(own.length).toBeGreaterThan(1);
    });
    close(made.peak, (6 * 1.02) / 9.5, { abs: 5e-13, unit: '', why: 'rounding' });
  });

  it('ends at 0 V in every channel', async () => {
    for (const seconds of [0.1, 1.5, 0.9001]) {
      const { channels } = await written({ seconds });
      expect(channels.map((samples) => samples.at(-1))).toEqual([0, 0, 0, 0, 0]);
    }
  });

  it('carries the caution, the channels and the calibration in its text chunk', async () => {
    const { riff } = await written({ calibration: 1.02 });
    const texts = String(listTexts(riff, 'INFO').get('ICMT'));
    expect(texts).toContain(CAUTION);
    expect(texts).toContain('drums.kick, drums.hat, drums.clock, drums.run, drums.start');
    expect(texts).toContain('10 V, calibration 1.02');
  });

  it('refuses volts that the interface cannot give', async () => {
    await expect(written({ fullScale: 5.9 })).rejects.toThrow(TooManyVolts);
    await expect(written({ fullScale: 6.1, calibration: 1.02 })).rejects.toThrow(TooManyVolts);
  });
});

describe('volts of named jacks', () => {
  const MELODY = patchFrom(`
title: Melody
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [hat], patterns: { a: { hat: "X-x-" } } }
  steps: { kind: step-sequencer, rows: { pitch: [1 V, -0.5 V, 2.25 V] } }
  half: { kind: attenuator, level: 50 % }
  load: { kind: attenuator, level: 50 % }
  out: { kind: output }
cables:
  - drums.hat -> steps.clock
  - steps.pitch -> half.in
  - half.out -> load.in
`);
  const refs = (...names: string[]) =>
    names.map((name) => ({ module: name.split('.')[0] ?? '', jack: name.split('.')[1] ?? '' }));

  // An interface of any size up to sixteen outputs: gates, accents, clock, run, start, and the volts of modules.
  it.each(Array.from({ length: 16 }, (_, index) => index + 1))(
    'fills %i outputs, each the volts of its jack by its own calibration',
    async (count) => {
      const patch = patchFrom(`
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [a, b, c, d], ghost-level: -4 V, patterns: { p: { a: "X-x-", b: "-xg-", c: "x-X-", d: "--x-" } } }
  steps: { kind: step-sequencer, rows: { pitch: [1 V, -0.5 V, 2.25 V], more: [3 V, -2 V, 0 V] } }
  half: { kind: attenuator, level: 50 % }
  less: { kind: attenuator, level: 25 % }
  out: { kind: output }
cables:
  - drums.clock -> steps.clock
  - steps.pitch -> half.in
  - half.out -> less.in
`);
      const names =
        'steps.pitch drums.b-accent drums.a steps.more drums.a-accent half.out drums.clock drums.run drums.start ' +
        'drums.b drums.c drums.d drums.c-accent drums.d-accent steps.gate less.out';
      // By hand at 0.35 s, 100 ms into the third step of 125 ms: the row's third value, b's ghost, a's gate over.
      // What drives an input of 100 kohm through 1 kohm loses a share of 101.
      const volts = [2.25, -4, 0, 0, 0, (1.125 * 100) / 101, 0, 5, 0, 0, 0, 0, 5, 0];
      const all = names.split(' ');
      const jacks = refs(...all.slice(0, count));
      const calibration = jacks.map((_, index) => 0.9 + 0.01 * index);
      const { made, channels } = await written({ jacks, calibration, seconds: 1 }, patch);
      expect(made.channels.map(({ jack }) => jack)).toEqual(all.slice(0, count));
      expect(channels).toHaveLength(jacks.length);
      channels.forEach((samples, index) => {
        const expected = volts[index];
        if (expected === undefined) return;
        const wanted = (expected * (calibration[index] as number)) / 10;
        close(samples[16_800], wanted, {
          abs: 0.6 / 0x80_0000,
          unit: '',
          why: `half a step of 24 bits, at ${all[index]}`,
        });
      });
    },
  );

  it('has them in their order, each channel with its own calibration', async () => {
    const jacks = refs('steps.pitch', 'drums.hat-accent', 'half.out', 'drums.hat');
    const calibration = [1, 1.1, 0.9, 1.2];
    const { made, channels } = await written({ jacks, calibration, seconds: 2 }, MELODY);
    expect(made.channels.map(({ jack }) => jack)).toEqual([
      'steps.pitch',
      'drums.hat-accent',
      'half.out',
      'drums.hat',
    ]);
    expect(made.channels[0]).toMatchObject({ leastVolts: -0.5, mostVolts: 2.25, calibration: 1 });
    expect(made.channels[3]).toMatchObject({ leastVolts: 0, mostVolts: 5, calibration: 1.2 });
    const at = (seconds: number): readonly number[] =>
      channels.map((samples, channel) => {
        const value = samples[Math.round(seconds * 48_000)] as number;
        return (value * 10) / (calibration[channel] as number);
      });
    // A sixteenth at 120 bpm is 125 ms; strokes at 0, 250, 500 ms.
    // A pitch output holds its volts; the attenuator's 1 kilohm and the load's 100 make 100/101 of half.
    for (const [seconds, pitch, accent] of [
      [0.1, 1, 5],
      [0.3, -0.5, 0],
      [0.6, 2.25, 5],
    ] as const) {
      const expected = [pitch, accent, (pitch / 2) * (100 / 101)];
      // Half a step of 24 bits at 10 V full scale is 0.6 uV.
      at(seconds)
        .slice(0, 3)
        .forEach((volts, channel) => {
          close(volts, expected[channel] as number, {
            abs: 1e-6,
            unit: 'V',
            why: 'half a step of 24 bits at 10 V full scale is 0.6 uV',
          });
        });
    }
    // The gate as without names, louder by its factor.
    const [gate] = (await written({ seconds: 2 }, MELODY)).channels;
    const named = channels[3] as Float64Array;
    expect(named.length).toBe(gate?.length);
    expect(
      named.findIndex(
        (sample, n) => Math.abs(sample - 1.2 * ((gate as Float64Array)[n] as number)) > 1.5e-7,
      ),
    ).toBe(-1);
    expect(channels.map((samples) => samples.at(-1))).toEqual([0, 0, 0, 0]);
  });
});
