/**
 * Gradient descent in many coordinates at once, each with a step size from its own slopes.
 *
 * Source: D. P. Kingma & J. Ba, Adam: A Method for Stochastic Optimization, ICLR 2015, algorithm 1 (from
 * memory). Deviation: coordinates stay in bounds, steps shrink towards the end, and the best place is kept.
 */

export interface Slope {
  readonly value: number;
  readonly gradient: Float64Array;
}

export interface DescentOptions {
  readonly low: Float64Array;
  readonly high: Float64Array;
  readonly steps: number;
}

/** The longest step; decay rates of the mean slope and of its mean square. */
const STEP = 0.2;
const MEAN = 0.9;
const SQUARE = 0.98;
/** Steps shrink after this share of all of them. */
const SHRINKS = 0.4;
const LEAST = 1e-6;

/** @returns the lowest place found, and its value. */
export function descended(
  slopeAt: (place: Float64Array) => Slope,
  start: Float64Array,
  { low, high, steps }: DescentOptions,
): { readonly place: Float64Array; readonly value: number } {
  const place = start.map((one, k) => within(one, low[k] as number, high[k] as number));
  const means = new Float64Array(place.length);
  const squares = new Float64Array(place.length);
  let best = { place: place.slice(), value: Number.POSITIVE_INFINITY };
  for (let step = 0; step < steps; step++) {
    const { value, gradient } = slopeAt(place);
    if (value < best.value) best = { place: place.slice(), value };
    const length = STEP * Math.min(1, (steps - step) / (steps * (1 - SHRINKS)));
    const [known, knownSquare] = [1 - MEAN ** (step + 1), 1 - SQUARE ** (step + 1)];
    for (let k = 0; k < place.length; k++) {
      const slope = gradient[k] as number;
      const mean = MEAN * (means[k] as number) + (1 - MEAN) * slope;
      const square = SQUARE * (squares[k] as number) + (1 - SQUARE) * slope * slope;
      means[k] = mean;
      squares[k] = square;
      const by = (length * (mean / known)) / (Math.sqrt(square / knownSquare) + LEAST);
      place[k] = within((place[k] as number) - by, low[k] as number, high[k] as number);
    }
  }
  return best;
}

function within(value: number, low: number, high: number): number {
  return Math.min(high, Math.max(low, value));
}
