// The envelope against the closed form of an RC charge, worked out here with Math's own functions,
// and against figures that a circuit simulator gave (test/reference/envelope.json).

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { charged, chargeTime, envelope } from '../../src/modules/envelope.ts';
import { switchTrigger, voltageTrigger } from '../../src/modules/facts.ts';
import { close } from '../close.ts';
import { reference } from '../reference.ts';
import { record, solo } from './solo.ts';

/** The references' own tolerance: a closed form, so only its printed digits limit it. */
const REL = 1e-6;
function near(actual: number, expected: number, rel = REL): void {
  close(actual, expected, { rel: rel, unit: '', why: 'digits as printed, or as the caller says' });
}

describe('charging and discharging (reference: Horowitz & Hill; ngspice)', () => {
  it('S-rc-01, 02: fraction after whole time constants', () => {
    const up = reference<unknown, Record<string, number>>('envelope', 'S-rc-01').expected;
    for (const [n, fraction] of Object.entries(up)) near(charged(0, 1, 1, Number(n)), fraction);
    const down = reference<unknown, Record<string, number>>('envelope', 'S-rc-02').expected;
    for (const [n, fraction] of Object.entries(down)) near(charged(1, 0, 1, Number(n)), fraction);
  });

  it('S-rc-03, 04: time to within 1 % and to 60 dB down', () => {
    near(chargeTime(1, 0, 1 / 100, 1), reference<unknown, number>('envelope', 'S-rc-03').expected);
    near(chargeTime(1, 0, 1 / 1000, 1), reference<unknown, number>('envelope', 'S-rc-04').expected);
  });

  it('S-rc-05: rise from 10 to 90 %', () => {
    near(chargeTime(0.1, 1, 0.9, 1), reference<unknown, number>('envelope', 'S-rc-05').expected);
  });

  it('S-rc-06: time to the peak when aiming past it', () => {
    const { expected } = reference<unknown, Record<string, number>>('envelope', 'S-rc-06');
    for (const [aim, time] of Object.entries(expected))
      near(chargeTime(0, Number(aim), 1, 1), time);
  });

  it('S-rc-07: an attack in volts', () => {
    const { inputs, expected } = reference<
      { R: number; C: number; target: number; level: number },
      number
    >('envelope', 'S-rc-07');
    near(chargeTime(0, inputs.target, inputs.level, inputs.R * inputs.C), expected);
  });

  it('S-rc-08: a gate that ends before the attack does', () => {
    const { inputs, expected } = reference<
      { Ra: number; Rr: number; C: number; T: number; gate: number; later: number },
      { time_needed_s: number; peak_reached: number; level_later: number }
    >('envelope', 'S-rc-08');
    const attackTau = inputs.Ra * inputs.C;
    const reached = charged(0, inputs.T, attackTau, inputs.gate);
    near(chargeTime(0, inputs.T, 1, attackTau), expected.time_needed_s);
    near(reached, expected.peak_reached);
    near(charged(reached, 0, inputs.Rr * inputs.C, inputs.later), expected.level_later);
  });

  it('S-rc-09: a retrigger from a level', () => {
    const { inputs, expected } = reference<
      { R: number; C: number; T: number; v0: number },
      { from_v0_s: number; from_zero_s: number }
    >('envelope', 'S-rc-09');
    near(chargeTime(inputs.v0, inputs.T, 1, inputs.R * inputs.C), expected.from_v0_s);
    near(chargeTime(0, inputs.T, 1, inputs.R * inputs.C), expected.from_zero_s);
  });

  it('S-rc-11: attack, decay and release in one', () => {
    const { inputs, expected } = reference<
      { ta: number; T: number; td: number; S: number; tr: number; gate: number },
      { attack_end_s: number } & Record<string, number>
    >('envelope', 'S-rc-11');
    const { ta, T, td, S, tr, gate } = inputs;
    const attackEnd = chargeTime(0, T, 1, ta);
    near(attackEnd, expected.attack_end_s);
    const whileOn = (t: number) =>
      t < attackEnd ? charged(0, T, ta, t) : charged(1, S, td, t - attackEnd);
    const levels = Object.entries(expected).filter(([key]) => key.startsWith('level_at_'));
    expect(levels).toHaveLength(6);
    for (const [key, level] of levels) {
      const t = Number(/\d+/.exec(key)?.[0]) / 1000;
      near(t <= gate ? whileOn(t) : charged(whileOn(gate), 0, tr, t - gate), level);
    }
  });

  it('S-rc-12: release from a sustain level', () => {
    const { inputs, expected } = reference<
      { level: number; tau: number },
      { below_level_s: number; below_full_scale_s: number }
    >('envelope', 'S-rc-12');
    const { level, tau } = inputs;
    near(chargeTime(level, 0, level / 1000, tau), expected.below_level_s);
    near(chargeTime(level, 0, 0.001, tau), expected.below_full_scale_s);
  });

  it('takes no time to a level already passed, nor without a capacitor', () => {
    expect(chargeTime(2, 3, 1, 1)).toBe(0);
    expect(chargeTime(0, 3, 1, 0)).toBe(0);
    expect(charged(1, 3, 0, 0)).toBe(3);
  });
});

/** Trigger inputs that answer at once, so that sample numbers are those of the gate. */
const AT_ONCE = voltageTrigger(0);

function gate(...spans: [from: number, to: number][]) {
  return (n: number) => (spans.some(([from, to]) => n >= from && n < to) ? 5 : 0);
}

describe('the circuit (references: ngspice)', () => {
  it('S-rc-10: gate on, off, on again during the release', () => {
    const { inputs, expected } = reference<
      { Ra: number; Rr: number; C: number; T: number; on1: number; off: number },
      { peak1: number; level_at_retrigger: number; time_to_1_s: number }
    >('envelope', 'S-rc-10');
    expect(inputs.T).toBe(1.5);
    const rate = 48_000;
    const settings = {
      attack: inputs.Ra * inputs.C * Math.log(3),
      release: inputs.Rr * inputs.C * 5,
      decay: 60,
      sustain: 1,
      peak: 4,
    };
    const off = Math.round(inputs.on1 * rate);
    const again = off + Math.round(inputs.off * rate);
    const circuit = solo(envelope, { settings, sampleRate: rate, facts: { trigger: AT_ONCE } });
    const out = record(circuit, 'out', 4000, gate([0, off], [again, 4000]));
    near((out[off] as number) / 4, expected.peak1);
    near((out[again] as number) / 4, expected.level_at_retrigger);
    // The peak is passed between the last sample under it and the first on it.
    const first = out.findIndex((volts, n) => n > again && volts === 4);
    expect(first - again).toBe(Math.ceil(expected.time_to_1_s * rate));
  });

  it('S-rc-13: the sampled release is an exact recursion', () => {
    const { inputs, expected } = reference<
      { fs: number; tau: number; k: number },
      { a: number; value_at_k: number; 'first_sample_at_or_below_0.001': number }
    >('envelope', 'S-rc-13');
    const circuit = solo(envelope, {
      settings: { attack: 0, decay: 1, sustain: 1, release: 5 * inputs.tau, peak: 1 },
      sampleRate: inputs.fs,
      facts: { trigger: AT_ONCE },
    });
    const out = record(circuit, 'out', 5000, gate([0, 10])).slice(10);
    near(out[1] as number, expected.a, 1e-9);
    near(out[inputs.k] as number, expected.value_at_k, 1e-9);
    expect(out.findIndex((volts) => volts <= 0.001)).toBe(
      expected['first_sample_at_or_below_0.001'],
    );
  });
});

interface Shape {
  attack: number;
  decay: number;
  sustain: number;
  release: number;
  peak: number;
}

/** V at time `t` s after a trigger from rest that lasts `gate` s: the closed form, no recursion. */
function exponential(shape: Shape, gate: number, t: number): number {
  const { attack, decay, sustain, release, peak } = shape;
  const whileOn = (time: number) => {
    const tau = attack / Math.log(3);
    if (time < attack) return 1.5 * peak * (1 - Math.exp(-time / tau));
    return peak * (sustain + (1 - sustain) * Math.exp((-5 * (time - attack)) / decay));
  };
  return t < gate ? whileOn(t) : whileOn(gate) * Math.exp((-5 * (t - gate)) / release);
}

function linear(shape: Shape, gate: number, t: number): number {
  const { attack, decay, sustain, release, peak } = shape;
  const whileOn = (time: number) =>
    time < attack
      ? (peak * time) / attack
      : peak * Math.max(sustain, 1 - ((1 - sustain) * (time - attack)) / decay);
  return t < gate ? whileOn(t) : Math.max(0, whileOn(gate) - (peak * (t - gate)) / release);
}

// 3e-9 V: the circuit skips the last 1e-9 V of each fall, and one skip can follow another.
const CLOSE = 3e-9;

describe.each([44_100, 48_000, 96_000])('every sample is the closed form, at %i Hz', (rate) => {
  const shapes: [string, Shape, number][] = [
    [
      'a hat: 0.4 ms attack',
      { attack: 4e-4, decay: 0.055, sustain: 0, release: 0.055, peak: 5 },
      0.008,
    ],
    [
      'attack within a sample',
      { attack: 3e-6, decay: 0.01, sustain: 0.3, release: 0.02, peak: 8 },
      0.03,
    ],
    [
      'cut off in the attack',
      { attack: 0.02, decay: 0.1, sustain: 0.5, release: 0.05, peak: 5 },
      0.008,
    ],
    ['sustained', { attack: 0.0031, decay: 0.0123, sustain: 0.4, release: 0.0777, peak: 10 }, 0.1],
  ];
  it.each(shapes)('%s', (_, shape, seconds) => {
    const on = Math.round(seconds * rate);
    for (const [curve, formula] of Object.entries({ exponential, linear })) {
      const circuit = solo(envelope, {
        settings: { ...shape, curve },
        sampleRate: rate,
        facts: { trigger: AT_ONCE },
      });
      const out = record(circuit, 'out', 100 + Math.round(0.3 * rate), gate([100, 100 + on]));
      let worst = 0;
      out.forEach((volts, n) => {
        const wanted = n < 100 ? 0 : formula(shape, on / rate, (n - 100) / rate);
        worst = Math.max(worst, Math.abs(volts - wanted));
      });
      expect(worst, curve).toBeLessThan(CLOSE);
    }
  });
});

describe('what a trigger does', () => {
  const rate = 48_000;

  it('is noticed 1 ms late, at the sample where the pulse has lasted so long', () => {
    const out = record(solo(envelope), 'out', 1000, gate([100, 1000]));
    expect(out.findIndex((volts) => volts > 0)).toBe(100 + 47 + 1);
  });

  it('of the switch kind starts it when pulled low', () => {
    const circuit = solo(envelope, {
      settings: { trigger: 'switch', attack: 0 },
      facts: { trigger: switchTrigger(0) },
    });
    const out = record(circuit, 'out', 20, (n) => (n < 10 ? 5 : 0));
    expect(out.findIndex((volts) => volts > 0)).toBe(10);
  });

  it('with no attack is at the peak in the very sample, and with no release at 0', () => {
    for (const curve of ['exponential', 'linear']) {
      const circuit = solo(envelope, {
        settings: { attack: 0, decay: 0, sustain: 0.25, release: 0, peak: 8, curve },
        facts: { trigger: AT_ONCE },
      });
      const out = record(circuit, 'out', 30, gate([10, 20]));
      expect([...out]).toEqual([
        ...new Array(10).fill(0),
        ...new Array(10).fill(2), // straight down to the sustain level
        ...new Array(10).fill(0),
      ]);
      const held = solo(envelope, { settings: { attack: 0, curve }, facts: { trigger: AT_ONCE } });
      expect(record(held, 'out', 11, gate([10, 11]))[10]).toBe(5);
    }
  });

  it('that comes again restarts the attack from the voltage left', () => {
    const settings = { attack: 0.01, decay: 0.1, sustain: 0, release: 0.1 };
    for (const mode of ['gate', 'trigger']) {
      const circuit = solo(envelope, {
        settings: { ...settings, mode },
        sampleRate: rate,
        facts: { trigger: AT_ONCE },
      });
      const out = record(circuit, 'out', 3000, gate([0, 1000], [1500, 3000]));
      const left = out[1500] as number;
      expect(left).toBeGreaterThan(0.5);
      expect(out[1499] as number).toBeGreaterThan(left);
      // Closed form from that voltage, a tenth of the attack's time later.
      const tau = settings.attack / Math.log(3);
      const wanted = 7.5 + (left - 7.5) * Math.exp(-48 / rate / tau);
      close(out[1548], wanted, { abs: CLOSE, unit: 'V', why: 'as said at CLOSE' });
    }
  });

  it('in gate mode, when it ends, starts the release from wherever it is', () => {
    const settings = { attack: 0.001, decay: 1, sustain: 0.5, release: 0.01 };
    const circuit = solo(envelope, { settings, sampleRate: rate, facts: { trigger: AT_ONCE } });
    const out = record(circuit, 'out', 1000, gate([0, 400]));
    const ratio = Math.exp(-5 / (settings.release * rate));
    near((out[401] as number) / (out[400] as number), ratio, 1e-9);
  });
});

describe('mode: trigger', () => {
  const rate = 48_000;
  const settings = { mode: 'trigger', attack: 0.001, decay: 0.02, sustain: 0.5, release: 0.01 };
  /** Samples to the end of attack and decay: 48 + 960. */
  const END = 1008;

  it('runs attack and decay to the end though the trigger is short, then releases', () => {
    const circuit = solo(envelope, { settings, sampleRate: rate, facts: { trigger: AT_ONCE } });
    const out = record(circuit, 'out', 2000, gate([0, 5]));
    for (const n of [30, 48, 500, END]) {
      close(out[n], exponential({ ...settings, peak: 5 }, 1, n / rate), {
        abs: CLOSE,
        unit: 'V',
        why: 'as said at CLOSE',
      });
    }
    near((out[END + 10] as number) / (out[END] as number), Math.exp(-50 / (0.01 * rate)), 1e-9);
  });

  it('holds the sustain level while the trigger is still on after the decay', () => {
    const circuit = solo(envelope, { settings, sampleRate: rate, facts: { trigger: AT_ONCE } });
    const out = record(circuit, 'out', 12_000, gate([0, 10_000]));
    expect(out[9999]).toBe(2.5);
    near(out[10_010] as number, 2.5 * Math.exp(-50 / (0.01 * rate)), 1e-9);
  });

  it('ends the decay on its time to the sample when linear', () => {
    const circuit = solo(envelope, {
      settings: { ...settings, curve: 'linear' },
      sampleRate: rate,
      facts: { trigger: AT_ONCE },
    });
    const out = record(circuit, 'out', 2000, gate([0, 5]));
    near(out[END] as number, 2.5, 1e-9);
    near(out[END + 48] as number, 2, 1e-9); // 5 V in 10 ms is 0.5 V a millisecond
  });
});

describe('whatever its settings', () => {
  const time = fc.oneof(
    fc.constantFrom(0, 1e-300, 1e-12, 1e-6, 60),
    fc.double({ min: 0, max: 60, noNaN: true }),
    fc.double({ min: 0, max: 0.01, noNaN: true }),
  );

  it('stays between 0 V and its peak', () => {
    fc.assert(
      fc.property(
        fc.record({
          attack: time,
          decay: time,
          sustain: fc.double({ min: 0, max: 1, noNaN: true }),
          release: time,
          peak: fc.double({ min: 0.5, max: 10, noNaN: true }),
          mode: fc.constantFrom('gate', 'trigger'),
          curve: fc.constantFrom('exponential', 'linear'),
        }),
        fc.array(fc.integer({ min: 1, max: 400 }), { minLength: 1, maxLength: 12 }),
        (settings, spans) => {
          const circuit = solo(envelope, { settings, facts: { trigger: AT_ONCE } });
          let worst = 0;
          spans.forEach((span, i) => {
            for (let n = 0; n < span; n++) {
              circuit.run(i % 2 === 0 ? 5 : 0, 0);
              const out = circuit.out as number;
              // Rounding may pass the peak by a few units in the last place.
              const inside = out >= 0 && out <= settings.peak * (1 + 1e-12);
              if (!inside) worst = Math.max(worst, 1);
            }
          });
          expect(worst).toBe(0);
        },
      ),
      // A slow line up and an equal one down meet 0 V within a rounding error.
      {
        examples: [
          [
            {
              attack: 59.99999999999993,
              decay: 0,
              sustain: 0,
              release: 60,
              peak: 0.974440526088699,
              mode: 'gate',
              curve: 'linear',
            },
            [181, 181, 1],
          ],
        ],
      },
    );
  });

  it('ends at exactly 0 V, leaving no number too small for the processor', () => {
    for (const curve of ['exponential', 'linear']) {
      const circuit = solo(envelope, {
        settings: { release: 0.1, curve },
        facts: { trigger: AT_ONCE },
      });
      const out = record(circuit, 'out', 48_000, gate([0, 500]));
      expect(out[47_999]).toBe(0);
      const smallest = out.slice(1).reduce((low, v) => (v > 0 ? Math.min(low, v) : low), 1);
      // A straight line's last sample may be a rounding error of 5 V; denormals begin at 1e-308.
      expect(smallest).toBeGreaterThan(1e-15);
    }
  });
});
