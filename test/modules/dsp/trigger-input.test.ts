import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type TriggerInput, triggerInput } from '../../../src/modules/dsp/trigger-input.ts';
import { plain, switchTrigger, voltageTrigger } from '../../../src/modules/facts.ts';

/** Samples at which an input rose and fell. */
function edges(input: TriggerInput, volts: readonly number[]) {
  const seen: string[] = [];
  volts.forEach((v, n) => {
    input.run(v);
    if (input.rose) seen.push(`on ${n}`);
    if (input.fell) seen.push(`off ${n}`);
  });
  return seen;
}

function steps(...parts: [volts: number, samples: number][]): number[] {
  return parts.flatMap(([volts, samples]) => new Array<number>(samples).fill(volts));
}

// Levels: on at 2.5 V, off at 1.5 V; switch: on under 0.8 V, off above 2.0 V (the design, section 6).
describe('a voltage trigger input', () => {
  it('fires at its threshold and not a hair under it', () => {
    expect(edges(triggerInput(voltageTrigger(0), 48_000), [2.4999, 2.5])).toEqual(['on 1']);
  });

  it('holds between the thresholds and lets go at the lower one', () => {
    const volts = [5, 2.4, 1.5001, 2.4, 1.5, 2.4, 2.5];
    expect(edges(triggerInput(voltageTrigger(0), 48_000), volts)).toEqual([
      'on 0',
      'off 4',
      'on 6',
    ]);
  });

  it.each([
    [44_100, 44],
    [48_000, 48],
    [96_000, 96],
  ])('at %i Hz misses a pulse of one sample less than 1 ms and takes one of %i', (rate, needed) => {
    const tooShort = steps([0, 3], [5, needed - 1], [0, 3]);
    expect(edges(triggerInput(voltageTrigger(), rate), tooShort)).toEqual([]);
    const enough = steps([0, 3], [5, needed], [0, 3]);
    expect(edges(triggerInput(voltageTrigger(), rate), enough)).toEqual([
      `on ${3 + needed - 1}`,
      `off ${3 + needed}`,
    ]);
  });

  it('takes a pulse to last until it is back at the lower threshold', () => {
    const volts = steps([5, 20], [1.6, 28], [0, 3]);
    expect(edges(triggerInput(voltageTrigger(), 48_000), volts)).toEqual(['on 47', 'off 48']);
    expect(edges(triggerInput(voltageTrigger(), 48_000), volts.slice(1))).toEqual([]);
  });

  it('does not add up two pulses that are too short', () => {
    const volts = steps([5, 30], [0, 1], [5, 30], [0, 1]);
    expect(edges(triggerInput(voltageTrigger(), 48_000), volts)).toEqual([]);
  });
});

describe('a switch trigger input', () => {
  it('fires when pulled low, and is ready again only well above', () => {
    const volts = [5, 0.8001, 0.8, 1.9999, 0.5, 2, 1, 0.8];
    expect(edges(triggerInput(switchTrigger(0), 48_000), volts)).toEqual(['on 2', 'off 5', 'on 7']);
  });

  it('fires when a voltage gate falls, which is why that cable is a fault', () => {
    const volts = steps([5, 100], [0, 100]);
    expect(edges(triggerInput(switchTrigger(), 48_000), volts)).toEqual(['on 147']);
  });
});

describe('any trigger input', () => {
  it('rises and falls by turns, whatever the volts', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(voltageTrigger, switchTrigger),
        fc.integer({ min: 0, max: 5 }),
        fc.array(fc.double({ min: -12, max: 12, noNaN: true }), { maxLength: 200 }),
        (facts, samples, volts) => {
          const input = triggerInput(facts(samples / 48_000), 48_000);
          const words = edges(input, volts).map((edge) => edge.split(' ')[0]);
          words.forEach((word, i) => {
            expect(word).toBe(i % 2 === 0 ? 'on' : 'off');
          });
          expect(input.on).toBe(words.length % 2 === 1);
        },
      ),
    );
  });

  it('refuses facts without a trigger', () => {
    expect(() => triggerInput(plain(), 48_000)).toThrow('a trigger input needs trigger facts');
  });
});
