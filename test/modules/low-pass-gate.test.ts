// The low-pass gate against its differential equation, solved by Runge and Kutta in small steps; against
// what its settings promise; and against the response of two poles.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { cellConductance, lowPassGate } from '../../src/modules/low-pass-gate.ts';
import { close } from '../close.ts';
import { runs } from '../runs.ts';
import { Bench, jack, type Volts } from './harness.ts';
import { component } from './spectrum.ts';

const RATE = 48_000;

function heard(
  settings: Readonly<Record<string, unknown>>,
  samples: number,
  volts: Readonly<Record<string, Volts>>,
): Float64Array {
  const bench = new Bench(lowPassGate, { settings, sampleRate: RATE });
  return jack(bench.run(samples, volts), 'out');
}

/** What the cell conducts: 1 V through the level alone. */
function cell(settings: Readonly<Record<string, unknown>>, samples: number, control: Volts) {
  return heard({ ...settings, mode: 'level' }, samples, { in: 1, control });
}

describe('the cell', () => {
  it('opens to 90 % and shuts to 10 % in the times set', () => {
    const open = cell({ rise: 0.004 }, 0.1 * RATE, 5);
    const risen = open.findIndex((n) => n >= 0.9) / RATE;
    close(risen, 0.004, { abs: 1.01 / RATE, unit: 's', why: 'whole samples' });
    close(open.at(-1) as number, 1, { abs: 1e-9, unit: '', why: 'steady: 25 rises later' });
    const shut = cell({ rise: 0.001, fall: 0.1 }, RATE, (n) => (n < 20_000 ? 5 : 0));
    const fallen = (shut.findIndex((n, at) => at > 20_000 && n <= 0.1) - 20_000) / RATE;
    close(fallen, 0.1, { abs: 1.01 / RATE, unit: 's', why: 'whole samples' });
  });

  it('conducts by the square root of bright light, and in proportion to dim', () => {
    // Steady: n^2 + b n = (1 + b) light.
    for (const volts of [0.01, 0.5, 2, 5, 10]) {
      const n = cell({ rise: 0.001, fall: 0.001 }, RATE, volts).at(-1) as number;
      close(n * n + 0.05 * n, (1.05 * volts) / 5, { rel: 1e-9, unit: '', why: 'quite steady' });
      close(cellConductance(volts, 5), n, { rel: 1e-9, unit: '', why: 'quite steady' });
    }
    const most = cell({ rise: 0.001 }, RATE, 12).at(-1);
    expect(most).toBe(cell({ rise: 0.001 }, RATE, 10).at(-1));
  });

  it('is the solution of its equation, whatever the light', () => {
    // The time constants, worked out here by bisection on the equation itself.
    const b = 0.05;
    const step = (n: number, light: number, dt: number): number => {
      const slope = (m: number): number => (1 + b) * light - b * m - m * m;
      const k1 = slope(n);
      const k2 = slope(n + (dt / 2) * k1);
      const k3 = slope(n + (dt / 2) * k2);
      const k4 = slope(n + dt * k3);
      return n + (dt / 6) * (k1 + 2 * k2 + 2 * k3 + k4);
    };
    const timeTo = (from: number, to: number, light: number): number => {
      const dt = 1e-4;
      let n = from;
      let t = 0;
      while (from < to === n < to) {
        n = step(n, light, dt);
        t += dt;
      }
      return t;
    };
    const [rise, fall] = [0.005, 0.08];
    const up = rise / timeTo(0, 0.9, 1);
    const down = fall / timeTo(1, 0.1, 0);
    fc.assert(
      fc.property(
        fc.array(
          fc.record({
            volts: fc.constantFrom(0, 0, 5, 1, 8, 0.2, -3, 12),
            length: fc.integer({ min: 20, max: 3000 }),
          }),
          { minLength: 1, maxLength: 8 },
        ),
        (holds) => {
          const volts = holds.flatMap(({ volts: v, length }) => new Array<number>(length).fill(v));
          const got = cell({ rise, fall }, volts.length, volts);
          let n = 0;
          let worst = 0;
          volts.forEach((v, at) => {
            const light = Math.min(Math.max(v / 5, 0), 2);
            for (let k = 0; k < 4; k++) {
              const rises = (1 + b) * light - b * n - n * n > 0;
              n = step(n, light, 1 / RATE / 4 / (rises ? up : down));
            }
            worst = Math.max(worst, Math.abs((got[at] as number) - n));
          });
          // 2e-4: the time constants above are good to their steps, 1e-4 of 1.4 time constants.
          expect(worst).toBeLessThan(2e-4);
        },
      ),
      runs(15),
    );
  });

  it('falls at a speed that depends on how far it is open: 21 times as fast at first as at last', () => {
    const fall = cell({ fall: 0.1, rise: 0.0005 }, 3 * RATE, (n) => (n < 2400 ? 5 : 0));
    const speed = (at: number): number =>
      -Math.log((fall[at + 10] as number) / (fall[at] as number)) / 10;
    const first = speed(2400);
    const last = speed(2400 + 2 * RATE);
    // (n + b)/b at n = 1; within 1 %, for n has moved on by the tenth sample.
    close(first / last, 21, { rel: 0.01, unit: '', why: 'a slope over ten samples' });
  });

  it('opens the faster the more light there is', () => {
    const to = (volts: number): number => {
      const open = cell({ rise: 0.01 }, RATE, volts);
      const steady = open.at(-1) as number;
      return open.findIndex((n) => n >= 0.9 * steady);
    };
    expect(to(1)).toBeGreaterThan(1.8 * to(5));
    expect(to(10)).toBeLessThan(0.8 * to(5));
  });
});

describe('what it does to a sound', () => {
  const sine = (hertz: number) => (n: number) => Math.sin((2 * Math.PI * hertz * n) / RATE);

  it('open, is two poles at the cutoff', () => {
    for (const mode of ['both', 'low-pass']) {
      for (const [hertz, cutoff, q] of [
        [1000, 1000, 0.5],
        [500, 1000, 2],
        [4000, 1000, 0.5],
      ] as const) {
        const out = heard({ mode, cutoff, q }, RATE, { in: sine(hertz), control: 5 });
        const { amplitude } = component(out.subarray(RATE / 2), RATE, hertz);
        const x = Math.tan((Math.PI * hertz) / RATE) / Math.tan((Math.PI * cutoff) / RATE);
        const wanted = 1 / Math.hypot(1 - x * x, x / q);
        close(amplitude, wanted, { rel: 1e-6, unit: '', why: 'leakage of the window' });
      }
    }
  });

  it('half shut, has its cutoff as far down as the cell is', () => {
    // 1.05 light = n^2 + 0.05 n: for n = 1/4 it is 0.075 / 1.05 of unity.
    const control = (5 * 0.075) / 1.05;
    const settings = { mode: 'low-pass', cutoff: 4000, rise: 0.001 };
    const out = heard(settings, RATE, { in: sine(1000), control });
    const { amplitude } = component(out.subarray(RATE / 2), RATE, 1000);
    // Both poles at 1 kHz: half, a pole being 3 dB down.
    close(amplitude, 0.5, { rel: 1e-6, unit: '', why: 'leakage of the window' });
  });

  it('gets darker as it dies away', () => {
    const gate = (n: number): number => (n < 480 ? 5 : 0);
    const saw = (n: number): number => 5 * (((n * 200) / RATE) % 1) - 2.5;
    const out = heard({ fall: 0.15 }, RATE, { in: saw, control: gate });
    const bright = (at: number): number => {
      const part = out.subarray(at, at + 2400);
      const of = (hertz: number): number => component(part, RATE, hertz).amplitude;
      return of(2000) / of(200);
    };
    const [early, later, late] = [bright(960), bright(4800), bright(14_400)];
    expect(later).toBeLessThan(0.6 * early);
    expect(late).toBeLessThan(0.25 * later);
  });

  it('is silent in the dark, and in low-pass alone lets the lowest through', () => {
    const dark = heard({}, 1000, { in: sine(100), control: 0 });
    expect(dark.every((volts) => volts === 0)).toBe(true);
    const low = heard({ mode: 'low-pass', cutoff: 8000 }, 2 * RATE, { in: 1, control: 0 });
    // In the dark the cutoff is 0.8 Hz: two poles of 0.2 s are within 0.05 % after 2 s.
    close(low.at(-1) as number, 1, { abs: 1e-3, unit: 'V', why: 'ten time constants' });
  });
});
