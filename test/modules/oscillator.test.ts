// The waves against Fourier's series, pitches against equal temperament, and what should not be
// there against a limit: see test/reference/oscillator.json and pitch.json.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { oscillator, pitchFrequency } from '../../src/modules/oscillator.ts';
import { close } from '../close.ts';
import { reference } from '../reference.ts';
import { record, solo } from './solo.ts';
import { component, lines, loudestBetweenHarmonics } from './spectrum.ts';

const WAVES = ['sine', 'triangle', 'saw', 'pulse'];
/** Samples by which every wave is late (the module's first Deviation). */
const LATE = 3;
/** V of a wave's peak, where the references have 1. */
const SWING = 5;

function decibels(ratio: number): number {
  return 20 * Math.log10(ratio);
}

/** A steady wave, once the start has died away. */
function steady(wave: string, hertz: number, rate: number, length: number, width = 0.5) {
  const circuit = solo(oscillator, {
    settings: { 'at-zero': hertz, width },
    sampleRate: rate,
    patched: [wave],
  });
  record(circuit, wave, 100);
  return record(circuit, wave, length);
}

describe('pitch (ISO 16, equal temperament; one volt an octave)', () => {
  it('S-pitch-01, 04: notes and volts', () => {
    const notes = reference<unknown, Record<string, number>>('pitch', 'S-pitch-01').expected;
    for (const [note, hertz] of Object.entries(notes)) {
      close(pitchFrequency(440, 0, Number(note) - 69), hertz, {
        rel: 1e-9,
        unit: '',
        why: "the reference's digits",
      });
    }
    const { inputs, expected } = reference<{ f_at_0V: number }, Record<string, number>>(
      'pitch',
      'S-pitch-04',
    );
    for (const [volts, hertz] of Object.entries(expected)) {
      const found = pitchFrequency(inputs.f_at_0V, Number(volts), 0);
      close(found, hertz, { rel: 1e-9, unit: '', why: "the reference's digits" });
    }
  });

  it('S-pitch-06: 1 mV is 1.2 cents', () => {
    const { expected } = reference<unknown, Record<string, number>>('pitch', 'S-pitch-06');
    for (const [millivolts, cents] of Object.entries(expected)) {
      const ratio = pitchFrequency(1, Number(millivolts) / 1000, 0);
      close(1200 * Math.log2(ratio), cents, {
        abs: 1e-9,
        unit: 'cents',
        why: 'exp2 is good to 3 units in the last place: 1e-12 cents',
      });
    }
  });

  // The phase gained over nearly ten seconds; 1e-5 is the reference's tolerance for a rendered sine.
  it.each([
    ['S-pitch-02', 0],
    ['S-pitch-03', 33],
  ])('%s: a rendered sine', (id, tune) => {
    const rate = 48_000;
    const { expected } = reference<unknown, number>('pitch', id);
    const circuit = solo(oscillator, { settings: { tune }, sampleRate: rate, patched: ['sine'] });
    const sound = record(circuit, 'sine', 10 * rate);
    const span = 4096 * 4;
    const start = component(sound.subarray(0, span), rate, expected).phase;
    const at = sound.length - span;
    const end = component(sound.subarray(at), rate, expected).phase;
    const cycles = (expected * at) / rate;
    const gained = end - start - cycles;
    close((gained - Math.round(gained)) / cycles, 0, {
      abs: 1e-5,
      unit: '',
      why: "the reference's tolerance for a rendered sine",
    });
  });

  it('S-pitch-08: a falling drum pitch, in whole cycles since the trigger', () => {
    const { inputs, expected } = reference<
      { f0: number; volts: number; tau: number },
      Record<string, number>
    >('pitch', 'S-pitch-08');
    const rate = 48_000;
    const circuit = solo(oscillator, { settings: { 'at-zero': inputs.f0 }, sampleRate: rate });
    const fall = (n: number) => inputs.volts * Math.exp(-n / (rate * inputs.tau));
    const sine = record(circuit, 'sine', 5000, fall);
    for (const milliseconds of [5, 20, 100]) {
      const cycles = expected[`cycles_at_${milliseconds}_ms`] as number;
      const found = (sine[milliseconds * 48 + LATE] as number) / SWING;
      // Within 1e-5 of a cycle: the trapezoidal rule errs by a twelfth of the change of frequency in
      // a sample, 2e-5 cycles a sample at the steepest.
      close(found, Math.sin(2 * Math.PI * cycles), {
        abs: 2 * Math.PI * 1e-5,
        unit: '',
        why: '1e-5 of a cycle: the trapezoidal rule errs by a twelfth of the change of frequency in a sample',
      });
    }
  });

  it('starts as a sine from 0 V, rising', () => {
    const circuit = solo(oscillator, { settings: { 'at-zero': 441 }, sampleRate: 44_100 });
    const sine = record(circuit, 'sine', 103);
    expect([...sine.slice(0, LATE + 1)]).toEqual([0, 0, 0, 0]);
    sine.forEach((volts, n) => {
      // 7e-11 V: the polynomial's 1.4e-11 at 5 V.
      const wanted = n < LATE ? 0 : 5 * Math.sin((2 * Math.PI * (n - LATE)) / 100);
      close(volts, wanted, {
        abs: 1e-10,
        unit: 'V',
        why: "7e-11 V: the polynomial's 1.4e-11 at 5 V",
      });
    });
  });
});

describe('harmonics are those of the Fourier series', () => {
  const cases: [string, string, number][] = [
    ['S-osc-01', 'saw', 0.5],
    ['S-osc-02', 'pulse', 0.5],
    ['S-osc-03', 'triangle', 0.5],
    ['S-osc-04', 'pulse', 0.25],
    ['S-osc-05', 'pulse', 0.1],
  ];
  it.each(cases)('%s: %s, width %f', (id, wave, width) => {
    const { expected } = reference<unknown, Record<string, number>>('oscillator', id);
    const hertz = 441.37;
    for (const rate of [44_100, 48_000, 96_000]) {
      const sound = steady(wave, hertz, rate, 16_384, width);
      for (const [n, amplitude] of Object.entries(expected)) {
        if (!/^\d+$/.test(n)) continue;
        const found = component(sound, rate, Number(n) * hertz).amplitude / SWING;
        // 0.01 dB, the reference's figure for low harmonics; absent ones 100 dB down.
        if (amplitude === 0) expect(found).toBeLessThan(1e-5);
        else
          close(decibels(found / amplitude), 0, {
            abs: 0.01,
            unit: 'dB',
            why: "the reference's figure for low harmonics",
          });
      }
    }
  });

  it.each([44_100, 48_000, 96_000])('up to 18 kHz within 0.5 dB at %i Hz', (rate) => {
    const hertz = 1234.567;
    const ideal: Record<string, (n: number) => number> = {
      saw: (n) => 2 / (Math.PI * n),
      pulse: (n) => Math.abs((4 / (Math.PI * n)) * Math.sin(Math.PI * n * 0.3)),
      triangle: (n) => (n % 2 === 1 ? 8 / (Math.PI * n) ** 2 : 0),
    };
    for (const [wave, amplitude] of Object.entries(ideal)) {
      const sound = steady(wave, hertz, rate, 16_384, 0.3);
      for (let n = 1; n * hertz < 18_000; n++) {
        if (amplitude(n) < 1e-6) continue;
        const found = component(sound, rate, n * hertz).amplitude / SWING;
        // 0.5 dB is the aim up to 18 kHz; the low-pass is within 0.01 dB below 13 kHz.
        const limit = n * hertz < 13_000 ? 0.01 : 0.5;
        close(decibels(found / amplitude(n)), 0, {
          abs: limit,
          unit: 'dB',
          why: 'the aim up to 18 kHz; the low-pass is within 0.01 dB below 13 kHz',
        });
      }
    }
  });

  it('S-osc-08: with a whole number of samples a period, where a naive saw is too bright', () => {
    const { expected } = reference<unknown, Record<string, number>>('oscillator', 'S-osc-08');
    const sound = steady('saw', 1000, 48_000, 16_384);
    const ratio = (n: number) =>
      decibels(component(sound, 48_000, n * 1000).amplitude / SWING / (2 / (Math.PI * n)));
    expect(expected.excess_dB_12).toBeGreaterThan(0.9);
    close(ratio(12), 0, {
      abs: 0.01,
      unit: 'dB',
      why: 'the low-pass is within 0.01 dB below 13 kHz',
    });
  });

  it('S-osc-09: nothing where a naive saw of 5 kHz folds', () => {
    const { expected } = reference<unknown, Record<string, number>>('oscillator', 'S-osc-09');
    const sound = steady('saw', 5000, 48_000, 16_384);
    for (const n of [10, 13]) {
      const found = component(sound, 48_000, expected[`Hz_${n}`] as number).amplitude / SWING;
      // 100 dB under the fundamental, 2/pi, where a naive one is 19 and 21 dB under it.
      expect(decibels(found / (2 / Math.PI))).toBeLessThan(-100);
      expect(decibels((expected[`amp_${n}`] as number) / (2 / Math.PI))).toBeGreaterThan(-22);
    }
  });

  it('S-osc-10: rms of a saw of 1 kHz at 48 kHz', () => {
    const { expected } = reference<unknown, { band_limited: number }>('oscillator', 'S-osc-10');
    const sound = steady('saw', 1000, 48_000, 48_000);
    const rms = Math.sqrt(sound.reduce((sum, v) => sum + v * v, 0) / sound.length) / SWING;
    // Under the reference, whose filter is a wall at 24 kHz: this one takes 2.5, 6 and 12 dB
    // off harmonics 21 to 23, which is 0.15 % of the rms. The reference's own tolerance is 0.1 %.
    const ratio = rms / expected.band_limited;
    close(ratio, 0.9985, { abs: 0.001, unit: '', why: "the reference's own tolerance" });
  });

  it('S-osc-11: a pulse rings past its level, here more than after a filter of no phase shift', () => {
    const { expected } = reference<unknown, number>('oscillator', 'S-osc-11');
    const peak = Math.max(...steady('pulse', 100, 48_000, 48_000)) / SWING;
    // All the ringing of a minimum-phase step comes after it: 21 % of the step instead of 9 %.
    expect(peak).toBeGreaterThan(expected);
    expect(peak).toBeLessThan(1.43);
  });

  it.each([
    ['S-osc-04', 0.25],
    ['S-osc-05', 0.1],
  ])('%s: direct voltage of a pulse', (id, width) => {
    const { expected } = reference<unknown, { dc: number }>('oscillator', id);
    for (const hertz of [100, 4800]) {
      const sound = steady('pulse', hertz, 48_000, 48_000, width);
      const mean = sound.reduce((sum, v) => sum + v, 0) / sound.length / SWING;
      close(mean, expected.dc, {
        abs: 1e-4,
        unit: '',
        why: "whole periods, so the mean is exact but for the table's interpolation",
      });
    }
  });

  it('in phase with one another: a mix of waves adds their fundamentals', () => {
    for (const wave of WAVES) {
      for (const hertz of [100, 1000, 3000]) {
        const sound = record(
          solo(oscillator, { settings: { 'at-zero': hertz }, patched: [wave] }),
          wave,
          16_384,
        );
        const { phase } = component(sound, 48_000, hertz);
        const wanted = (-LATE * hertz) / 48_000;
        close(phase, wanted, {
          abs: 0.01,
          unit: 'turns',
          why: 'a minimum-phase low-pass bends the phase by under a hundredth of a turn at 3 kHz',
        });
      }
    }
  });
});

describe('alias products', () => {
  // The aim: 100 dB under the fundamental, between 20 Hz and 20 kHz, up to 5 kHz. Frequencies share
  // no period with the rates, so nothing folds onto a harmonic; the window's side lobes lie under
  // -150 dB.
  const HERTZ = [65.406, 441.37, 1234.567, 2501.3, 3333.3, 4178.1, 4999.3];
  const cases = [44_100, 48_000, 96_000].flatMap((rate) =>
    [
      ['sine', 0.5],
      ['triangle', 0.5],
      ['saw', 0.5],
      ['pulse', 0.5],
      ['pulse', 0.22],
      ['pulse', 0.05],
    ].map(([wave, width]) => [rate, wave, width] as [number, string, number]),
  );
  it.each(cases)('at %i Hz: %s, width %f', (rate, wave, width) => {
    for (const hertz of HERTZ) {
      const spectrum = lines(steady(wave, hertz, rate, 32_768, width), rate);
      const fundamental = loudest(spectrum.amplitudes, hertz / spectrum.resolution);
      const alias = loudestBetweenHarmonics(spectrum, hertz, 20, 20_000);
      expect(decibels(alias / fundamental)).toBeLessThan(wave === 'sine' ? -150 : -100);
    }
  });

  function loudest(amplitudes: Float64Array, bin: number): number {
    const near = Math.round(bin);
    return Math.max(...amplitudes.slice(near - 1, near + 2));
  }

  it('would be found by this test in a naive saw', () => {
    const rate = 48_000;
    const hertz = 2501.3;
    const naive = new Float64Array(32_768).map((_, n) => 2 * (((n * hertz) / rate) % 1) - 1);
    const alias = loudestBetweenHarmonics(lines(naive, rate), hertz, 20, 20_000);
    expect(decibels(alias / (2 / Math.PI))).toBeGreaterThan(-30);
  });
});

describe('whatever its settings', () => {
  it('stays finite and within its rails', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.01, max: 20_000, noNaN: true }),
        fc.double({ min: 0.05, max: 0.95, noNaN: true }),
        fc.double({ min: -60, max: 60, noNaN: true }),
        fc.array(fc.double({ min: -1e9, max: 1e9, noNaN: true }), { maxLength: 20 }),
        fc.array(fc.double({ min: -12, max: 12, noNaN: true }), { minLength: 50, maxLength: 200 }),
        (atZero, width, tune, wild, pitches) => {
          const circuit = solo(oscillator, { settings: { 'at-zero': atZero, width, tune } });
          for (const pitch of [...wild, ...pitches]) {
            circuit.run(pitch, 0, 0, 0, 0);
            for (const wave of WAVES) {
              // 12 V: the rails. Steps that crowd together ring above 5 V, as a real filter would.
              expect(Math.abs(circuit[wave] as number)).toBeLessThan(12);
            }
          }
        },
      ),
    );
  });

  it('keeps each wave the same whether or not the others are patched', () => {
    const pitch = (n: number) => 2 * Math.sin(n / 300);
    for (const wave of WAVES) {
      const all = record(solo(oscillator), wave, 5000, pitch);
      const alone = record(solo(oscillator, { patched: [wave] }), wave, 5000, pitch);
      expect(alone).toEqual(all);
    }
  });

  it('leaves no trace of fast changes of pitch once it stands still', () => {
    const circuit = solo(oscillator, { settings: { 'at-zero': 500 } });
    record(circuit, 'saw', 5000, (n) => 3 * Math.sin(n * 1.7));
    // So low that the phase stays where it is while the corrections run out.
    record(circuit, 'saw', 100, () => -60);
    const still = WAVES.map((wave) => circuit[wave] as number);
    const [sine, triangle, saw, pulse] = still as [number, number, number, number];
    // All four show one phase: the naive waves' own relations.
    close(sine, 5 * Math.sin((Math.PI * triangle) / 10), {
      abs: 1e-9,
      unit: 'V',
      why: 'rounding of one phase, shown by all four',
    });
    expect(saw * sine).toBeGreaterThanOrEqual(0);
    const folded = 2 * Math.abs(saw) <= 5 ? 2 * saw : Math.sign(saw) * (10 - 2 * Math.abs(saw));
    close(folded, triangle, {
      abs: 1e-9,
      unit: 'V',
      why: 'rounding of one phase, shown by all four',
    });
    expect(pulse).toBe(saw >= 0 ? 5 : -5);
  });

  it('stops at 0.45 of the rate', () => {
    const sound = record(solo(oscillator), 'sine', 4096, () => 20).slice(100);
    expect(component(sound, 48_000, 0.45 * 48_000).amplitude).toBeGreaterThan(4.99);
  });
});
