// A whole recording: what `measureSignal` gives for signals known beforehand, and a second reader.

import { describe, expect, it } from 'vitest';
import type { SampleBlock } from '../../src/measure/samples.ts';
import { type Measures, measureSignal, SignalMeter } from '../../src/measure/signal.ts';
import { close } from '../close.ts';
import { secondReader } from './second-reader.ts';
import { type HitSpec, hits, noise, tone } from './synthesis.ts';

const RATE = 48000;

function* cut(channels: readonly Float64Array[], size: number): Generator<SampleBlock> {
  const length = channels[0]?.length ?? 0;
  for (let from = 0; from < length; from += size) {
    const part = channels.map((samples) => samples.subarray(from, from + size));
    yield { channels: part, frames: Math.min(size, length - from) };
  }
}

const measure = (channels: readonly Float64Array[], sampleRate = RATE, size = 5000) =>
  measureSignal({ sampleRate, channels: channels.length, blocks: cut(channels, size) });

const STEPS = Array.from({ length: 32 }, (_, n) => 0.1 + Math.floor(n / 2) * 0.3 + (n % 2) * 0.174);
const LOOP = hits(
  5.2,
  RATE,
  STEPS.map((at, n) => ({ at, tau: 0.02, amplitude: n % 4 === 0 ? 0.2 : 0.1 })),
  0.0005,
);

describe('measureSignal', () => {
  it('finds the hits of a swung loop, their decays and its tempo', async () => {
    const { onsets, hits: found, tempo } = await measure([LOOP]);
    expect(onsets.length).toBe(32);
    expect(found.length).toBe(32);
    found.forEach((hit, n) => {
      close(hit.time, STEPS[n] as number, { abs: 0.001, unit: 's', why: 'the promise' });
      close(hit.decayTauSeconds as number, 0.02, {
        rel: 0.05,
        unit: 's',
        why: 'noise of 46 dB over 106 ms: sd 0.8 %, and the largest of 32',
      });
    });
    close(tempo?.bpm as number, 100, {
      rel: 1e-3,
      unit: 'bpm',
      why: 'two pairs of 300 ms a quarter',
    });
    close(tempo?.swingPercent as number, 58, { abs: 0.3, unit: '%', why: '174 of 300 ms' });
  });

  it('gives the same whatever the blocks, and for single precision', async () => {
    const whole = await measure([LOOP], RATE, LOOP.length);
    expect(await measure([LOOP], RATE, 333)).toEqual(whole);
    const single = await measureSignal({
      sampleRate: RATE,
      channels: 1,
      blocks: [{ channels: [Float32Array.from(LOOP)], frames: LOOP.length }],
    });
    expect(single.onsets).toEqual(whole.onsets);
  });

  it('takes samples as they come', async () => {
    async function* later() {
      for (const block of cut([LOOP], 10000)) yield await Promise.resolve(block);
    }
    const found = await measureSignal({ sampleRate: RATE, channels: 1, blocks: later() });
    expect(found).toEqual(await measure([LOOP]));
  });

  it('reads a sine by its closed forms', async () => {
    const sine = tone(2 * RATE, { hz: 997, amplitude: 0.5, sampleRate: RATE });
    const found = await measure([sine, sine]);
    const why = 'closed form';
    close(found.peakDbfs as number, -6.0206, { abs: 0.001, unit: 'dBFS', why });
    close(found.truePeakDbtp as number, -6.0206, { abs: 0.2, unit: 'dBTP', why: 'the promise' });
    // -0.691 + 10 log10(2 x A^2/2 x |K|^2), and |K| at 997 Hz is 0.691 dB.
    close(found.loudnessLufs as number, -6.0206, { abs: 0.1, unit: 'LUFS', why: 'BS.1770' });
    close(found.crestDb as number, 3.0103, { abs: 0.001, unit: 'dB', why });
    close(found.centroidHz as number, 997, { rel: 0.001, unit: 'Hz', why });
    expect(found.flatness).toBeLessThan(1e-5);
    close(found.dcOffset, 0, { abs: 1e-5, unit: '', why: 'whole cycles but for the last' });
  });

  it('reads an offset, and does not let it into spectrum and hits', async () => {
    const plain = await measure([LOOP]);
    const found = await measure([LOOP.map((x) => x + 0.25)]);
    close(found.dcOffset, 0.25, { abs: 1e-3, unit: '', why: 'noise averages out' });
    close(found.centroidHz as number, plain.centroidHz as number, {
      rel: 0.01,
      unit: 'Hz',
      why: 'the offset ends under 15 Hz but for its start and end',
    });
    expect(found.onsets.length).toBe(32);
  });

  it('agrees with a second reader on loudness', async () => {
    const { loudnessMono, loudnessStereo } = await secondReader();
    const other = noise(LOOP.length, 0.05, 'other side');
    const why = 'the promise: 0.1 LU of an independent meter';
    const mono = await measure([LOOP]);
    close(mono.loudnessLufs as number, loudnessMono(RATE, LOOP), { abs: 0.1, unit: 'LU', why });
    const stereo = await measure([LOOP, other]);
    close(stereo.loudnessLufs as number, loudnessStereo(RATE, LOOP, other), {
      abs: 0.1,
      unit: 'LU',
      why,
    });
  });

  it('finds the hits in channels of opposite sign', async () => {
    const { onsets } = await measure([LOOP, LOOP.map((x) => -x)]);
    expect(onsets.length).toBe(32);
  });

  it('finds the hits in one of three channels', async () => {
    const silent = new Float64Array(LOOP.length);
    const { onsets, channels } = await measure([silent, LOOP, silent]);
    expect(channels).toBe(3);
    expect(onsets.length).toBe(32);
  });

  it('follows a hit that rings to the end of the recording', async () => {
    const { hits: found } = await measure([
      hits(6, RATE, [{ at: 0.2, tau: 0.6, amplitude: 0.5, hz: 220 }], 0.0005),
    ]);
    close(found[0]?.t60Seconds as number, 0.6 * Math.log(1000), {
      rel: 0.02,
      unit: 's',
      why: 'the promise at 60 dB',
    });
  });
});

describe('strokes', () => {
  /** Several strokes of noise, the last of which rings on. */
  const clap = (at: number, gaps: readonly number[], amplitude = 0.2): HitSpec[] => {
    const times = [at];
    for (const gap of gaps) times.push((times[times.length - 1] as number) + gap);
    return times.map((time, n) => ({
      at: time,
      tau: n === times.length - 1 ? 0.05 : 0.003,
      amplitude,
      seed: `stroke ${n}`,
    }));
  };
  const STRIKES = [0.2, 0.7, 1.2, 1.7];

  it.each([
    ['a clap of four, 12 ms apart', [0.012, 0.012, 0.012]],
    ['a clap of three, unevenly', [0.014, 0.019]],
    ['a flam of 22 ms', [0.022]],
    ['two strokes 28 ms apart', [0.028]],
  ])('%s are one hit, whose attack is that of the first', async (_, gaps) => {
    const specs = STRIKES.flatMap((at) => clap(at, gaps));
    const { onsets, hits: found } = await measure([hits(2.2, RATE, specs, 0.0005)]);
    expect(onsets.length).toBe(STRIKES.length);
    expect(found.length).toBe(STRIKES.length);
    found.forEach((hit, n) => {
      const at = STRIKES[n] as number;
      close(hit.time, at, { abs: 0.001, unit: 's', why: 'the promise' });
      expect(hit.time).toBe(onsets[n]);
      expect(hit.strokes.length).toBe(gaps.length + 1);
      let time = at;
      gaps.forEach((gap, k) => {
        time += gap;
        close(hit.strokes[k + 1] as number, time, { abs: 0.001, unit: 's', why: 'the promise' });
      });
      close(hit.decayTauSeconds as number, 0.05, {
        rel: 0.06,
        unit: 's',
        why: 'the ring of the last; noise over 52 dB of 50 ms has a deviation of 1 %, plus windows',
      });
    });
  });

  it.each([0.032, 0.045, 0.08])('that are %f s apart are hits of their own', async (gap) => {
    const specs = STRIKES.flatMap((at) => clap(at, [gap]));
    const { onsets, hits: found } = await measure([hits(2.2, RATE, specs, 0.0005)]);
    expect(onsets.length).toBe(2 * STRIKES.length);
    for (const { strokes } of found) expect(strokes.length).toBe(1);
  });

  it('are left to the tempo, which drops grace notes itself', async () => {
    const at = Array.from({ length: 12 }, (_, n) => 0.1 + 0.25 * n);
    const { tempo } = await measure([
      hits(
        3.2,
        RATE,
        at.flatMap((time) => clap(time, [0.02])),
        0.0005,
      ),
    ]);
    close(tempo?.bpm as number, 120, { rel: 1e-3, unit: 'bpm', why: '250 ms are half a quarter' });
  });
});

describe('what is not wanted', () => {
  it('is left out, and changes nothing of the rest', async () => {
    const whole = await measure([LOOP]);
    const meter = new SignalMeter(RATE, 1, { tempo: false, hitSpectra: false });
    meter.add({ channels: [LOOP], frames: LOOP.length });
    const left = { centroidHz: null, flatness: null, bands: [] };
    expect(meter.finish()).toEqual({
      ...whole,
      tempo: null,
      hits: whole.hits.map((hit) => ({ ...hit, ...left })),
    });
  });
});

describe('what cannot be measured', () => {
  const NOTHING: Partial<Measures> = {
    peakDbfs: null,
    truePeakDbtp: null,
    loudnessLufs: null,
    crestDb: null,
    centroidHz: null,
    flatness: null,
    onsets: [],
    hits: [],
    tempo: null,
  };

  it('is null for silence and for nothing', async () => {
    expect(await measure([new Float64Array(RATE)])).toMatchObject(NOTHING);
    expect(await measure([new Float64Array(0)])).toMatchObject(NOTHING);
  });

  it.each([1, 2, 7, 100])('is left out for %i samples, and no number is NaN', async (length) => {
    const found = await measure([new Float64Array(length).fill(0.5)]);
    expect(found.frames).toBe(length);
    expect(found.tempo).toBeNull();
    everyNumber(found, (x) => expect(Number.isFinite(x)).toBe(true));
  });

  it.each([1000, 4000, 384_000])('is little at %i Hz, and no number is NaN', async (rate) => {
    const samples = hits(0.5, rate, [{ at: 0.1, tau: 0.03, amplitude: 0.3, hz: 100 }], 0.001);
    const found = await measure([samples], rate);
    everyNumber(found, (x) => expect(Number.isFinite(x)).toBe(true));
    expect(found.onsets.length).toBe(1);
  });

  it('is refused with its place for samples that are no numbers', async () => {
    for (const bad of [Number.NaN, Number.POSITIVE_INFINITY, 1e200]) {
      const right = LOOP.slice();
      right[12345] = bad;
      await expect(measure([LOOP, right])).rejects.toThrow(`frame 12345 of channel 2 is ${bad}`);
    }
  });

  it('is refused for impossible rates and no channels', async () => {
    await expect(measure([LOOP], 0)).rejects.toThrow('from 1 kHz to 1 MHz');
    await expect(measure([LOOP], Number.NaN)).rejects.toThrow('from 1 kHz to 1 MHz');
    await expect(measure([])).rejects.toThrow('no channel');
  });
});

function everyNumber(value: unknown, check: (x: number) => void): void {
  if (typeof value === 'number') check(value);
  else if (typeof value === 'object' && value !== null) {
    for (const inner of Object.values(value)) everyNumber(inner, check);
  }
}
