// Frequency modulation, sync and pulse width by volts: meanings by deduction and against closed
// forms worked out here, and what folds back against a limit. Modulator and carrier are whole
// multiples of one frequency, which shares no period with the rate: everything that belongs to the
// sound then lies on multiples of it, and what folds lies between them.

import { describe, expect, it } from 'vitest';
import { oscillator } from '../../src/modules/oscillator.ts';
import { close } from '../close.ts';
import { play } from './gates.ts';
import { solo } from './solo.ts';
import { component, lines, loudestBetweenHarmonics } from './spectrum.ts';

const RATE = 48_000;
const WAVES = ['sine', 'triangle', 'saw', 'pulse'] as const;
type Wave = (typeof WAVES)[number];
/** Samples by which every wave is late. */
const LATE = 3;

/** Volts at the five inputs, in their order. */
type Drive = (n: number) => readonly [number, number, number, number, number];

function sound(wave: Wave, settings: object, drive: Drive, length = 32_768): Float64Array {
  const circuit = solo(oscillator, { settings: { ...settings }, sampleRate: RATE });
  // The start dies away first.
  for (let n = 0; n < 1000; n++) circuit.run(...drive(n));
  return Float64Array.from(play(circuit, [wave], length, (n) => drive(n + 1000))[wave]);
}

function sine(hertz: number, volts: number): (n: number) => number {
  return (n) => volts * Math.sin((2 * Math.PI * hertz * n) / RATE);
}

/** A rising saw from -5 V to 5 V, not band limited: it crosses any threshold in a straight line. */
function ramp(hertz: number): (n: number) => number {
  return (n) => 10 * (((hertz * n) / RATE) % 1) - 5;
}

/** dB of the loudest thing between multiples of `hertz`, against the loudest of all. */
function folded(wave: Wave, settings: object, drive: Drive, hertz: number): number {
  const spectrum = lines(sound(wave, settings, drive), RATE);
  const loudest = Math.max(...spectrum.amplitudes.slice(20));
  const between = loudestBetweenHarmonics(spectrum, hertz, 20, 20_000);
  return 20 * Math.log10(between / loudest);
}

/** Hz of a steady sine, by its phase at two places a second apart. */
function frequency(volts: Float64Array, near: number): number {
  const span = 8192;
  const last = volts.length - span;
  const gained =
    component(volts.subarray(last), RATE, near).phase -
    component(volts.subarray(0, span), RATE, near).phase -
    (near * last) / RATE;
  return near + ((gained - Math.round(gained)) * RATE) / last;
}

describe('exponential FM', () => {
  it('is an octave a volt, or what its amount makes of it', () => {
    for (const [amount, volts, hertz] of [
      [1, 1, 880],
      [0.5, -2, 220],
      [-1, 0.5, 440 / Math.SQRT2],
    ] as const) {
      const settings = { 'at-zero': 440, 'exponential-fm-amount': amount };
      const found = sound('sine', settings, () => [0, volts, 0, 0, 0], 24_000);
      close(frequency(found, hertz), hertz, {
        rel: 1e-6,
        unit: '',
        why: 'the phase of a second and less is good to 1e-9 turns or better',
      });
    }
  });

  it('adds to the pitch', () => {
    const settings = { 'at-zero': 100 };
    const drive: Drive = (n) => [Math.sin(n / 500), 1, 0, 0, 0];
    const other: Drive = (n) => [Math.sin(n / 500) + 1, 0, 0, 0, 0];
    expect(sound('saw', settings, drive, 2000)).toEqual(sound('saw', settings, other, 2000));
  });
});

describe('linear FM', () => {
  it('at 100 % doubles the frequency at 5 V, halves it at -2.5 V and stops it at -5 V', () => {
    for (const [volts, hertz] of [
      [5, 600],
      [-2.5, 150],
    ] as const) {
      const found = sound('sine', { 'at-zero': 300 }, () => [0, 0, volts, 0, 0], 24_000);
      close(frequency(found, hertz), hertz, { rel: 1e-6, unit: '', why: 'as above' });
    }
    const still = sound('sine', { 'at-zero': 300 }, () => [0, 0, -5, 0, 0], 1000);
    expect(new Set(still).size).toBe(1);
  });

  it('starts at phase 0, whatever it gets', () => {
    const circuit = solo(oscillator, { settings: { 'at-zero': 300 }, sampleRate: RATE });
    const { sine: volts } = play(circuit, ['sine'], 8, () => [0, 0, 5, 0, 0]);
    expect(volts.slice(0, LATE + 1)).toEqual([0, 0, 0, 0]);
    const next = 5 * Math.sin((2 * Math.PI * 600) / RATE);
    close(volts[LATE + 1], next, {
      abs: 1e-9,
      unit: 'V',
      why: "the polynomial's 7e-11 and rounding",
    });
  });

  // Sidebands of a sine: Bessel functions J_n of the index, Abramowitz & Stegun 9.1.42 and table
  // 9.1 (from memory): J0(1) = 0.7651976866, J1(1) = 0.4400505857, J2(1) = 0.1149034849.
  it('gives a sine the sidebands of its index', () => {
    const [carrier, modulator] = [3000, 200];
    // Index = deviation / modulator = 1.
    const amount = modulator / carrier;
    const settings = { 'at-zero': carrier, 'linear-fm-amount': amount };
    const found = sound('sine', settings, (n) => [0, 0, sine(modulator, 5)(n), 0, 0]);
    for (const [n, bessel] of [0.7651976866, 0.4400505857, 0.1149034849].entries()) {
      for (const side of [-1, 1]) {
        const { amplitude } = component(found, RATE, carrier + side * n * modulator);
        close(amplitude / 5, bessel, {
          abs: 1e-4,
          unit: '',
          why: "the trapezoidal rule's (2 pi f / rate)^2 / 12 = 6e-5 of the index",
        });
      }
    }
  });
});

describe('sync', () => {
  it('gives the pitch of the master', () => {
    const master = 441.37;
    for (const wave of WAVES) {
      const found = sound(wave, { 'at-zero': 700 }, (n) => [0, 0, 0, ramp(master)(n), 0]);
      const { amplitudes, resolution } = lines(found, RATE);
      const loudest = amplitudes.indexOf(Math.max(...amplitudes.slice(20)));
      const harmonic = (loudest * resolution) / master;
      const multiple = Math.round(harmonic) * master;
      close(harmonic * master, multiple, { abs: resolution, unit: 'Hz', why: 'a bin' });
    }
  });

  it('starts a period at the moment that the threshold is passed, between the samples', () => {
    // At 0.4 V a sample it passes 2.5 V three quarters of a sample after sample 1006.
    const drive: Drive = (n) => [0, 0, 0, n < 1000 ? 0 : (n - 1000) * 0.4 - 0.2, 0];
    const circuit = solo(oscillator, { settings: { 'at-zero': 100 }, sampleRate: RATE });
    const { sine: volts } = play(circuit, ['sine'], 1200, drive);
    // The jump has died away after 32 samples.
    for (let n = 1007 + LATE + 40; n < 1200; n++) {
      const wanted = 5 * Math.sin((2 * Math.PI * 100 * (n - LATE - 1006.75)) / RATE);
      close(volts[n], wanted, {
        abs: 1e-6,
        unit: 'V',
        why: 'the jump has died away after 32 samples',
      });
    }
  });

  it('takes a gate, once, and none that is on from the start', () => {
    const gates: Drive = (n) => [0, 0, 0, n < 50 || (n >= 2000 && n < 4000) ? 5 : 0, 0];
    const circuit = solo(oscillator, { settings: { 'at-zero': 100 }, sampleRate: RATE });
    const { sine: volts } = play(circuit, ['sine'], 4800, gates);
    const at = (n: number, start: number): number =>
      5 * Math.sin((2 * Math.PI * 100 * (n - LATE - start)) / RATE);
    close(volts[1900], at(1900, 0), { abs: 1e-6, unit: 'V', why: 'the jump has died away' });
    // Where between 1999 and 2000 is a matter of a model: within a sample of it.
    const slope = (2 * Math.PI * 100 * 5) / RATE;
    for (const n of [2100, 3900, 4700])
      close(volts[n], at(n, 1999.5), {
        abs: slope / 2,
        unit: 'V',
        why: 'where between 1999 and 2000 is a matter of a model: within a sample of it',
      });
  });
});

describe('width by volts', () => {
  // A pulse that is high for a part d of the period has a direct voltage of 5 (2 d - 1).
  it.each([
    [0.5, 0, 0.5],
    [0.5, 2, 0.7],
    [0.3, -1, 0.2],
    [0.5, 12, 0.95],
    [0.5, -12, 0.05],
  ])('set to %f and %f V: high for %f of the period', (width, volts, part) => {
    const found = sound('pulse', { 'at-zero': 100, width }, () => [0, 0, 0, 0, volts], RATE);
    const mean = found.reduce((sum, v) => sum + v, 0) / found.length;
    close(mean, 5 * (2 * part - 1), {
      abs: 1e-3,
      unit: 'V',
      why: "whole periods, so the mean is exact but for the table's interpolation",
    });
  });

  it('opens and closes the pulse wherever the width passes the phase', () => {
    // Standing at a phase of 0.5 - the linear FM stops it - the pulse is a comparator of the width.
    const settings = { 'at-zero': 100, width: 0.5 };
    const drive: Drive = (n) => [0, 0, n < 240 ? 0 : -5, 0, n < 400 ? 0 : (n - 600) / 100];
    const circuit = solo(oscillator, { settings, sampleRate: RATE });
    const { pulse } = play(circuit, ['pulse'], 800, drive);
    expect([pulse[590], pulse[650]]).toEqual([-5, 5]);
  });
});

describe('what folds back', () => {
  // Published methods take the jumps and corners out; the limits are what was reached, with some
  // decibels to spare, so that a change for the worse is seen.
  it.each([
    ['gentle', 211.7, 3, 2, 2.5, -105],
    ['deep', 211.7, 3, 2, 5, -100],
    ['deep, fast modulator', 211.7, 5, 7, 5, -85],
    ['deep, high carrier', 433.3, 10, 3, 5, -63],
  ])('under linear FM: %s', (_, hertz, carrier, modulator, volts, limit) => {
    const drive: Drive = (n) => [0, 0, sine(modulator * hertz, volts)(n), 0, 0];
    for (const wave of WAVES)
      expect(folded(wave, { 'at-zero': carrier * hertz }, drive, hertz)).toBeLessThan(limit);
  });

  it.each([
    ['saw', 441.37, 2.6, -98],
    ['triangle', 1234.567, 2.6, -90],
    ['saw', 1234.567, 5.3, -90],
    ['pulse', 1234.567, 5.3, -90],
    ['sine', 441.37, 2.6, -98],
    ['sine', 1234.567, 2.6, -70],
  ] as const)(
    'of a %s under sync by a ramp of %f Hz, %f times as fast',
    (wave, hertz, ratio, limit) => {
      const drive: Drive = (n) => [0, 0, 0, ramp(hertz)(n), 0];
      expect(folded(wave, { 'at-zero': ratio * hertz }, drive, hertz)).toBeLessThan(limit);
    },
  );

  it('under sync by a sine, whose moment a parabola finds', () => {
    const drive: Drive = (n) => [0, 0, 0, sine(441.37, 5)(n), 0];
    expect(folded('saw', { 'at-zero': 1147.6 }, drive, 441.37)).toBeLessThan(-90);
  });

  it('of a pulse whose width follows a wave', () => {
    const drive: Drive = (n) => [0, 0, 0, 0, sine(101.37, 3)(n)];
    expect(folded('pulse', { 'at-zero': 3 * 101.37 }, drive, 101.37)).toBeLessThan(-95);
  });

  it('would be found by these tests in waves that are not band limited', () => {
    const [hertz, ratio] = [1234.567, 2.6];
    const naive = new Float64Array(32_768).map((_, n) => {
      const since = ((n * hertz) / RATE) % 1;
      return 2 * ((since * ratio) % 1) - 1;
    });
    const spectrum = lines(naive, RATE);
    const between = loudestBetweenHarmonics(spectrum, hertz, 20, 20_000);
    expect(20 * Math.log10(between / Math.max(...spectrum.amplitudes))).toBeGreaterThan(-40);
  });
});
