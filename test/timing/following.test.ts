// A rhythm that follows pulses, against the times that its header promises, worked out here in real numbers
// from the samples at which the pulses come.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Following } from '../../src/timing/following.ts';
import type { TimedEdge } from '../../src/timing/pulses.ts';
import type { RhythmSettings } from '../../src/timing/rhythm.ts';
import { between } from '../circuits/cases.ts';
import { close } from '../close.ts';
import { runs } from '../runs.ts';
import { allEdges, pattern, settings } from './build.ts';

const RATE = 48_000;

type Event = readonly [sample: number, what: 'pulse' | 'reset' | 'stop' | 'go'];

/** Plays it with pulses and more at samples in order; all that comes up to `until`, s, and the gates' ends. */
function played(
  of: RhythmSettings,
  events: readonly Event[],
  more: { until?: number } = {},
): TimedEdge[] {
  const following = new Following(of, {
    sampleRate: RATE,
    seed: 'any',
    module: 'drums',
    until: 60,
    ...more,
  });
  const found: TimedEdge[] = [];
  const take = (sample: number): void => {
    for (const edge of following.take(sample)) {
      // What plays it has played the samples before.
      if (edge.sample < sample) throw new Error(`an edge of ${edge.sample} is sent at ${sample}`);
      found.push(edge);
    }
  };
  const upTo = (sample: number): void => {
    while (following.next < sample) take(following.next);
  };
  for (const [sample, what] of events) {
    upTo(sample);
    if (what === 'go') following.go();
    else following[what](sample);
    if (following.next <= sample) take(sample);
  }
  upTo(Number.POSITIVE_INFINITY);
  return found;
}

const pulsesAt = (times: readonly number[]): Event[] =>
  times.map((time) => [Math.round(time * RATE), 'pulse']);
const even = (count: number, period: number): number[] =>
  Array.from({ length: count }, (_, i) => 0.25 + i * period);

/** Samples at which an output rises. */
const risesOf = (edges: readonly TimedEdge[], output: number): number[] =>
  edges.filter((edge) => edge.output === output && edge.volts > 0).map(({ sample }) => sample);

/** The exact time of a place in pulses: by the period before its pulse, and no later than the next. */
function timeOf(times: readonly number[], place: number, first: number): number {
  const pulse = Math.floor(place + 1e-9);
  const [at, before, after] = [times[pulse], times[pulse - 1], times[pulse + 1]];
  const period = before === undefined ? first : (at as number) - before;
  return Math.min((at as number) + (place - pulse) * period, after ?? Number.POSITIVE_INFINITY);
}

/** A ramp between two tempos, with jitter: times of pulses, s. */
const anyPulses = fc
  .tuple(
    fc.integer({ min: 8, max: 60 }),
    between(0.02, 0.3),
    between(0.02, 0.3),
    fc.array(between(-0.2, 0.2), { minLength: 60, maxLength: 60 }),
  )
  .map(([count, from, to, jitter]) => {
    let time = 0.1;
    return Array.from({ length: count }, (_, i) => {
      const period = from + ((to - from) * i) / count;
      time += period;
      return time + period * (jitter[i] as number);
    });
  });

describe('a rhythm that follows pulses', () => {
  it('plays within a sample of the exact time, whatever the pulses, the swing and what a pulse is', () => {
    fc.assert(
      fc.property(
        anyPulses,
        fc.constantFrom(1, 2, 3, 4, 24),
        fc.constantFrom<'quarter' | 'step'>('quarter', 'step'),
        fc.constantFrom(1, 3, 4, 6),
        fc.constantFrom(0.5, 0.58, 2 / 3, 0.75),
        fc.constantFrom(1, 2, 3, 5),
        (exact, count, per, stepsPerQuarter, swing, strokes) => {
          const times = exact.map((time) => Math.round(time * RATE) / RATE);
          const line = `${strokes}`.replace('1', 'x');
          const of = settings([pattern([line.repeat(8)], { stepsPerQuarter })], {
            swing,
            follows: { count, per },
            gate: { unit: 'seconds', value: 1 / RATE },
          });
          const got = risesOf(played(of, pulsesAt(times)), 0);
          const step = per === 'step' ? count : count / stepsPerQuarter;
          const first = 60 / 120 / (per === 'step' ? count * stepsPerQuarter : count);
          const wanted: number[] = [];
          for (let k = 0; k * step < times.length; k++) {
            const start = k % 2 === 0 ? k * step : (k - 1) * step + 2 * swing * step;
            const length = k % 2 === 0 ? 2 * swing * step : 2 * (1 - swing) * step;
            for (let s = 0; s < strokes; s++) {
              const place = start + (s * length) / strokes;
              if (place < times.length - 1e-6) wanted.push(timeOf(times, place, first) * RATE);
            }
          }
          // What comes within two samples may be one stroke, one gate being still high.
          const apart = wanted.filter((time, i) => time - (wanted[i - 1] ?? -9) > 4);
          let at = 0;
          for (const time of apart) {
            // Both lists are in order.
            const off = (i: number): number =>
              Math.abs((got[i] ?? Number.POSITIVE_INFINITY) - time);
            while (off(at + 1) < off(at)) at += 1;
            const nearest = got[at] as number;
            close(nearest, time, {
              abs: 0.50001,
              unit: 'samples',
              why: 'a stroke comes at a whole sample',
            });
          }
          expect(got.length).toBeGreaterThanOrEqual(apart.length);
          expect(got.length).toBeLessThanOrEqual(wanted.length);
        },
      ),
      runs(150),
    );
  });

  it('plays what a rhythm of its own plays, to the sample, when the pulses come at its tempo', () => {
    // 125 bpm and 48 kHz: a pulse each 5760 samples, a swung step at 1.16 of that.
    const of = settings(
      [
        pattern(['x-X-4f?x', 'g-2-f-X-'], { swing: 0.58 }),
        pattern(['x3-'], { stepsPerQuarter: 3 }),
      ],
      {
        tempo: 125,
        gate: { unit: 'steps', value: 0.4 },
        'count-in': 1,
        clock: { count: 3, per: 'quarter' },
      },
    );
    const until = 9.99;
    const own = allEdges(of, { until });
    const times = Array.from({ length: 90 }, (_, i) => i * 0.12).filter((time) => time < until);
    const found = played(of, pulsesAt(times), { until });
    const plain = (edges: readonly TimedEdge[]) =>
      edges.map(({ sample, output, volts, cause, bar, step }) => [
        sample,
        output,
        volts,
        cause,
        bar,
        step,
      ]);
    expect(plain(found)).toEqual(plain(own));
  });

  it('stands without pulses, and after the last one plays what belongs to that and no more', () => {
    const of = settings([pattern(['xxxx'])], { follows: { count: 1, per: 'quarter' } });
    expect(played(of, [])).toEqual([]);
    const got = risesOf(
      played(of, [
        [48_000, 'pulse'],
        [72_000, 'pulse'],
      ]),
      0,
    );
    expect(got).toEqual([48_000, 54_000, 60_000, 66_000, 72_000, 78_000, 84_000, 90_000]);
  });

  it('goes by its own tempo until the second pulse', () => {
    const of = settings([pattern(['xxxx'])], { tempo: 60, follows: { count: 1, per: 'quarter' } });
    expect(risesOf(played(of, [[0, 'pulse']]), 0)).toEqual([0, 12_000, 24_000, 36_000]);
  });

  it('plays with the next pulse what that comes before', () => {
    const of = settings([pattern(['xxxx'])], { follows: { count: 1, per: 'quarter' } });
    // The period is 24 000; the next pulse comes after 10 000, before the third and fourth stroke.
    const got = risesOf(played(of, pulsesAt([0, 0.5, 0.5 + 10_000 / RATE])), 0);
    expect(got).toEqual([0, 6000, 12_000, 18_000, 24_000, 30_000, 34_000, 36_500, 39_000, 41_500]);
  });

  it('plays a grace stroke before the pulse where that is expected, and on the first pulse', () => {
    const of = settings([pattern(['ff'])], { flam: 0.02, gate: { unit: 'seconds', value: 0.005 } });
    const got = risesOf(played(of, pulsesAt([0, 0.25, 0.5])), 0);
    // By its own tempo of 120 bpm the second pulse is due at 6000 samples; it comes at 12 000.
    expect(got).toEqual([0, 960, 6000 - 960, 12_000, 24_000 - 960, 24_000, 36_000 - 960]);
    // A pulse that comes before its grace stroke has it on itself.
    const early = risesOf(played(of, pulsesAt([0, 0.1])), 0);
    expect(early).toEqual([0, 960, 4800, 4800 + 960, 9600 - 960]);
  });

  it('begins again with the pulse after a reset, without a count-in, and counts its bars from 1', () => {
    const of = settings([pattern(['X---', '-xxx'], { stepsPerQuarter: 1 })], {
      follows: { count: 1, per: 'step' },
      'count-in': 1,
    });
    const events: Event[] = [
      ...pulsesAt(even(11, 0.1)),
      [Math.round(1.3 * RATE), 'reset'],
      ...pulsesAt([1.35, 1.45]),
      [Math.round(1.55 * RATE), 'reset'],
      ...pulsesAt([1.55, 1.65]),
    ];
    const edges = played(of, events);
    const inTenths = (output: number) =>
      risesOf(edges, output).map((at) => Math.round((at / RATE) * 100) / 100);
    // Four pulses count in; a reset at the sample of a pulse comes before it.
    expect(inTenths(0)).toEqual([0.65, 1.05, 1.35, 1.55]);
    expect(inTenths(1)).toEqual([0.75, 0.85, 0.95, 1.15, 1.25, 1.45, 1.65]);
    // `start` tells each beginning.
    expect(inTenths(6)).toEqual([0.65, 1.35, 1.55]);
    const bars = edges
      .filter(({ output, volts }) => output === 0 && volts > 0)
      .map(({ bar }) => bar);
    expect(bars).toEqual([1, 2, 1, 1]);
  });

  it('stands while it is stopped, and goes on where it stood', () => {
    const of = settings([pattern(['x-2-', '-x--'], { stepsPerQuarter: 1 })], {
      follows: { count: 1, per: 'step' },
      gate: { unit: 'seconds', value: 0.001 },
    });
    const edges = played(of, [
      ...pulsesAt([0.1, 0.2, 0.3]),
      [Math.round(0.32 * RATE), 'stop'],
      ...pulsesAt([0.4, 0.5]),
      [Math.round(0.55 * RATE), 'go'],
      ...pulsesAt([0.6, 0.7]),
    ]);
    const times = (output: number) => risesOf(edges, output).map((at) => at / RATE);
    // The second stroke of the ratchet, at 0.35 s, is dropped; pulses 4 and 5 come at 0.6 and 0.7 s.
    expect(times(0)).toEqual([0.1, 0.3, 0.7]);
    expect(times(1)).toEqual([0.2]);
    const run = edges
      .filter(({ output }) => output === 5)
      .map(({ sample, volts }) => [sample / RATE, volts]);
    expect(run).toEqual([
      [0.1, 6],
      [0.32, 0],
      [0.6, 6],
      [60, 0],
    ]);
  });

  it('lets run rise with the pulse at which it goes on, though nothing else is due there', () => {
    const of = settings([pattern(['x'], { stepsPerQuarter: 1 })], {
      follows: { count: 4, per: 'quarter' },
      clock: { count: 1, per: 'quarter' },
    });
    const edges = played(
      of,
      [
        ...pulsesAt([0.1, 0.2]),
        [Math.round(0.25 * RATE), 'stop'],
        [Math.round(0.28 * RATE), 'go'],
        ...pulsesAt([0.3, 0.4, 0.5]),
      ],
      { until: 1 },
    );
    expect(risesOf(edges, 5)).toEqual([4800, 14_400]);
    expect(risesOf(edges, 0)).toEqual([4800, 24_000]);
  });

  it('sends one start pulse, also where the second pattern begins within its own first step of the bar', () => {
    const of = settings([pattern(['x']), pattern(['xx'], { stepsPerQuarter: 1 })], {
      follows: { count: 1, per: 'step' },
    });
    expect(risesOf(played(of, pulsesAt(even(7, 0.1))), 6)).toEqual([12_000]);
  });

  it('keeps a grace stroke that would come after the next pulse is expected until that', () => {
    // At 0.5 s the off-step is expected at 0.8 s, its grace stroke at 0.78 s, the pulse before it at 0.7 s.
    const of = settings([pattern(['-f'])], {
      swing: 0.75,
      follows: { count: 1, per: 'step' },
      flam: 0.02,
      gate: { unit: 'seconds', value: 0.005 },
    });
    const found = risesOf(played(of, pulsesAt([0, 0.1, 0.2, 0.3, 0.5])), 0);
    expect(found).toEqual([6240, 7200, 15_840, 16_800]);
  });

  it('moves no main stroke whose grace stroke has come for a reset between them', () => {
    // The fourth sixteenth is left when the second pulse comes early: grace there, main 20 ms later.
    const of = settings([pattern(['---f'])], {
      follows: { count: 1, per: 'quarter' },
      flam: 0.02,
      gate: { unit: 'seconds', value: 0.001 },
    });
    const found = (events: readonly Event[]) => risesOf(played(of, events), 0);
    const early = pulsesAt([0, 0.25]);
    expect(found([...early, [12_480, 'reset']]).slice(0, 2)).toEqual([12_000, 12_960]);
  });

  it('takes no pulse from its end on, where run falls', () => {
    const of = settings([pattern(['x'])], {});
    const edges = played(of, pulsesAt([0.1, 0.2, 0.3]), { until: 0.2 });
    expect(risesOf(edges, 0)).toEqual([4800]);
    expect(edges.at(-1)).toMatchObject({ output: 5, volts: 0, sample: 9600, bar: 1, step: 1 });
  });

  it('draws other chances after a reset', () => {
    const of = settings([pattern(['?'.repeat(16)])], {});
    const pass = (from: number) => pulsesAt(Array.from({ length: 16 }, (_, i) => from + i * 0.1));
    const edges = played(of, [...pass(0), [Math.round(1.55 * RATE), 'reset'], ...pass(1.6)]);
    const steps = (from: number, to: number) =>
      risesOf(edges, 0)
        .map((at) => Math.round((at / RATE) * 10))
        .filter((at) => at >= from && at < to)
        .map((at) => at - from);
    expect(steps(0, 16)).not.toEqual(steps(16, 32));
  });
});
