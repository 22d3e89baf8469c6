/**
 * The curves of src/circuits/dsp/curves.ts, one number at a time: each gives its mean over the straight
 * way from the last sample to this one.
 */

const POINT = 1e-6;

export type Curve = (x: number) => number;

export function saturation(): Curve {
  let last = 0;
  return (x) => {
    const mean = (x + last) / (Math.sqrt(1 + x * x) + Math.sqrt(1 + last * last));
    last = x;
    return mean;
  };
}

export function folding(): Curve {
  const near = (x: number): number => x - 4 * Math.round(0.25 * x);
  const folded = (x: number): number =>
    near(x) > 1 ? 2 - near(x) : near(x) < -1 ? -2 - near(x) : near(x);
  const integral = (x: number): number => {
    const size = Math.abs(near(x));
    return size > 1 ? 1 - 0.5 * (2 - size) * (2 - size) : 0.5 * size * size;
  };
  let last = 0;
  return (x) => {
    const way = x - last;
    const middle = 0.5 * (x + last);
    const straight = Math.abs(middle) + 0.5 * Math.abs(way) <= 1;
    const mean = (integral(x) - integral(last)) / way;
    last = x;
    return straight ? middle : Math.abs(way) < POINT ? folded(middle) : mean;
  };
}

export function rectification(limit: number): Curve {
  const integral = (x: number): number => {
    const size = Math.abs(x);
    const area = size > limit ? limit * (size - 0.5 * limit) : 0.5 * size * size;
    return x < 0 ? -area : area;
  };
  let last = 0;
  return (x) => {
    const middle = Math.abs(0.5 * (x + last));
    const half = Math.abs(0.5 * (x - last));
    const mean = (integral(x) - integral(last)) / (x - last);
    last = x;
    if (middle >= half && middle + half <= limit) return middle;
    return 2 * half < POINT ? Math.min(middle, limit) : mean;
  };
}
