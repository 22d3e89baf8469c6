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
import { listTexts, readRiff } from '../../riff.ts';
import { patchFrom } from '../patches.ts';

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

async function written(some: Partial<GatesOptions> = {}) {
  const path = join(mkdtempSync(join(tmpdir(), 'forehear-test-')), 'gates.wav');
  const options = {
    path,
    sampleRate: 48_000,
    seconds: 1.5,
    fullScale: 10,
    calibration: 1,
    ...some,
  };
  const made = await writeGates(PATCH, options);
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
    Float64Array.from({ length: frames }, (__, frame) => {
      const at = 3 * (frame * count + channel);
      return ((view.getInt8(at + 2) << 16) | view.getUint16(at, true)) / 0x80_0000;
    }),
  );
  return { made, riff, channels, options };
}

describe('gates as volts', () => {
  it('has a channel a jack: gates, then clock, run and start', async () => {
    const { made, channels } = await written();
    expect(made.jacks).toEqual([
      'drums.kick',
      'drums.hat',
      'drums.clock',
      'drums.run',
      'drums.start',
    ]);
    expect(channels).toHaveLength(5);
    expect(made.frames).toBe(channels[0]?.length);
  });

  it('rises and falls at the very samples of the edges, by volts x calibration / full scale', async () => {
    const { made, channels, options } = await written({ calibration: 1.02, fullScale: 9.5 });
    const edges = [...sentEdges(PATCH, options)];
    made.jacks.forEach((jack, index) => {
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
    expect(made.peak).toBeCloseTo((6 * 1.02) / 9.5, 12);
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
