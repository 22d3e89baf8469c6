/**
 * Bent curves for audio, averaged between samples so that they alias less.
 *
 * A curve f makes harmonics without end. Taking at each sample not f(x) but its mean over the straight
 * way from the last x to this one,
 *
 *   mean = (F(x) - F(last)) / (x - last), F' = f,
 *
 * smooths what f makes before it is sampled, as a moving average over one sample would: harmonics
 * near the sample rate, which would fold to the bottom, are nearly gone. It costs half a sample of
 * delay and cos(pi f/rate) of level.
 *
 * Source: Parker, Zavalishin & Le Bivic, "Reducing the aliasing of nonlinear waveshaping using
 * continuous-time convolution", DAFx-16 (2016) (from memory).
 */

/** Ways shorter than this are taken as a point: their mean would drown in rounding. */
const POINT = 1e-6;

/** A curve at work; it knows the last sample. */
export interface Curve {
  /** Bends the samples where they stand, in units of the bend. */
  bend(samples: Float64Array): void;
}

/**
 * Soft saturation: f(x) = x/sqrt(1 + x^2), F(x) = sqrt(1 + x^2); the mean needs no small difference.
 * Source: the curve is common practice, no source.
 */
export class Saturation implements Curve {
  private last = 0;
  private integral = 1;

  bend(samples: Float64Array): void {
    for (let i = 0; i < samples.length; i++) samples[i] = this.run(samples[i] as number);
  }

  /** Bends one sample. */
  run(x: number): number {
    const integral = Math.sqrt(1 + x * x);
    const mean = (x + this.last) / (integral + this.integral);
    this.last = x;
    this.integral = integral;
    return mean;
  }
}

/** Fold: {@link folded}. */
export class Folding implements Curve {
  private last = 0;

  bend(samples: Float64Array): void {
    for (let i = 0; i < samples.length; i++) {
      const x = samples[i] as number;
      const last = this.last;
      const middle = 0.5 * (x + last);
      const way = x - last;
      if (Math.abs(middle) + 0.5 * Math.abs(way) <= 1) samples[i] = middle;
      else if (Math.abs(way) < POINT) samples[i] = folded(middle);
      else samples[i] = (foldedIntegral(x) - foldedIntegral(last)) / way;
      this.last = x;
    }
  }
}

/** Full-wave rectifier: {@link rectified}. */
export class Rectification implements Curve {
  private readonly limit: number;
  private last = 0;

  constructor(limit: number) {
    this.limit = limit;
  }

  bend(samples: Float64Array): void {
    const limit = this.limit;
    for (let i = 0; i < samples.length; i++) {
      const x = samples[i] as number;
      const last = this.last;
      const middle = Math.abs(0.5 * (x + last));
      const half = Math.abs(0.5 * (x - last));
      // Both on one side of 0 and under the limit: the curve is straight between them.
      if (middle >= half && middle + half <= limit) samples[i] = middle;
      else if (2 * half < POINT) samples[i] = rectified(middle, limit);
      else samples[i] = (rectifiedIntegral(x, limit) - rectifiedIntegral(last, limit)) / (x - last);
      this.last = x;
    }
  }
}

/** The triangle of period 4 through 0 and 1: x itself from -1 to 1. */
export function folded(x: number): number {
  const near = x - 4 * Math.round(0.25 * x);
  return near > 1 ? 2 - near : near < -1 ? -2 - near : near;
}

/** Integral of {@link folded} from 0 to x. */
export function foldedIntegral(x: number): number {
  const near = Math.abs(x - 4 * Math.round(0.25 * x));
  return near > 1 ? 1 - 0.5 * (2 - near) * (2 - near) : 0.5 * near * near;
}

/** The size of x, at most `limit`. */
export function rectified(x: number, limit: number): number {
  return Math.min(Math.abs(x), limit);
}

/** Integral of {@link rectified} from 0 to x. */
export function rectifiedIntegral(x: number, limit: number): number {
  const size = Math.abs(x);
  const area = size > limit ? limit * (size - 0.5 * limit) : 0.5 * size * size;
  return x < 0 ? -area : area;
}
