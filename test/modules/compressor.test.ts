// The compressor against the static curve and the detector of the published design, in closed form.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { compressor } from '../../src/modules/compressor.ts';
import { between } from '../circuits/cases.ts';
import { close } from '../close.ts';
import { runs } from '../runs.ts';
import { Bench, jack, type Volts } from './harness.ts';
import { component } from './spectrum.ts';

const RATE = 48_000;

interface Settings {
  readonly threshold?: number;
  readonly ratio?: number;
  readonly knee?: number;
  readonly attack?: number;
  readonly release?: number;
  readonly 'make-up'?: number;
}

/** Volts at both outputs, with nothing plugged into the side chain. */
function run(settings: Settings, volts: Volts, samples: number, rate = RATE) {
  const place = { sampleRate: rate, settings: { ...settings }, patched: ['out', 'reduction'] };
  const given = new Bench(compressor, place).run(samples, { in: volts });
  return { out: jack(given, 'out'), reduction: jack(given, 'reduction') };
}

/**
 * dB of the output over the threshold for so many of the input: Giannoulis, Massberg & Reiss, J. Audio
 * Eng. Soc. 60 (2012) 399, equation 4 (from memory).
 */
function published(over: number, ratio: number, knee: number): number {
  if (2 * over < -knee) return over;
  if (2 * Math.abs(over) <= knee && knee > 0)
    return over + ((1 / ratio - 1) * (over + knee / 2) ** 2) / (2 * knee);
  return over / ratio;
}

const decibels = (gain: number): number => 20 * Math.log10(gain);
const why = 'rounding; the detector has settled';

describe('the static curve', () => {
  it('is the published one, for steady volts of either sign', () => {
    fc.assert(
      fc.property(
        fc.record({
          threshold: between(0.01, 6),
          ratio: between(1, 100),
          knee: fc.oneof(fc.constant(0), between(0, 36)),
          over: between(-40, 40),
          'make-up': between(-40, 0),
          sign: fc.constantFrom(1, -1),
        }),
        ({ over, sign, ...settings }) => {
          const volts = sign * settings.threshold * 10 ** (over / 20);
          fc.pre(Math.abs(volts) < 12);
          const { out } = run({ ...settings, attack: 2e-5, release: 0.001 }, volts, 400);
          const wanted = published(over, settings.ratio, settings.knee) + settings['make-up'];
          const given = (out[399] as number) / (sign * settings.threshold);
          close(decibels(given), wanted, { abs: 1e-6, unit: 'dB', why });
        },
      ),
      runs(200),
    );
  });

  it.each([
    [4, 12, 3],
    [2, 12, 6],
    [8, 16, 2],
  ])(
    'at %i:1 leaves %i dB over the threshold %i dB over it (what a ratio is: common practice, no source)',
    (ratio, over, left) => {
      const settings = { threshold: 0.5, ratio, knee: 0, attack: 2e-5, release: 0.001 };
      const { out } = run(settings, 0.5 * 10 ** (over / 20), 400);
      close(decibels((out[399] as number) / 0.5), left, { abs: 1e-6, unit: 'dB', why });
    },
  );

  it('has no step and no corner with a knee, and takes (1 - 1/ratio) knee/8 at the threshold', () => {
    const settings = { threshold: 1, ratio: 5, knee: 12, attack: 2e-5, release: 0.001 };
    const at = (over: number): number =>
      10 * (run(settings, 10 ** (over / 20), 400).reduction[399] as number);
    close(at(0), (0.8 * 12) / 8, { abs: 1e-6, unit: 'dB', why });
    for (const edge of [-6, 6]) {
      const slope = (from: number): number => (at(from + 1e-3) - at(from)) / 1e-3;
      close(slope(edge), slope(edge - 1e-3), {
        abs: 2e-4,
        unit: '1',
        why: 'the quadratic bends by 0.8/12 a dB, over 1e-3 dB either side',
      });
    }
  });

  it.each([100, 997, 4800])('holds for the crests of a sine of %i Hz', (hertz) => {
    const [release, crest] = [2, 4];
    const sine = (n: number): number => crest * Math.sin((2 * Math.PI * hertz * (n + 0.5)) / RATE);
    const settings = { threshold: 1, ratio: 3, knee: 0, attack: 0.005, release };
    const { out } = run(settings, sine, 36_000);
    const { amplitude } = component(out.slice(-9600), RATE, hertz);
    const over = decibels(crest);
    // Between two crests the detector lets go of part of what it takes; a crest may lie half a sample off.
    const lost =
      over * (0.5 / hertz / release) + Math.abs(decibels(Math.cos((Math.PI * hertz) / RATE)));
    close(decibels(amplitude), published(over, 3, 0), {
      abs: 0.02 + lost,
      unit: 'dB',
      why: 'the release between crests, crests between samples, and a hundredth of the attack left',
    });
  });

  it('at 1:1, and under the knee, leaves every bit as it came', () => {
    const noise = new Float64Array(2000).map((_, n) => 1.9 * Math.sin(n * n));
    expect(run({ ratio: 1, threshold: 0.1 }, noise, 2000).out).toEqual(noise);
    expect(run({ threshold: 4, knee: 6, ratio: 20 }, noise, 2000).out).toEqual(noise);
  });
});

describe('the detector', () => {
  it.each([44_100, 96_000])('has taken 63 % of its way after the attack, at %i Hz', (rate) => {
    const settings = { threshold: 1, ratio: 4, knee: 0, attack: 0.02, release: 0.3 };
    const { reduction } = run(settings, 4, rate / 5, rate);
    const whole = 0.1 * 0.75 * decibels(4);
    reduction.forEach((volts, n) => {
      close(volts, whole * (1 - Math.exp(-(n + 1) / rate / 0.02)), {
        abs: 1e-9,
        unit: 'V',
        why: 'the charge of one time constant, sampled: exact but for rounding',
      });
    });
  });

  it('lets go by two time constants, release and attack', () => {
    const [attack, release] = [0.004, 0.08];
    const settings = { threshold: 1, ratio: 4, knee: 0, attack, release };
    const { reduction } = run(settings, (n) => (n < 4800 ? 4 : 0), 28_800);
    const whole = reduction[4799] as number;
    close(whole, 0.1 * 0.75 * decibels(4), { rel: 1e-9, unit: 'V', why });
    for (const t of [0.001, 0.01, 0.08, 0.2, 0.4]) {
      const left =
        (release * Math.exp(-t / release) - attack * Math.exp(-t / attack)) / (release - attack);
      close(reduction[4799 + Math.round(t * RATE)] as number, whole * left, {
        abs: (whole * 1) / RATE / attack,
        unit: 'V',
        why: 'two recursions in one sample, against continuous time: a sample of the faster',
      });
    }
  });

  it('comes to rest at exactly 0 V and gives the input back to the bit', () => {
    const settings = { threshold: 1, ratio: 10, attack: 0.001, release: 0.01 };
    const { out, reduction } = run(settings, (n) => (n < 100 ? 5 : 0.3), 48_000);
    expect(reduction[47_999]).toBe(0);
    expect(out[47_999]).toBe(0.3);
    expect(reduction.some((v) => v !== 0 && Math.abs(v) < 2.3e-308)).toBe(false);
  });
});

describe('the side chain', () => {
  const chained = (volts: Volts, input: Volts) =>
    new Bench(compressor, {
      settings: { threshold: 1, ratio: 4, knee: 0, attack: 2e-5, release: 0.001 },
    }).run(400, { in: input, 'side-chain': volts });

  it('decides where it is plugged, whatever comes in', () => {
    close(jack(chained(4, 0.2), 'out')[399] as number, 0.2 * 4 ** -0.75, {
      rel: 1e-9,
      unit: 'V',
      why,
    });
    expect(jack(chained(0, 5), 'out')[399]).toBe(5);
  });
});

it('keeps both outputs within the rails', () => {
  const loud = (n: number): number => 12 * Math.sin(n);
  const settings = { threshold: 0.005, ratio: 100, 'make-up': 40, attack: 1 };
  const { out, reduction } = run(settings, loud, 4000);
  for (const volts of [...out, ...reduction]) expect(Math.abs(volts)).toBeLessThanOrEqual(12);
});
