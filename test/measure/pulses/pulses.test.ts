// Recorded gates against what they were made of: levels, times, jitter, what hides them, and recordings that
// are not gates.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type PulseMeasures, pulseMeasures } from '../../../src/measure/pulses/pulses.ts';
import { between } from '../../circuits/cases.ts';
import { close } from '../../close.ts';
import { runs } from '../../runs.ts';
import { clockOf, gaussian, type Recorded, samplesOf, sourceOf } from './synthetic.ts';

function measured(recorded: Recorded): PulseMeasures {
  const { sampleRate, fullScale } = recorded;
  const found = pulseMeasures(sourceOf(samplesOf(recorded), sampleRate, fullScale));
  if (typeof found === 'string') throw new Error(found);
  return found;
}

/** Against the line through them, as G.810 has it: an independent fit, by the normal equations. */
function jitterOf(recorded: Recorded): number {
  const times = recorded.pulses.map(({ rise }) => rise);
  const n = times.length;
  const sum = (of: (time: number, k: number) => number): number =>
    times.reduce((all, time, k) => all + of(time, k), 0);
  const [k1, k2, t, kt] = [
    sum((_, k) => k),
    sum((_, k) => k * k),
    sum((time) => time),
    sum((time, k) => k * time),
  ] as const;
  const period = (n * kt - k1 * t) / (n * k2 - k1 * k1);
  const start = (t - period * k1) / n;
  return Math.sqrt(sum((time, k) => (time - start - k * period) ** 2) / n);
}

describe('a recorded clock', () => {
  const cases = fc.record({
    sampleRate: fc.constantFrom(44_100, 48_000, 88_200, 96_000, 192_000),
    bits: fc.constantFrom(16 as const, 24 as const),
    period: between(0.005, 0.12),
    share: between(0.1, 0.6),
    low: between(-1, 0.5),
    swing: between(2, 9),
    jitter: between(2e-5, 4e-4),
    seed: fc.integer({ min: 1, max: 1e6 }),
  });

  it('has period, levels, width and jitter as made, at every rate and depth, with noise at -50 dB', () => {
    fc.assert(
      fc.property(cases, ({ period, share, low, swing, jitter, ...rest }) => {
        const width = Math.max(0.0015, share * period);
        // In less than half a second, or with a mean of 0 V, it may not be known whether a capacitor is in the way:
        // coupling.test.ts.
        const count = Math.max(60, Math.ceil(0.6 / period));
        fc.pre(Math.abs(low + (swing * Math.min(width, 0.7 * period)) / period) > 0.05 * swing);
        const recorded = clockOf({
          ...rest,
          period,
          width: Math.min(width, 0.7 * period),
          jitter: Math.min(jitter, period / 60),
          count,
          low,
          high: low + swing,
          // -50 dB of the swing.
          noise: swing * 10 ** (-50 / 20),
        });
        const found = measured(recorded);
        expect(found.rises).toHaveLength(count);
        expect(found.cornerHz).toBeUndefined();
        const percent = 'what is promised of it: 1 % of the swing';
        close(found.levels?.low ?? Number.NaN, low, { abs: 0.01 * swing, unit: 'V', why: percent });
        close(found.levels?.high ?? Number.NaN, low + swing, {
          abs: 0.01 * swing,
          unit: 'V',
          why: percent,
        });
        const { clock, width: long, riseTime } = found;
        if (clock === undefined) throw new Error('no clock');
        // Of 60 edges the line's slope is off by jitter x sqrt(12 / 60^3), here under 0.013 % of a period.
        close(clock.period, period, { rel: 1e-3, unit: 's', why: 'promised: 0.1 %' });
        close(clock.jitterRms, jitterOf(recorded), { rel: 0.05, unit: 's', why: 'promised: 5 %' });
        const { fall = 0, rise = 0 } = recorded.pulses[0] ?? {};
        close(long?.median ?? 0, fall - rise, {
          abs: 3e-6,
          unit: 's',
          why: 'half a step of noise on a ramp of 80 us, and the median over 60',
        });
        // 64 us, which is under three samples at the lower rates: a sample has two of them uncertain.
        close(riseTime ?? 0, 0.8 * recorded.ramp, {
          abs: 0.6 / recorded.sampleRate,
          unit: 's',
          why: 'its ends are found between samples, on a straight line that the corners bend',
        });
      }),
      runs(30),
    );
  });

  it.each([
    ['high for a hundredth', { period: 0.1, width: 0.001, count: 40 }],
    ['high but for a hundredth', { period: 0.1, width: 0.099, count: 40 }],
    ['of 0.2 Hz', { period: 5, width: 0.01, count: 5 }],
    ['of 2 kHz', { period: 5e-4, width: 2.5e-4, count: 800, ramp: 2e-5, sampleRate: 96_000 }],
    ['of slow edges', { period: 60 / 120 / 24, width: 0.01, count: 96, ramp: 0.004 }],
  ] as const)('%s is read as well', (_, some) => {
    const jitter = some.period / 100 / (some.period > 1 ? 200 : 1);
    const made = clockOf({ ...some, jitter: Math.min(2e-4, jitter), low: 0.1, high: 5.1 });
    const { levels, clock, rises } = measured(made);
    expect(rises).toHaveLength(some.count);
    const why = 'promised of levels, periods and jitter: 1, 0.1 and 5 %';
    close(levels?.low ?? 1, 0.1, { abs: 0.05, unit: 'V', why });
    close(levels?.high ?? 1, 5.1, { abs: 0.05, unit: 'V', why });
    close(clock?.period ?? 0, some.period, { rel: 1e-3, unit: 's', why });
    close(clock?.jitterRms ?? 0, jitterOf(made), { rel: 0.05, unit: 's', why });
  });

  it('tells swing from jitter', () => {
    for (const swing of [52, 58, 66.7]) {
      const found = measured(
        clockOf({ period: 0.125, count: 48, width: 0.01, swing, jitter: 3e-5 }),
      );
      close(found.clock?.swingPercent ?? 0, swing, {
        abs: 0.02,
        unit: '%',
        why: '30 us over 24 pairs of 250 ms: 6 us, 0.003 %',
      });
      close(found.clock?.period ?? 0, 0.125, { rel: 1e-3, unit: 's', why: 'promised: 0.1 %' });
      expect(found.clock?.jitterRms).toBeLessThan(5e-5);
    }
  });

  it('tells swing that is hardly more than the jitter, of enough pulses', () => {
    const some = { period: 0.02, count: 400, width: 0.004, jitter: 5e-4 };
    const { clock } = measured(clockOf({ ...some, swing: 55 }));
    close(clock?.swingPercent ?? 0, 55, {
      abs: 0.5,
      unit: '%',
      why: '0.5 ms over 200 pairs of 40 ms: 0.05 ms, 0.125 %, four times',
    });
    const jitter = jitterOf(clockOf(some));
    close(clock?.jitterRms ?? 0, jitter, { rel: 0.05, unit: 's', why: 'promised: 5 %' });
    expect(measured(clockOf(some)).clock?.swingPercent).toBeUndefined();
  });

  it('names what is missing and what comes twice', () => {
    const made = clockOf({ period: 0.05, count: 40, width: 0.004, jitter: 1e-5 });
    const [tenth, thirtieth] = [10, 30].map((n) => made.pulses[n]?.rise ?? 0) as [number, number];
    const double = { rise: thirtieth + 0.008, fall: thirtieth + 0.012 };
    const pulses = [...made.pulses.filter(({ rise }) => rise !== tenth), double].toSorted(
      (a, b) => a.rise - b.rise,
    );
    const { clock } = measured({ ...made, pulses });
    expect(clock?.missing).toHaveLength(1);
    expect(clock?.doubles).toHaveLength(1);
    const why = 'the jitter of the edge, and of the line';
    close(clock?.missing[0] ?? 0, tenth, { abs: 5e-5, unit: 's', why });
    close(clock?.doubles[0] ?? 0, double.rise, { abs: 1e-6, unit: 's', why: 'no jitter' });
  });

  it('takes a rhythm for none', () => {
    const steps = [0, 2, 3, 6, 8, 10, 11, 14, 16, 18, 19, 22];
    const pulses = steps.map((step) => ({ rise: 0.05 + 0.12 * step, fall: 0.06 + 0.12 * step }));
    const found = measured({ ...clockOf({ period: 0.12, count: 24, width: 0.01 }), pulses });
    expect(found.clock).toBeUndefined();
    expect(found.interval).toMatchObject({ least: expect.closeTo(0.12, 5) });
  });
});

describe('a recording that begins or ends within a pulse', () => {
  // Rises at 0.03 s and every 50 ms from there, 20 ms long, without ramps.
  const made = { ...clockOf({ period: 0.05, count: 12, width: 0.02, noise: 0.005 }), ramp: 1e-9 };
  const cut = (from: number, to = made.seconds): PulseMeasures => {
    const samples = samplesOf(made).slice(
      Math.ceil(from * made.sampleRate),
      Math.ceil(to * made.sampleRate),
    );
    const found = pulseMeasures(sourceOf(samples, made.sampleRate));
    if (typeof found === 'string') throw new Error(found);
    return found;
  };

  it('counts one that begins with it', () => {
    const found = cut(0.03);
    expect(found.rises).toHaveLength(12);
    expect(found.isCut).toEqual({ start: false, end: false });
    const why = 'a step is put between two samples';
    close(found.rises[0] ?? 1, 0, { abs: 0.6 / made.sampleRate, unit: 's', why });
    close(found.clock?.period ?? 0, 0.05, { rel: 1e-4, unit: 's', why: 'a sample at either end' });
    close(found.levels?.high ?? 0, 5, { abs: 0.05, unit: 'V', why: 'promised: 1 % of the swing' });
  });

  it.each([
    [0.0301, 0.62, true, false, 11],
    [0.049, 0.62, true, false, 11],
    [0.051, 0.62, false, false, 11],
    [0.02, 0.59, false, true, 12],
    [0.0301, 0.59, true, true, 11],
  ])('says so: from %d to %d s', (from, to, start, end, count) => {
    const found = cut(from, to);
    expect(found.isCut).toEqual({ start, end });
    expect(found.rises).toHaveLength(count);
    const why = 'whole ones alone';
    close(found.width?.median ?? 0, 0.02, { abs: 3e-5, unit: 's', why });
  });
});

describe('an interface that does not pass direct current', () => {
  it('is seen, with its corner, and no level is given', () => {
    fc.assert(
      fc.property(
        between(0.3, 20),
        between(0.001, 0.006),
        between(0.02, 0.12),
        fc.constantFrom(0, 0.005),
        (corner, width, period, noise) => {
          // A smaller capacitor leaves no levels at all, which is said instead.
          fc.pre(2 * Math.PI * corner * width < 0.45);
          const found = measured(clockOf({ period, count: 50, width, corner, noise }));
          expect(found.levels).toBeUndefined();
          // A first-order droop; what the ringing of the edge leaves out makes it less.
          close(found.cornerHz ?? Number.NaN, corner, {
            rel: 0.25,
            unit: 'Hz',
            why: 'it says which kind of input it is, no more',
          });
          close(found.swing, 5, {
            rel: 0.1,
            unit: 'V',
            why: 'a straight line through what droops as exp(-x): x^2 / 12 at its start, x at most 0.75',
          });
          close(found.clock?.period ?? 0, period, { rel: 1e-3, unit: 's', why: 'promised: 0.1 %' });
        },
      ),
      { ...runs(12), endOnFailure: true },
    );
  });

  it('leaves period and jitter as promised, at every rate and depth, with noise at -50 dB', () => {
    const cases = fc.record({
      sampleRate: fc.constantFrom(44_100, 48_000, 88_200, 96_000, 192_000),
      bits: fc.constantFrom(16 as const, 24 as const),
      period: between(0.01, 0.12),
      share: between(0.15, 0.6),
      loss: between(0.02, 0.4),
      low: between(-1, 0.5),
      swing: between(2, 9),
      jitter: between(5e-5, 4e-4),
      seed: fc.integer({ min: 1, max: 1e6 }),
    });
    fc.assert(
      fc.property(cases, ({ period, share, loss, low, swing, jitter, ...rest }) => {
        const width = Math.max(0.002, share * period);
        const made = clockOf({
          ...rest,
          period,
          width,
          corner: loss / width / (2 * Math.PI),
          jitter: Math.min(jitter, period / 60),
          count: Math.max(60, Math.ceil(0.6 / period)),
          low,
          high: low + swing,
          noise: swing * 10 ** (-50 / 20),
        });
        const { clock, rises, levels } = measured(made);
        expect(levels).toBeUndefined();
        expect(rises).toHaveLength(made.pulses.length);
        close(clock?.period ?? 0, period, { rel: 1e-3, unit: 's', why: 'promised: 0.1 %' });
        close(clock?.jitterRms ?? 0, jitterOf(made), {
          rel: 0.05,
          unit: 's',
          why: 'promised: 5 %',
        });
      }),
      runs(16),
    );
  });

  it.each([
    // Of a high it leaves from nine tenths to nothing, and it starts to settle with the recording.
    ['slow', { corner: 0.32, period: 0.316, width: 0.188, count: 30 }],
    ['usual', { corner: 1.7, period: 0.0318, width: 0.02, count: 26, low: -2.5 }],
    ['fast', { corner: 5.5, period: 0.0485, width: 0.027, count: 21, sampleRate: 88_200 }],
    ['faster still', { corner: 6.9, period: 0.161, width: 0.088, count: 40 }],
    ['of short pulses', { corner: 0.46, period: 0.0103, width: 0.0016, count: 78 }],
  ] as const)('hides no pulse, moves none and is no jitter: %s', (_, some) => {
    const made = clockOf({ jitter: 2e-4, high: 4, bits: 16, noise: 4 * 10 ** (-50 / 20), ...some });
    const found = measured(made);
    expect(found.levels).toBeUndefined();
    expect(found.rises).toHaveLength(some.count);
    const percent = 'promised of it: 5 %';
    close(found.clock?.jitterRms ?? 0, jitterOf(made), { rel: 0.05, unit: 's', why: percent });
    close(found.width?.median ?? 0, some.width, { abs: 2e-5, unit: 's', why: 'what noise leaves' });
    close(found.cornerHz ?? 0, some.corner, {
      rel: 0.25,
      unit: 'Hz',
      why: 'it says which kind of input it is, no more',
    });
    expect([found.clock?.missing, found.clock?.doubles]).toEqual([[], []]);
  });

  it('is not suspected of gates that sag by themselves, nor of gates whose mean is 0 V', () => {
    const { sampleRate, ...made } = clockOf({ period: 0.05, count: 40, width: 0.02, noise: 0.01 });
    const samples = samplesOf({ sampleRate, ...made });
    // A tenth of it over 20 ms, from each rise on.
    for (const { rise, fall } of made.pulses)
      for (let n = Math.ceil(rise * sampleRate); n < fall * sampleRate; n++)
        samples[n] = (samples[n] as number) * Math.exp(-5 * (n / sampleRate - rise));
    const sagging = pulseMeasures(sourceOf(samples, sampleRate));
    if (typeof sagging === 'string') throw new Error(sagging);
    expect(sagging.cornerHz).toBeUndefined();
    const centred = measured(
      clockOf({ period: 0.018, count: 28, width: 0.006, low: -1.6, high: 3.05, noise: 0.005 }),
    );
    close(centred.levels?.low, -1.6, {
      abs: 0.005,
      unit: 'V',
      why: 'noise of 5 mV, over the samples of a level',
    });
  });

  it('is not suspected of gates about 0 V, of noise, or of short recordings', () => {
    for (const some of [
      { low: -5, high: 5, width: 0.025 },
      { low: -5, high: 5, width: 0.001, noise: 0.05 },
      { low: 0, high: 5, width: 0.001, noise: 0.05, count: 3 },
    ]) {
      const found = measured(clockOf({ period: 0.05, count: 60, ...some }));
      expect(found.cornerHz, JSON.stringify(some)).toBeUndefined();
    }
  });
});

describe('what is no gate', () => {
  const RATE = 48_000;
  const random = gaussian(5);
  const made = (of: (n: number) => number): Float64Array =>
    new Float64Array(RATE).map((_, n) => of(n));

  it.each([
    ['nothing', new Float64Array(0), 'empty'],
    ['silence', made(() => 0), 'no-levels'],
    ['one level', made(() => 0.4), 'no-levels'],
    ['noise', made(() => 0.1 * random()), 'no-levels'],
    ['hum', made((n) => 0.5 * Math.sin((2 * Math.PI * 50 * n) / RATE)), undefined],
    ['a drum', made((n) => Math.sin(0.05 * n) * Math.exp(-(n % 12_000) / 3000)), undefined],
    ['a step up', made((n) => (n < RATE / 2 ? 0 : 0.5)), undefined],
  ] as const)('%s gives a reason and no figures', (_, samples, reason) => {
    const found = pulseMeasures(sourceOf(samples, RATE));
    if (reason !== undefined) expect(found).toBe(reason);
    else if (typeof found !== 'string') expect(found.width).toBeUndefined();
  });
});

it('counts clipped samples', () => {
  const made = clockOf({ period: 0.05, count: 10, width: 0.01, high: 12 });
  const samples = samplesOf(made).map((one) => Math.min(1, one));
  const found = pulseMeasures(sourceOf(samples, made.sampleRate));
  // 10 pulses of 10 ms at 48 kHz, less the ends of their ramps.
  expect(typeof found === 'string' ? 0 : found.clipped).toBeGreaterThan(4700);
});
