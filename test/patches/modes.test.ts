// Drums and sticks are tuned to the modes of their instruments; the ratios are computed again here.

import { describe, it } from 'vitest';
import { close } from '../close.ts';
import { patchFrom } from '../patch-of.ts';
import { withPart } from './listen.ts';

/** J of order n: (1/pi) times the integral of cos(n a - x sin a) from 0 to pi: Abramowitz & Stegun 9.1.21. */
function bessel(n: number, x: number): number {
  // The trapezoidal rule on a periodic integrand converges faster than any power of the step.
  const steps = 200;
  let sum = 0;
  for (let k = 0; k <= steps; k++) {
    const a = (Math.PI * k) / steps;
    sum += (k === 0 || k === steps ? 0.5 : 1) * Math.cos(n * a - x * Math.sin(a));
  }
  return sum / steps;
}

/** The zero between two numbers at which f differs in sign. */
function zero(f: (x: number) => number, low: number, high: number): number {
  const sign = Math.sign(f(low));
  for (let i = 0; i < 60; i++) {
    const middle = (low + high) / 2;
    if (Math.sign(f(middle)) === sign) low = middle;
    else high = middle;
  }
  return low;
}

/** at-zero of the resonators or oscillators of a part, Hz. */
function tuning(part: string, ...names: string[]): number[] {
  const { modules } = patchFrom(withPart(part, { gate: 'gate.in', out: 'touch.out' }));
  return names.map((name) => {
    const module = modules.find((one) => one.name === `voice.${name}`);
    return module?.settings['at-zero'] as number;
  });
}

function ratios(hertz: readonly number[]): number[] {
  return hertz.map((one) => one / (hertz[0] as number));
}

describe('the zeros of Bessel functions', () => {
  // Abramowitz & Stegun, table 9.5, to five decimals (values from memory): half of the last is 5e-6.
  it.each([
    [0, 2, 3, 2.40483],
    [1, 3, 4.5, 3.83171],
    [2, 4.5, 6, 5.13562],
    [0, 5, 6, 5.52008],
  ])('J%i between %d and %d is 0 at %d', (order, low, high, published) => {
    close(
      zero((x) => bessel(order, x), low, high),
      published,
      { abs: 5.1e-6, unit: '', why: 'published to five decimals' },
    );
  });

  const first = zero((x) => bessel(0, x), 2, 3);
  const membrane = [
    1,
    zero((x) => bessel(1, x), 3, 4.5) / first,
    zero((x) => bessel(2, x), 4.5, 6) / first,
    zero((x) => bessel(0, x), 5, 6) / first,
  ];

  // The frequencies in the files are rounded to 0.1 Hz (0.5 Hz where they are whole): 0.2 % at most.
  it.each([
    ['tom', ['head-1', 'head-2', 'head-3', 'head-4']],
    ['membrane-snare', ['skin-1', 'skin-2']],
  ])('tune %s', (part, names) => {
    ratios(tuning(part, ...names)).forEach((ratio, mode) => {
      close(ratio, membrane[mode] as number, {
        rel: 0.002,
        unit: '',
        why: 'frequencies in the files are rounded, as above',
      });
    });
  });

  it('tune the kick and the plain snare', () => {
    const kick = patchFrom(withPart('membrane-kick', { gate: 'gate.in', out: 'warmth.out' }));
    const snare = patchFrom(withPart('snare', { gate: 'gate.in', out: 'both.out' }));
    const ratio = ({ modules }: typeof kick, low: string, high: string): number => {
      const at = (name: string): number =>
        modules.find((one) => one.name === `voice.${name}`)?.settings['at-zero'] as number;
      return at(high) / at(low);
    };
    close(ratio(kick, 'head-1', 'head-2'), membrane[1] as number, {
      rel: 0.002,
      unit: '',
      why: 'frequencies in the files are rounded, as above',
    });
    close(ratio(snare, 'skin-1', 'skin-2'), membrane[3] as number, {
      rel: 0.002,
      unit: '',
      why: 'frequencies in the files are rounded, as above',
    });
  });
});

describe('the modes of a bar with free ends', () => {
  // Roots of cos x cosh x = 1, whose squares are the frequencies (Rayleigh, The Theory of Sound, 171, from
  // memory). Divided by cosh x, so that it stays bounded between the roots.
  const f = (x: number): number => Math.cos(x) - 1 / Math.cosh(x);
  const roots = [zero(f, 4, 5), zero(f, 7, 8.5), zero(f, 10, 12)];

  it('lie at 4.73004, 7.85320 and 10.99561', () => {
    // To five decimals (values from memory).
    [4.73004, 7.8532, 10.99561].forEach((published, k) => {
      close(roots[k], published, { abs: 6e-6, unit: '', why: 'published to five decimals' });
    });
  });

  it('tune the stick of rim', () => {
    const bar = ratios(roots.map((root) => root ** 2));
    ratios(tuning('rim', 'stick-1', 'stick-2', 'stick-3')).forEach((ratio, mode) => {
      close(ratio, bar[mode] as number, { rel: 0.0016, unit: '', why: 'rounded to 1 Hz of 640' });
    });
  });
});
