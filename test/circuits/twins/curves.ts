/**
 * The curves of src/circuits/dsp/curves.ts, one number at a time: saturation gives its mean over the
 * straight way from the last sample to this one; the curves with corners a third and two sixths of three
 * samples, and for each corner the difference that a B-spline makes to those.
 */

export type Curve = (x: number) => number;

export function saturation(): Curve {
  let last = 0;
  return (x) => {
    const mean = (x + last) / (Math.sqrt(1 + x * x) + Math.sqrt(1 + last * last));
    last = x;
    return mean;
  };
}

const plus = (u: number, power: number): number => (u > 0 ? u ** power : 0);

/**
 * What the cubic B-spline makes of u^power/power! from 0 on, power 1 or 2, less what two thirds and two
 * sixths of three samples of it come to: truncated powers, as in de Boor's book on splines (from memory).
 */
function rest(u: number, power: number): number {
  let factorial = 1;
  for (let n = 2; n <= power + 4; n++) factorial *= n;
  const spline = [1, -4, 6, -4, 1].reduce(
    (sum, c, n) => sum + (c * plus(u + 2 - n, power + 4)) / factorial,
    0,
  );
  const samples = plus(u - 1, power) + 4 * plus(u, power) + plus(u + 1, power);
  return spline - samples / 6 / power;
}

/** The places of corners on a way, and the curve's slopes below and above each. */
type Corners = (a: number, b: number) => readonly (readonly [number, number, number])[];

/** A way that goes further than `far` counts by its `mean` alone. */
function cornered(
  f: Curve,
  corners: Corners,
  far = Number.POSITIVE_INFINITY,
  mean: (a: number, b: number) => number = () => 0,
): Curve {
  const xs = [0, 0, 0, 0, 0];
  /** What the latest ways add to this output and those after it. */
  const added = [0, 0, 0, 0];
  return (x) => {
    xs.push(x);
    xs.shift();
    const [, before, a, b, after] = xs as [number, number, number, number, number];
    const bend = (after - b - (a - before)) / 4;
    const speed = b - a - bend;
    const add = (of: (sample: number) => number): void => {
      for (const n of [0, 1, 2, 3]) added[n] = (added[n] as number) + of(n - 1);
    };
    const leg = (from: number, to: number, isBack: boolean): void => {
      if (Math.abs(to - from) >= far && corners(from, to).length > 0) {
        const height = mean(from, to) - 0.5 * (f(from) + f(to));
        add((sample) => (height * (sample === 0 || sample === 1 ? 11 : 1)) / 24);
        return;
      }
      const up = to > from ? 1 : -1;
      for (const [at, below, above] of corners(from, to)) {
        const v = up * Math.sqrt(Math.max(0, speed * speed + 4 * bend * (at - a)));
        const place = isBack ? (v - speed) / (2 * bend) : (2 * (at - a)) / (speed + v);
        const time = place >= 0 ? Math.min(place, 1) : 0;
        const change = up * (above - below);
        add((sample) => change * (v * rest(sample - time, 1) + 2 * bend * rest(sample - time, 2)));
      }
    };
    if (speed * (speed + 2 * bend) >= 0) leg(a, b, false);
    else {
      const turn = a - (speed * speed) / (4 * bend);
      leg(a, turn, false);
      leg(turn, b, true);
    }
    const corner = added.shift() as number;
    added.push(0);
    return (f(xs[0] as number) + 4 * f(before) + f(a)) / 6 + corner;
  };
}

export function folding(): Curve {
  const near = (x: number): number => x - 4 * Math.round(0.25 * x);
  const folded = (x: number): number =>
    near(x) > 1 ? 2 - near(x) : near(x) < -1 ? -2 - near(x) : near(x);
  const piece = (x: number): number => Math.floor(0.5 * x + 0.5);
  const slope = (n: number): number => (n % 2 === 0 ? 1 : -1);
  const corners: Corners = (a, b) => {
    const [first, last] = [piece(Math.min(a, b)), piece(Math.max(a, b))];
    return Array.from({ length: last - first }, (_, n): [number, number, number] => [
      2 * (first + n) + 1,
      slope(first + n),
      -slope(first + n),
    ]);
  };
  const integral = (x: number): number => {
    const part = x - 2 * piece(x);
    return (slope(piece(x)) * (part * part - 1)) / 2;
  };
  return cornered(folded, corners, 4, (a, b) => (integral(b) - integral(a)) / (b - a));
}

export function rectification(limit: number): Curve {
  const all = [
    [-limit, 0, -1],
    [0, -1, 1],
    [limit, 1, 0],
  ] as const;
  return cornered(
    (x) => Math.min(Math.abs(x), limit),
    (a, b) => all.filter(([at]) => a < at !== b < at),
  );
}
