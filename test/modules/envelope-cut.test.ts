// The cut of an envelope: its fall and its spectrum against closed forms, worked out here with
// Math's own functions, and what it does to triggers by deduction.

import { describe, expect, it } from 'vitest';
import { envelope } from '../../src/modules/envelope.ts';
import { close } from '../close.ts';
import { gate, play } from './gates.ts';
import { solo } from './solo.ts';

const RATE = 48_000;
const TAU = 0.002 * RATE;
/** 1 ms at 48 kHz: a trigger is noticed at its 48th sample; a cut at once. */
const LATE = 47;

interface Gates {
  triggers: readonly number[];
  /** Samples. */
  held: number;
  cuts: readonly number[];
  cutHeld?: number;
}

function run({ triggers, held, cuts, cutHeld = 10 }: Gates, settings: object, length: number) {
  const [trigger, cut] = [gate(triggers, held), gate(cuts, cutHeld)];
  const circuit = solo(envelope, { settings: { ...settings }, sampleRate: RATE });
  return play(circuit, ['out'], length, (n) => [trigger(n), cut(n)]).out;
}

/** From sample `start` on, nothing but the fall of the cut; 1e-8 V, since its last nanovolts are skipped. */
function expectFall(out: readonly number[], start: number, end = out.length): void {
  const top = out[start] as number;
  let worst = 0;
  for (let n = start; n < end; n++)
    worst = Math.max(worst, Math.abs((out[n] as number) - top * Math.exp(-(n - start) / TAU)));
  expect(worst).toBeLessThan(1e-8);
}

const slow = { attack: 0.05, decay: 0.5, sustain: 0.6, release: 1 };

describe('cut', () => {
  it('ends every stage with a fall of 2 ms time constant from where it is', () => {
    const held = 20_000;
    for (const cut of [1000, 4000, 19_000, 30_000]) {
      const out = run({ triggers: [0], held, cuts: [cut] }, slow, 40_000);
      expect(out[cut]).toBeGreaterThan(0.5);
      expectFall(out, cut);
      expect(out.at(-1)).toBe(0);
    }
  });

  it.each(['exponential', 'linear'])('does so whatever the curve and mode: %s', (curve) => {
    const settings = { ...slow, curve, mode: 'trigger' };
    const out = run({ triggers: [0], held: 100, cuts: [5000] }, settings, 10_000);
    expect(out[5000]).toBeGreaterThan(1);
    expectFall(out, 5000);
  });

  it('does not come back when the trigger that was on ends', () => {
    const out = run({ triggers: [0], held: 3100, cuts: [3000] }, slow, 20_000);
    expect(out[3099]).toBeGreaterThan(0.5);
    expectFall(out, 3000);
  });

  it('lets the next trigger start from where the fall has got to', () => {
    const out = run({ triggers: [0, 3050], held: 1000, cuts: [3000] }, slow, 8000);
    expectFall(out, 3000, 3050 + LATE + 1);
    expect(out[3050 + LATE + 1]).toBeGreaterThan(out[3050 + LATE] as number);
  });

  it('while on starts nothing, so of two hits on one step the one that cuts is heard', () => {
    const out = run({ triggers: [100], held: 384, cuts: [100], cutHeld: 384 }, slow, 5000);
    expect(Math.max(...out)).toBe(0);
  });

  it('costs an envelope at rest nothing', () => {
    expect(Math.max(...run({ triggers: [], held: 1, cuts: [50] }, slow, 500))).toBe(0);
  });

  it('leaves the part of a jump at 2 kHz that the closed form says', () => {
    // A whole second of it: 5 V until the cut, which a slow attack has made 150 ms before.
    const out = run({ triggers: [0], held: RATE, cuts: [24_000] }, { ...slow, sustain: 1 }, RATE);
    const jump = out.map((volts, n) => (n < 24_000 ? volts : 0));
    const omega = (2 * Math.PI * 2000) / RATE;
    const strength = (volts: readonly number[]): number => {
      let [re, im] = [0, 0];
      // A smooth start, so that only the cut has an edge.
      volts.forEach((v, n) => {
        const faded = v * (n < 20_000 ? Math.sin((Math.PI * n) / 40_000) ** 4 : 1);
        re += faded * Math.cos(omega * n);
        im -= faded * Math.sin(omega * n);
      });
      return Math.hypot(re, im);
    };
    const expected = 1 / Math.sqrt(1 + (2 * Math.PI * 2000 * 0.002) ** 2);
    close(strength(out) / strength(jump), expected, {
      rel: 0.01,
      unit: '',
      why: 'the sampled fall against the continuous one: (omega / 2)^2 / 6 = 0.3 % at 2 kHz',
    });
    expect(20 * Math.log10(expected)).toBeLessThan(-27.9);
  });
});
