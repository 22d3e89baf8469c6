// Pulses worked out through converters, logic, delays and dividers, against the same jacks played by
// the engine: they must agree to the sample, and so must the strokes counted as missed.

import { assert, constantFrom, integer, property, record } from 'fast-check';
import { describe, expect, it } from 'vitest';
import { contextOf } from '../../../src/findings/context.ts';
import type { Train } from '../../../src/findings/triggers/triggers.ts';
import type { GatePulse } from '../../../src/modules/gates.ts';
import { close } from '../../close.ts';
import { patchFrom } from '../../patch-of.ts';
import { runs } from '../../runs.ts';
import { rendered, voice } from '../voice.ts';

/** Pulses of a jack by the thresholds of a voltage trigger: on at 2.5 V, off at 1.5 V. */
function played(volts: Float64Array): GatePulse[] {
  const found: { start: number; end: number }[] = [];
  let on = false;
  volts.forEach((v, i) => {
    if (!on && v >= 2.5) found.push({ start: i, end: Number.POSITIVE_INFINITY });
    if (on && v <= 1.5) (found.at(-1) as { end: number }).end = i;
    on = on ? v > 1.5 : v >= 2.5;
  });
  return found;
}

/** A pulse that the song's end cuts off has no end in the render. */
function within(pulses: readonly GatePulse[], end: number): GatePulse[] {
  return pulses
    .filter(({ start }) => start < end)
    .map((pulse) => (pulse.end < end ? pulse : { ...pulse, end: Number.POSITIVE_INFINITY }));
}

const trainAt = (text: string, module: string): Train => {
  const train = contextOf(patchFrom(text)).triggers.at({ module, jack: 'trigger' });
  if (train === undefined) throw new Error(`no train at ${module}`);
  return train;
};

/** Ways of leading two channels to one envelope. */
const WAYS: Record<string, { modules: string[]; trigger: string[] }> = {
  or: {
    modules: ['both: { kind: logic }'],
    trigger: ['drums.hit -> both.a', 'drums.low -> both.b', 'both.or -> shape.trigger'],
  },
  and: {
    modules: ['both: { kind: logic }'],
    trigger: ['drums.hit -> both.a', 'drums.low -> both.b', 'both.and -> shape.trigger'],
  },
  exclusive: {
    modules: ['both: { kind: logic }'],
    trigger: ['drums.hit -> both.a', 'drums.low -> both.b', 'both.exclusive -> shape.trigger'],
  },
  not: {
    modules: ['both: { kind: logic }'],
    trigger: ['drums.hit -> both.a', 'drums.low -> both.b', 'both.not -> shape.trigger'],
  },
  delayed: {
    modules: ['late: { kind: delay, time: 140 ms, length: 20 ms }', 'both: { kind: logic }'],
    trigger: [
      'drums.hit -> late.trigger',
      'late.out -> both.a',
      'drums.low -> both.b',
      'both.or -> shape.trigger',
    ],
  },
  stretched: {
    modules: [
      'both: { kind: logic }',
      'wide: { kind: pulse, length: 100 ms }',
      'once: { kind: pulse, length: 60 ms, retrigger: false }',
    ],
    trigger: [
      'drums.hit -> both.a',
      'drums.low -> both.b',
      'both.or -> wide.trigger',
      'wide.out -> once.trigger',
      'once.out -> shape.trigger',
    ],
  },
  divided: {
    modules: ['count: { kind: clock-divider, divide: 3 }'],
    trigger: [
      'drums.hit -> count.clock',
      'drums.low -> count.reset',
      'count.divided -> shape.trigger',
    ],
  },
  converted: {
    modules: ['down: { kind: trigger-converter }', 'up: { kind: trigger-converter }'],
    trigger: [
      'drums.hit -> down.voltage-in',
      'down.switch-out -> up.switch-in',
      'up.voltage-out -> shape.trigger',
    ],
  },
};

const tab = integer({ min: 1, max: 6 ** 6 - 1 }).map((number) =>
  number
    .toString(6)
    .padStart(6, '0')
    .replace(/[0-5]/g, (digit) => '--xxf3'[Number(digit)] as string),
);

describe('triggers', () => {
  it('are worked out as the engine plays them, by whatever way they come', () => {
    const any = record({
      way: constantFrom(...Object.keys(WAYS)),
      hit: tab,
      low: tab,
      gate: integer({ min: 1, max: 300 }),
      swing: integer({ min: 50, max: 75 }),
    });
    assert(
      property(any, ({ way, hit, low, gate, swing }) => {
        const text = voice({
          channels: '[hit, low]',
          patterns: `{ groove: { hit: "${hit}", low: "${low}" } }`,
          rhythm: `gate: ${gate} ms, swing: ${swing} %`,
          ...(WAYS[way] as { modules: string[]; trigger: string[] }),
        });
        const volts = rendered(text, ['shape.trigger']).volts[0] as Float64Array;
        const train = trainAt(text, 'shape');
        expect(train.span).toEqual({ seconds: 0.75, complete: true, heard: false });
        expect(within(train.pulses, volts.length)).toEqual(played(volts));
      }),
      {
        ...runs(60),
        examples: [[{ way: 'not', hit: 'x-----', low: '------', gate: 20, swing: 50 }]],
      },
    );
  });

  it('are heard where they come of a signal', () => {
    const text = voice({
      modules: ['slow: { kind: oscillator, at-zero: 20 Hz }', 'split: { kind: comparator }'],
      trigger: ['slow.sine -> split.in', 'split.above -> shape.trigger'],
      cables: ['drums.hit -> out.right'],
    });
    const train = trainAt(text, 'shape');
    expect(train.span.heard).toBe(true);
    const volts = rendered(text, ['shape.trigger']).volts[0] as Float64Array;
    expect(within(train.pulses, volts.length)).toEqual(played(volts));
    expect(train.pulses.length).toBeGreaterThan(15);
  });

  it('are heard in a circle of gates, which has no beginning to work from', () => {
    const text = voice({
      modules: [
        'both: { kind: logic }',
        'late: { kind: delay, time: 40 ms, length: 5 ms }',
        'split: { kind: multiple }',
      ],
      trigger: [
        'drums.hit -> both.a',
        'both.or -> split.in',
        'split.out-1 -> late.trigger',
        'late.out -> both.b',
        'split.out-2 -> shape.trigger',
      ],
    });
    const train = trainAt(text, 'shape');
    expect(train.span.heard).toBe(true);
    const volts = rendered(text, ['shape.trigger']).volts[0] as Float64Array;
    expect(within(train.pulses, volts.length)).toEqual(played(volts));
  });

  it('of a long song are looked at as far as there is enough to see, and the span says so', () => {
    const text = voice({ hit: '8888', song: '[{ pattern: groove, repeats: 400 }]' });
    const { span, strokes = [] } = trainAt(text, 'shape');
    expect(span.complete).toBe(false);
    // 64 strokes a second, some thousands of them.
    expect(strokes.length).toBeGreaterThan(5000);
    close(span.seconds, strokes.length / 64, {
      abs: 0.5,
      unit: 's',
      why: 'a pattern lasts half a second',
    });
  });
});
