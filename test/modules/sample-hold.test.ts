// Timing by deduction from the kind's own description: the very sample at which the trigger comes.

import { describe, expect, it } from 'vitest';
import { voltageTrigger } from '../../src/modules/facts.ts';
import { sampleHold } from '../../src/modules/sample-hold.ts';
import { gate, play } from './gates.ts';
import { solo } from './solo.ts';

/** A ramp tells by its volts at which sample it was taken. */
const ramp = (n: number): number => n / 100;

describe('sample and hold', () => {
  it('takes the volts of the very sample at which the trigger comes', () => {
    const trigger = gate([7, 50, 61], 5);
    const { out } = play(solo(sampleHold), ['out'], 100, (n) => [ramp(n), trigger(n)]);
    out.forEach((volts, n) => {
      const taken = n < 7 ? undefined : n < 50 ? 7 : n < 61 ? 50 : 61;
      expect(volts).toBe(taken === undefined ? 0 : ramp(taken));
    });
  });

  it('takes them when an input that needs a longer pulse notices it', () => {
    const circuit = solo(sampleHold, { facts: { trigger: voltageTrigger(0.001) } });
    const trigger = gate([10], 200);
    // The 48th sample of the pulse is the one at which it has lasted 1 ms at 48 kHz.
    const { out } = play(circuit, ['out'], 300, (n) => [ramp(n), trigger(n)]);
    expect([out[56], out[57], out[299]]).toEqual([0, ramp(57), ramp(57)]);
  });

  it('takes one value a trigger, however slow or noisy its edge', () => {
    const edge = [0, 2, 2.4, 2.6, 2.2, 2.6, 1.6, 3, 5, 5, 1.6, 1.4, 0];
    const { out } = play(solo(sampleHold), ['out'], edge.length, (n) => [n + 1, edge[n] as number]);
    expect(out).toEqual([0, 0, 0, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4]);
  });

  it('follows while the trigger is on, in track mode, and keeps the last of it', () => {
    const trigger = gate([5], 10);
    const circuit = solo(sampleHold, { settings: { mode: 'track' } });
    const { out } = play(circuit, ['out'], 30, (n) => [ramp(n), trigger(n)]);
    out.forEach((volts, n) => {
      expect(volts).toBe(n < 5 ? 0 : ramp(Math.min(n, 14)));
    });
  });
});
