// Hits measured with drift and hum removed, against what the hits are made of: sines that fall by a known time
// constant, under mains hum off its nominal frequency, with harmonics, and a rest level that drifts.

import { describe, expect, it } from 'vitest';
import { defectsOf } from '../../src/measure/defects.ts';
import { EventMeter, type Events } from '../../src/measure/hits/events.ts';
import { type MendedRecording, mendedOf } from '../../src/measure/mended.ts';
import type { SampleBlock } from '../../src/measure/samples.ts';
import { type Measures, SignalMeter } from '../../src/measure/signal.ts';
import { close } from '../close.ts';

const RATE = 24_000;
const SECONDS = 4;
const TAU = 0.06;
const HZ = 330;

type Wave = (time: number) => number;

const hitAt =
  (at: number): Wave =>
  (time) =>
    time < at ? 0 : 0.5 * Math.exp((at - time) / TAU) * Math.sin(2 * Math.PI * HZ * (time - at));
const HITS: Wave = (time) => hitAt(0.5)(time) + hitAt(2.2)(time);
const sine =
  (hz: number, amplitude: number, phase = 0.7): Wave =>
  (time) =>
    amplitude * Math.sin(2 * Math.PI * hz * time + phase);
/** Mains 0.08 % fast, as they may be (common practice), with two harmonics. */
const HUM: Wave = (time) =>
  sine(50.04, 0.02)(time) + sine(100.08, 0.01, 2)(time) + sine(150.12, 0.008, 1)(time);
const DRIFT: Wave = (time) => 0.08 * Math.sin(2 * Math.PI * 0.15 * time) + 0.02 * time;

const block = (...waves: readonly Wave[]) => {
  const samples = new Float64Array(SECONDS * RATE).map((_, n) =>
    waves.reduce((sum, wave) => sum + wave(n / RATE), 0),
  );
  return { channels: [samples], frames: samples.length };
};
type Block = ReturnType<typeof block>;

const firstOf = (one: SampleBlock | undefined): Float64Array => one?.channels[0] as Float64Array;

function measured(one: Block): Measures {
  const meter = new SignalMeter(RATE, 1, { tempo: false, hitSpectra: false });
  meter.add(one);
  return meter.finish();
}

const mended = (one: Block): MendedRecording | undefined =>
  mendedOf([one], { sampleRate: RATE, channels: 1, ...pick(measured(one)) });
const pick = ({ condition, peakDbfs }: Measures) => ({ condition, peakDbfs });

function eventsOf(one: Block): Events {
  const found = mended(one);
  const meter = new EventMeter(RATE, 1, {}, found?.left);
  for (const part of found?.blocks([one]) ?? [one]) meter.add(part);
  return meter.finish();
}

describe('a recording that is mended', () => {
  it.each([
    ['hum', block(HITS, HUM)],
    ['drift', block(HITS, DRIFT)],
    ['both', block(HITS, HUM, DRIFT)],
  ])('of %s gives the falls and pitches that its hits have', (_, spoilt) => {
    const { onsets, hits } = eventsOf(spoilt);
    expect(onsets).toHaveLength(2);
    for (const hit of hits) {
      const why =
        'what the measures promise of clean hits, and a little for what is left of the fault';
      close(hit.decayTauSeconds as number, TAU, { abs: 0.03 * TAU, unit: 's', why });
      close(hit.t60Seconds as number, TAU * Math.log(1000), { abs: 0.03, unit: 's', why });
      close(hit.pitchHz as number, HZ, { abs: 0.5, unit: 'Hz', why: 'three cents' });
      // 50 dB under the peak the hum, of 28 dB under it, hid the fall.
      expect(hit.down40Seconds).not.toBeNull();
    }
    const unmended = measured(spoilt).hits;
    expect(unmended.every(({ down40Seconds }) => down40Seconds !== null)).toBe(false);
  });

  it.each<[string, Wave]>([
    ['a slow sine', sine(0.35, 0.45, 1)],
    ['a faster sine', sine(0.8, 0.45, 2.5)],
    ['a coupling capacitor that charges', (time) => 0.45 * Math.exp(-time / 0.3)],
    ['a straight line', (time) => 0.3 * time - 0.4],
  ])('of %s has no strokes but its own, and a low drum keeps its fall', (_, drift) => {
    const kickTau = 0.25;
    const kick: Wave = (time) =>
      time < 0.2
        ? 0
        : 0.4 * Math.exp((0.2 - time) / kickTau) * Math.sin(2 * Math.PI * 48 * (time - 0.2));
    expect(eventsOf(block(drift)).onsets).toEqual([]);
    // The first so early that the level before it is hardly known.
    const early = [0.1, 0.6, 1.1];
    expect(eventsOf(block(drift, ...early.map(hitAt))).onsets).toHaveLength(early.length);
    const { hits } = eventsOf(block(drift, kick));
    expect(hits).toHaveLength(1);
    close(hits[0]?.decayTauSeconds as number, kickTau, {
      abs: 0.05 * kickTau,
      unit: 's',
      why: 'what a figure without a doubt promises',
    });
  });

  it('has so little left of either that a hundredth of it is more', () => {
    const spoilt = block(HITS, HUM, DRIFT);
    const clean = block(HITS).channels[0] as Float64Array;
    const [first] = mended(spoilt)?.blocks([spoilt]) ?? [];
    const left = firstOf(first).map((value, n) => value - (clean[n] as number));
    const rms = (samples: Float64Array): number =>
      Math.sqrt(samples.reduce((sum, value) => sum + value * value, 0) / samples.length);
    const fault = block(HUM, DRIFT).channels[0] as Float64Array;
    expect(rms(left)).toBeLessThan(0.05 * rms(fault));
  });

  it('tells what was taken away: the lines as they are, not as the mains should be', () => {
    const spoilt = block(HITS, HUM, DRIFT);
    const mends = mended(spoilt)?.mends;
    expect(mends?.drift).toBe(true);
    expect(mends?.hum.map(({ hz }) => hz.toFixed(1))).toEqual(['50.0', '100.1', '150.1']);
    close(mends?.hum[0]?.dbfs as number, 20 * Math.log10(0.02), {
      abs: 0.3,
      unit: 'dB',
      why: 'the hits beside it',
    });
    const told = defectsOf(measured(spoilt), 16, mends);
    for (const { kind, message } of told)
      if (kind === 'hum' || kind === 'drift')
        expect(message).toContain("taken out of the hits' figures");
    expect(told.map(({ kind }) => kind)).toEqual(expect.arrayContaining(['hum', 'drift']));
  });

  it('is none of one that has neither, such as a kick at the mains’ own frequency', () => {
    expect(mended(block(HITS))).toBeUndefined();
    const kick: Wave = (time) => Math.exp(-time / 0.15) * Math.sin(2 * Math.PI * 50 * time);
    expect(mended(block(kick))).toBeUndefined();
  });

  it('is the same however it comes in blocks', () => {
    const spoilt = block(HITS, HUM, DRIFT);
    const whole = spoilt.channels[0] as Float64Array;
    const parts = [0, 7001, 30_000].map((from, k, all) => {
      const part = whole.slice(from, all[k + 1]);
      return { channels: [part], frames: part.length };
    });
    const { condition, peakDbfs } = measured(spoilt);
    const split = mendedOf(parts, { sampleRate: RATE, channels: 1, condition, peakDbfs });
    const joined = [...(split?.blocks(parts) ?? [])].flatMap(({ channels }) => [
      ...(channels[0] as Float64Array),
    ]);
    const [first] = mended(spoilt)?.blocks([spoilt]) ?? [];
    const once = firstOf(first);
    // A turn is counted on from each block's start.
    const far = joined.reduce(
      (most, value, n) => Math.max(most, Math.abs(value - (once[n] as number))),
      0,
    );
    expect(far).toBeLessThan(1e-9);
  });
});
