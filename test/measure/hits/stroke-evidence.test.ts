// Strokes close together are separated, and a sound that fluctuates is one stroke: against strokes at known
// samples, and against sounds that are struck once.

import fc from 'fast-check';
import FFT from 'fft.js';
import { describe, expect, it } from 'vitest';
import { runs } from '../../runs.ts';
import { countOnsets, expectOnsets, onsets, RATE } from '../detect.ts';
import { gaussian, type HitSpec, hits, noise, tone } from '../synthesis.ts';

/** Levels of a second stroke against what the first has left of itself, dB. */
function risesBy(gap: number, tau: number, graceDb: number): number {
  return -graceDb + (20 / Math.LN10) * (gap / tau);
}

const log = (min: number, max: number) =>
  fc.double({ min: Math.log(min), max: Math.log(max), noNaN: true }).map(Math.exp);

type Sound = readonly Omit<HitSpec, 'at'>[];

/** As long as a sound of 0.6 s and an echo after 0.31 s together. */
const ROOM = new FFT(65_536);

/** Sounds that set in at once, of noise or of partials; the first part is the loudest. */
const STRUCK: Record<string, fc.Arbitrary<Sound>> = {
  noise: log(0.003, 0.06).map((tau) => [{ tau, amplitude: 0.2 }]),
  hats: fc
    .record({ tau: log(0.004, 0.06), hz: log(5000, 10_000) })
    .map(({ tau, hz }) => [{ tau, amplitude: 0.2, band: { hz, q: 0.7 } }]),
  snares: fc.record({ tau: log(0.01, 0.04), hz: log(150, 250) }).map(({ tau, hz }) => [
    { tau, amplitude: 0.2, band: { hz: 4500, q: 0.5 } },
    { tau, amplitude: 0.1, hz },
    { tau, amplitude: 0.06, hz: 1.594 * hz },
  ]),
};

/** Noise of 20 kHz wavers by 1 dB from one millisecond to the next, that of a snare by 1.5 dB. */
const CLEAR = 9;

/**
 * All but one in fifty of many cases must hold: what is made of noise looks like anything by chance.
 * @param usual cases in an ordinary test run.
 */
function mostly<Case>(
  cases: fc.Arbitrary<Case>,
  usual: number,
  holds: (one: Case) => boolean,
): void {
  const all = fc.sample(cases, runs(usual));
  const failing = all.filter((one) => !holds(one));
  expect(failing.length, JSON.stringify(failing.slice(0, 3))).toBeLessThanOrEqual(all.length / 50);
}

describe('onsets of a flam', () => {
  it.each(Object.keys(STRUCK))('of %s are found within 1 ms down to 10 ms apart', (name) => {
    const flams = fc
      .record({
        sound: STRUCK[name] as fc.Arbitrary<Sound>,
        gap: fc.double({ min: 0.01, max: 0.03, noNaN: true }),
        graceDb: fc.constantFrom(0, -3, -6, -12),
        floor: fc.constantFrom(0, 0.0002, 0.002),
        seed: fc.integer(),
      })
      .filter(
        ({ sound, gap, graceDb }) => risesBy(gap, (sound[0] as HitSpec).tau, graceDb) > CLEAR,
      );
    mostly(flams, 120, ({ sound, gap, graceDb, floor, seed }) => {
      const specs = sound.flatMap((part) => [
        {
          ...part,
          at: 0.1,
          amplitude: part.amplitude * 10 ** (graceDb / 20),
          seed: `grace ${seed}`,
        },
        { ...part, at: 0.1 + gap, seed: `main ${seed}` },
      ]);
      const found = onsets(hits(0.4, RATE, specs, floor, String(seed)));
      return found.length === 2 && countOnsets(found, [0.1, 0.1 + gap]) === 2;
    });
  });

  it('on a drum are found by its stick, nine times in ten', () => {
    // The zeros of Bessel functions, where a round skin sounds, and a click.
    const drum = (hz: number, at: number): HitSpec[] => [
      ...[1, 1.594, 2.136, 2.296].map((mode, k) => ({
        at,
        hz: hz * mode,
        tau: 0.1 / (k + 1),
        amplitude: 0.3 / (k + 1),
      })),
      { at, hz: 1100, tau: 0.0028, amplitude: 0.1 },
    ];
    let [strokes, found, others] = [0, 0, 0];
    for (let hz = 80; hz < 200; hz += 8) {
      for (const gap of [0.016, 0.019, 0.022, 0.025, 0.028]) {
        const at = [0.1, 0.1 + gap];
        const samples = hits(
          0.5,
          RATE,
          at.flatMap((time) => drum(hz, time)),
          0.00003,
        );
        const times = onsets(samples);
        strokes += at.length;
        found += countOnsets(times, at);
        others += times.length - countOnsets(times, at);
      }
    }
    // Where two modes leave little of each other they may rise again as steeply as a click.
    expect(found / strokes).toBeGreaterThan(0.9);
    expect(others / strokes).toBeLessThan(0.02);
  });

  it('and of claps are found, nineteen in twenty', () => {
    let [strokes, found, others] = [0, 0, 0];
    for (let k = 0; k < 60; k++) {
      // Four hands, 8.5 to 12 ms apart.
      const at = [0.1];
      for (let n = 1; n < 4; n++)
        at.push((at[n - 1] as number) + 0.0085 + (0.0035 * ((37 * k + 61 * n) % 100)) / 100);
      const specs = at.map((time, n) => ({
        at: time,
        tau: n === 3 ? 0.03 : 0.002,
        amplitude: 0.2,
        seed: String(k),
      }));
      const times = onsets(hits(0.4, RATE, specs, 0.0005));
      strokes += at.length;
      found += countOnsets(times, at);
      others += times.length - countOnsets(times, at);
    }
    // By chance a hand is as soft as what the one before has left.
    expect(found / strokes).toBeGreaterThan(0.95);
    expect(others).toBe(0);
  });

  it.each([8000, 22_050, 96_000, 192_000])('are found at %i Hz', (rate) => {
    const strokes = [0.1, 0.122].map((at, n) => ({
      at,
      tau: 0.012,
      amplitude: n === 0 ? 0.1 : 0.2,
    }));
    expectOnsets(onsets(hits(0.5, rate, strokes, 0.0005), rate), [0.1, 0.122]);
  });
});

describe('one stroke is one onset', () => {
  const voices: Record<string, fc.Arbitrary<Sound>> = {
    noise: log(0.003, 0.3).map((tau) => [{ tau, amplitude: 0.2 }]),
    'coloured noise': fc
      .record({ tau: log(0.01, 0.3), hz: log(300, 8000), q: log(0.5, 2) })
      .map(({ tau, hz, q }) => [{ tau, amplitude: 0.2, band: { hz, q } }]),
    'noise that swells': fc
      .record({ tau: log(0.03, 0.3), attack: log(0.003, 0.03) })
      .map(({ tau, attack }) => [{ tau, amplitude: 0.2, attack }]),
    'a tone': fc
      .record({ tau: log(0.01, 0.3), hz: log(60, 4000), phase: fc.constantFrom(0, Math.PI / 2) })
      .map((part) => [{ ...part, amplitude: 0.5 }]),
    'two modes': fc
      .record({
        hz: log(60, 1200),
        ratio: fc.double({ min: 1.2, max: 3, noNaN: true }),
        taus: fc.tuple(log(0.03, 0.3), log(0.03, 0.3)),
      })
      .map(({ hz, ratio, taus }) => [
        { tau: taus[0], amplitude: 0.35, hz },
        { tau: taus[1], amplitude: 0.25, hz: hz * ratio },
      ]),
    'partials that beat': fc
      .record({ hz: log(150, 3000), apart: log(5, 60), tau: log(0.05, 0.3) })
      .map(({ hz, apart, tau }) => [
        { tau, amplitude: 0.3, hz },
        { tau, amplitude: 0.25, hz: hz + apart },
      ]),
    'a kick with its click': fc
      .record({
        hz: log(40, 70),
        octaves: log(1, 4),
        fall: log(0.008, 0.04),
        click: log(0.001, 0.006),
      })
      .map(({ hz, octaves, fall, click }) => [
        { tau: 0.1, amplitude: 0.5, hz, fall: { octaves, tau: fall } },
        { tau: click, amplitude: 0.1 },
      ]),
  };

  const damages: Record<string, (samples: Float64Array, seed: number) => Float64Array> = {
    'over hiss': (samples, seed) => add(samples, noise(samples.length, 0.0005, `hiss ${seed}`)),
    'under an offset': (samples) => samples.map((x) => x + 0.3),
    'over hum': (samples) =>
      add(
        samples,
        tone(samples.length, { hz: 50, amplitude: 0.01, sampleRate: RATE }),
        tone(samples.length, { hz: 150, amplitude: 0.004, sampleRate: RATE }),
      ),
    'through clipping': (samples) => samples.map((x) => Math.max(-0.1, Math.min(0.1, x))),
    'in a room': inRoom,
  };

  it.each(
    Object.keys(damages).flatMap((damage) => Object.keys(voices).map((voice) => [voice, damage])),
  )('of %s %s', (voice, damage) => {
    const strokes = fc.record({
      sound: voices[voice] as fc.Arbitrary<Sound>,
      seed: fc.integer(),
    });
    mostly(strokes, 25, ({ sound, seed }) => {
      const specs = sound.map((part) => ({ ...part, at: 0.1, seed: String(seed) }));
      const samples = (damages[damage] as (typeof damages)[string])(hits(0.6, RATE, specs), seed);
      return onsets(samples).length === 1;
    });
  });

  it('of a low wave full of edges', () => {
    const saw = new Float64Array(RATE).map((_, n) => {
      const t = n / RATE - 0.1;
      return t < 0 ? 0 : 0.3 * (2 * ((t * 65.4) % 1) - 1) * Math.exp(-t / 0.3);
    });
    expectOnsets(onsets(saw), [0.1]);
  });
});

function add(...signals: readonly Float64Array[]): Float64Array {
  const [first, ...others] = signals as [Float64Array];
  return first.map((x, n) => others.reduce((sum, other) => sum + (other[n] as number), x));
}

/**
 * Echoes at random times, two a millisecond and ever softer: 0.4 s of reverberation, 20 dB down. What
 * comes of them is the convolution, by spectra: 600 echoes one by one took a third of this file's time.
 */
function inRoom(samples: Float64Array, seed: number): Float64Array {
  const next = gaussian(`room ${seed}`);
  // The sound, and beside it the echoes: two real signals in one transform.
  const both = ROOM.createComplexArray();
  for (let n = 0; n < samples.length; n++) both[2 * n] = samples[n] as number;
  both[1] = 1;
  for (let k = 0; k < 600; k++) {
    const delay = Math.round((0.004 + (0.3 * (k + Math.abs(next()) / 4)) / 600) * RATE);
    const gain = 0.004 * next() * 10 ** ((-3 * delay) / RATE / 0.4);
    both[2 * delay + 1] = (both[2 * delay + 1] as number) + gain;
  }
  const spectrum = ROOM.createComplexArray();
  ROOM.transform(spectrum, both);
  // Of z = x + iy the square is x^2 - y^2 + 2ixy: its imaginary part is twice the convolution.
  for (let k = 0; k < spectrum.length; k += 2) {
    const [re, im] = [spectrum[k] as number, spectrum[k + 1] as number];
    spectrum[k] = re * re - im * im;
    spectrum[k + 1] = 2 * re * im;
  }
  ROOM.inverseTransform(both, spectrum);
  return samples.map((_, n) => (both[2 * n + 1] as number) / 2);
}
