// peak-not-reached: an attack that its gate cuts off. The closed form here is the RC charge written
// again (Horowitz & Hill, The Art of Electronics, 1.4.2, from memory), and the render's own samples.

import { assert, double, integer, property, record } from 'fast-check';
import { describe, expect, it } from 'vitest';
import { close } from '../../close.ts';
import { runs } from '../../runs.ts';
import { by, figure, highest, RATE, rendered, rises, troubles, voice } from '../voice.ts';

const ONE_PERCENT = {
  rel: 0.01,
  unit: 'V',
  why: 'what the check promises: the peak within 1 %',
} as const;

describe('peak-not-reached', () => {
  it('tells the peak of an attack of 20 ms under a gate of 10 ms', () => {
    const text = voice({
      rhythm: 'gate: 10 ms',
      shape: 'attack: 20 ms, decay: 80 ms, release: 80 ms',
    });
    const [finding] = by('peak-not-reached', text);
    expect(finding?.severity).toBe('caution');
    // The input answers at the 48th sample of the gate, so 433 samples are left.
    const time = (480 - 47) / RATE;
    const formula = 7.5 * (1 - Math.exp((-time * Math.log(3)) / 0.02));
    close(figure(finding, 'topVolts'), formula, {
      rel: 1e-9,
      unit: 'V',
      why: 'the same equation in doubles',
    });
    const { volts } = rendered(text, ['shape.out']);
    // 1 kohm into the amplifier's 100 kohm.
    close(highest(volts[0] as Float64Array), (formula * 100) / 101, ONE_PERCENT);
  });

  it('finds nothing where the gate is as long as the attack and what the input takes', () => {
    const text = voice({
      rhythm: 'gate: 21 ms',
      shape: 'attack: 20 ms, decay: 80 ms, release: 80 ms',
    });
    expect(troubles(text)).toEqual([]);
    const { volts } = rendered(text, ['shape.out']);
    close(highest(volts[0] as Float64Array), (5 * 100) / 101, ONE_PERCENT);
  });

  it('finds nothing in trigger mode, where the attack runs on', () => {
    const text = voice({
      rhythm: 'gate: 10 ms',
      shape: 'mode: trigger, attack: 20 ms, decay: 80 ms',
    });
    expect(troubles(text)).toEqual([]);
    const { volts } = rendered(text, ['shape.out']);
    close(highest(volts[0] as Float64Array), (5 * 100) / 101, ONE_PERCENT);
  });

  it('finds in trigger mode that the next hit comes before the peak', () => {
    const text = voice({ hit: 'xxxx', shape: 'mode: trigger, attack: 400 ms, decay: 80 ms' });
    // The attack goes on from where it is, so it does arrive, at the fourth hit.
    const { volts } = rendered(text, ['drums.hit', 'shape.out']);
    const [gate, out] = volts as [Float64Array, Float64Array];
    const starts = rises(gate);
    const first = highest(out, starts[0], starts[1]);
    const [finding] = by('peak-not-reached', text);
    expect(finding?.message).toContain('next trigger');
    close((figure(finding, 'topVolts') * 100) / 101, first, ONE_PERCENT);
  });

  it('agrees with the render for any attack, gate, curve and spacing', () => {
    const any = record({
      attack: double({ min: 2, max: 80, noNaN: true }),
      gate: double({ min: 3, max: 100, noNaN: true }),
      release: double({ min: 5, max: 300, noNaN: true }),
      curve: integer({ min: 0, max: 1 }),
    });
    assert(
      property(any, ({ attack, gate, release, curve }) => {
        const text = voice({
          hit: 'xx-x',
          rhythm: `gate: ${gate.toFixed(3)} ms`,
          shape: `curve: ${curve === 0 ? 'linear' : 'exponential'}, attack: ${attack.toFixed(3)} ms, decay: 50 ms, release: ${release.toFixed(3)} ms`,
        });
        const { volts } = rendered(text, ['shape.trigger', 'shape.out']);
        const [gates, out] = volts as [Float64Array, Float64Array];
        const starts = rises(gates).map((start) => start + 47);
        const tops = starts.map((start, i) => highest(out, start, starts[i + 1]) * 1.01);
        // A tail left over from the hit before is no peak: what counts starts at the trigger.
        const [finding] = by('peak-not-reached', text);
        const least = Math.min(...tops);
        if (finding === undefined) {
          expect(least).toBeGreaterThan(5 * 0.99 * 0.985);
          return;
        }
        close(figure(finding, 'topVolts'), least, ONE_PERCENT);
        expect(figure(finding, 'lowHits')).toBe(
          tops.filter((top) => top < 0.99 * 5 * 0.9999).length,
        );
      }),
      runs(40),
    );
  });
});
