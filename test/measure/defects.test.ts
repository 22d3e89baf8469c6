// The defects of a recording are reported, and none for a recording without defects. The faults are put
// into known hits; all tolerances follow from the faults' own definitions.

import { describe, expect, it } from 'vitest';
import { type Defect, defectsOf } from '../../src/measure/defects.ts';
import { type Measures, SignalMeter } from '../../src/measure/signal.ts';
import { close } from '../close.ts';
import { hits, noise } from './synthesis.ts';

const RATE = 48_000;

function measured(channels: readonly Float64Array[], rate = RATE): Measures {
  const meter = new SignalMeter(rate, channels.length, { tempo: false, hitSpectra: false });
  meter.add({ channels, frames: channels[0]?.length ?? 0 });
  return meter.finish();
}

const kinds = (measures: Measures, bits = 16): readonly Defect['kind'][] =>
  defectsOf(measures, bits).map(({ kind }) => kind);

const seen = (samples: Float64Array, bits = 16) => kinds(measured([samples]), bits);

/** A tone that is struck after 0.1 s, 1.2 s long. */
function struck(hz = 220, tau = 0.08): Float64Array {
  return new Float64Array(1.2 * RATE).map((_, n) => {
    const time = n / RATE - 0.1;
    return time < 0 ? 0 : 0.5 * Math.sin(2 * Math.PI * hz * time) * Math.exp(-time / tau);
  });
}

const sine = (hz: number, peak: number) => (_: number, n: number) =>
  peak * Math.sin((2 * Math.PI * hz * n) / RATE);

const added = (samples: Float64Array, more: (value: number, n: number) => number) =>
  samples.map((value, n) => value + more(value, n));

describe('defectsOf', () => {
  it('says nothing of hits, loops and short kicks that are as they should be', () => {
    const loop = hits(
      4,
      RATE,
      Array.from({ length: 8 }, (_, n) => ({ at: 0.1 + 0.45 * n, tau: 0.05, amplitude: 0.3 })),
      0.0005,
    );
    expect(seen(struck())).toEqual([]);
    expect(seen(loop)).toEqual([]);
    // A kick at the frequency of mains, short and long: it falls, which hum does not.
    for (const hz of [50, 60, 100]) {
      expect(seen(struck(hz, 0.1))).toEqual([]);
      expect(seen(struck(hz, 0.5))).not.toContain('hum');
    }
    expect(kinds(measured([struck(), struck()]))).toEqual([]);
  });

  // Both of every sound, cut at many moments: where a tone passes through zero, nothing tells a cut.
  it('tells what is cut at its start, and what at its end', () => {
    const sounds = {
      tone: struck(220, 0.08),
      low: struck(55, 0.2),
      noise: hits(1.2, RATE, [{ at: 0.1, tau: 0.06, amplitude: 0.15, attack: 0.002 }]),
    };
    for (const [name, samples] of Object.entries(sounds)) {
      let told = 0;
      for (let k = 0; k < 40; k++) {
        const rest = seen(samples.subarray(Math.round((0.13 + 0.00171 * k) * RATE)));
        if (rest.includes('cut-start')) told += 1;
      }
      // One value in ten of a sine is under 16 % of its peak, of noise under 13 % of three deviations: the bound is 6 %.
      expect(told, name).toBeGreaterThanOrEqual(34);
      // Trimmed to a few samples before it, it is not.
      expect(seen(samples.subarray(0.1 * RATE - 2)), name).not.toContain('cut-start');
      const short = seen(samples.subarray(0, Math.round(0.2 * RATE)));
      expect(short, name).toContain('cut-end');
      // A tail that is trimmed and followed by silence is no longer there.
      const silenced = samples.map((x, n) => (n < 0.2 * RATE ? x : 0));
      expect(seen(silenced), name).toContain('cut-end');
      expect(seen(samples), name).not.toContain('cut-end');
    }
  });

  it('tells silence, a floor, and sound in which nothing sets in', () => {
    expect(seen(new Float64Array(RATE))).toEqual(['silent']);
    expect(seen(new Float64Array(0))).toEqual(['silent']);
    expect(seen(noise(RATE, 1e-5, 'floor'))).toEqual(['silent']);
    expect(seen(new Float64Array(RATE).fill(0.1))).toEqual(['no-hit', 'offset']);
  });

  it('tells 2 ms from a hit', () => {
    expect(seen(struck().subarray(0.1 * RATE, 0.102 * RATE))).toContain('too-short');
  });

  it('tells flat tops, but not the steps of a soft wave in 8 bits', () => {
    const flat = struck().map((value) => Math.max(-0.2, Math.min(0.2, value)));
    expect(seen(flat)).toEqual(['clipped']);
    const soft = struck().map((value) => Math.round(0.1 * value * 128) / 128);
    expect(seen(soft, 8)).toEqual(['coarse']);
    // 16 steps of 16 bits: flat tops of the recording's own, and not of the sound.
    const faint = measured([struck().map((value) => Math.round(0.001 * value * 32768) / 32768)]);
    expect(kinds(faint)).toEqual(['coarse']);
    expect(Object.values(faint.hits[0]?.reasons ?? {})).toContain('coarse');
    expect(Object.values(faint.hits[0]?.reasons ?? {})).not.toContain('clipped');
    expect(seen(struck(), 0)).toEqual([]);
  });

  it('tells bright noise that was cut off, which has no flat tops, and no steady tone of few samples a period', () => {
    // What a hat's high-pass leaves: the second difference of noise, of which neighbours are mostly of opposite sign.
    const white = noise(RATE, 0.2, 'hat');
    const hat = white.map((value, n) => {
      const bright = (value - 2 * (white[n - 1] ?? 0) + (white[n - 2] ?? 0)) / 2;
      return n < 0.1 * RATE ? 0 : bright * Math.exp(-(n / RATE - 0.1) / 0.06);
    });
    const peak = hat.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
    const cut = (share: number) =>
      hat.map((value) => Math.max(-share * peak, Math.min(share * peak, value)));
    expect(seen(hat)).toEqual([]);
    for (const share of [0.5, 0.25, 0.1]) expect(seen(cut(share))).toContain('clipped');
    for (const hz of [2000, 4000, 8000, 11_990, 12_000, 14_400]) {
      const tone = new Float64Array(RATE).map((_, n) =>
        n < 0.1 * RATE ? 0 : 0.5 * Math.sin((2 * Math.PI * hz * n) / RATE + 0.3),
      );
      expect(seen(tone), String(hz)).not.toContain('clipped');
    }
  });

  it('tells an offset from a drift', () => {
    const offset = measured([added(struck(), () => 0.1)]);
    expect(kinds(offset)).toEqual(['offset']);
    close(offset.condition.restOffset, 0.1, { abs: 0.002, unit: '', why: 'the hit is no offset' });
    const drift = measured([added(struck(), (_, n) => (0.3 * n) / (1.2 * RATE))]);
    expect(kinds(drift)).toContain('drift');
    // Stretches of 0.4 s from the start and from 0.8 s: their middles are 0.8 s apart.
    close(drift.condition.drift, 0.2, { abs: 0.004, unit: '', why: '0.25 a second for 0.8 s' });
  });

  it('takes no strokes for a drift, though each has a mean of its own', () => {
    // The push of a membrane: to one side, and soon gone.
    const push = (at: number, n: number) =>
      n < at * RATE ? 0 : 0.4 * Math.exp((at - n / RATE) / 0.01);
    const starts = [0.3, 1.3, 2.1, 3.2, 4];
    const strokes = Float64Array.from({ length: 5 * RATE }, (_, n) =>
      starts.reduce((sum, at) => sum + push(at, n), 0),
    );
    expect(seen(strokes)).toEqual([]);
    const wandering = added(strokes, (_, n) => 0.05 * Math.sin((Math.PI * n) / RATE));
    expect(seen(wandering)).toEqual(['drift']);
  });

  it.each([50, 60, 100, 120, 150, 180])('tells hum at %d Hz, and how loud it is', (hz) => {
    const { condition, ...rest } = measured([added(struck(430), sine(hz, 0.01))]);
    expect(kinds({ condition, ...rest })).toContain('hum');
    expect(condition.hum?.hz).toBe(hz);
    expect(condition.hum?.mainsHz).toBe([50, 100, 150].includes(hz) ? 50 : 60);
    close(condition.hum?.dbfs as number, -40, { abs: 0.5, unit: 'dB', why: 'the hit beside it' });
  });

  it('takes no note that is held for hum: each lies 1 Hz or more beside the mains', () => {
    // Equal temperament, A4 = 440 Hz: G1, A#1, B1, G2, A#2, B2, D3, F3, F#3.
    for (const hz of [48.999, 58.27, 61.735, 97.999, 116.541, 123.471, 146.832, 174.614, 184.997])
      expect(measured([added(struck(430), sine(hz, 0.1))]).condition.hum).toBeNull();
  });

  it('tells channels that run against the first, and those that hold nothing', () => {
    const hit = struck();
    const turned = hit.map((value) => -0.7 * value);
    const opposed = measured([hit, turned]);
    expect(kinds(opposed)).toEqual(['opposed']);
    expect(opposed.condition.opposedChannels).toEqual([2]);
    // The hits are measured all the same: half of 0.5 and of 0.35, together.
    close(opposed.hits[0]?.decayTauSeconds as number, 0.08, {
      rel: 0.02,
      unit: 's',
      why: 'a clean fall',
    });
    const empty = measured([new Float64Array(hit.length), hit]);
    expect(kinds(empty)).toEqual(['silent-channel']);
    expect(empty.condition.silentChannels).toEqual([1]);
  });

  it('sees the same however the samples are split, and at any rate', () => {
    const samples = added(struck(), sine(50, 0.01));
    const whole = measured([samples]).condition;
    const meter = new SignalMeter(RATE, 1);
    for (let from = 0; from < samples.length; from += 777) {
      const part = samples.subarray(from, from + 777);
      meter.add({ channels: [part], frames: part.length });
    }
    expect(meter.finish().condition).toEqual(whole);
    for (const rate of [1000, 8000, 44_100, 192_000]) {
      const hum = new Float64Array(2 * rate).map(
        (_, n) => 0.01 * Math.sin((2 * Math.PI * 50 * n) / rate),
      );
      expect(measured([hum], rate).condition.hum?.hz).toBe(50);
    }
  });
});
