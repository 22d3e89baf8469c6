/**
 * The model of a decay, power(t) = S exp(-2t/tau) + F, and its fit to the logarithm of measured power.
 *
 * Least squares by Levenberg and Marquardt's damped steps, with Huber's weights, so that a click in the
 * fall counts for little. Sources: K. Levenberg, Quart. Appl. Math. 2 (1944) 164-168; P. J. Huber,
 * Robust Estimation of a Location Parameter, Ann. Math. Statist. 35 (1964) 73-101 (both from memory).
 */

/** Huber's corner, in standard deviations: 95 % as efficient as least squares on clean data. */
const CORNER = 1.345;
const ROUNDS = 30;

export interface DecayModel {
  /** ln of the power at x = 0, its fall in 1/s, ln of the floor. */
  level: number;
  rate: number;
  floor: number;
  readonly floorIsFree: boolean;
}

/** The model's ln of the power at `x`, and the share of the fall in it, the floor being the rest. */
export function predict(
  { level, rate, floor }: DecayModel,
  x: number,
): { value: number; share: number } {
  const fall = level - rate * x;
  const below = Math.exp(-Math.abs(fall - floor));
  return {
    value: Math.max(fall, floor) + Math.log1p(below),
    share: (fall > floor ? 1 : below) / (1 + below),
  };
}

/** Measured less predicted, point by point. */
export function residualsOf(x: Float64Array, y: Float64Array, model: DecayModel): Float64Array {
  const residuals = new Float64Array(x.length);
  for (let i = 0; i < x.length; i++) {
    residuals[i] = (y[i] as number) - predict(model, x[i] as number).value;
  }
  return residuals;
}

/**
 * Fits level, rate and, if it is free, floor.
 * @param x s, rising.
 * @param y ln of the measured power.
 * @param start where to begin.
 */
export function solve(x: Float64Array, y: Float64Array, start: DecayModel): DecayModel {
  let model = start;
  let damping = 1e-3;
  let residuals = residualsOf(x, y, model);
  for (let round = 0; round < ROUNDS; round++) {
    const scale = spreadOf(residuals);
    const cost = costOf(residuals, scale);
    const next = step(x, y, model, scale, damping);
    const nextResiduals = residualsOf(x, y, next);
    const nextCost = costOf(nextResiduals, scale);
    if (nextCost <= cost) {
      model = next;
      residuals = nextResiduals;
      damping = Math.max(1e-9, damping / 5);
      if (cost - nextCost < 1e-5 * cost) break;
    } else {
      damping *= 6;
      if (damping > 1e9) break;
    }
  }
  return model;
}

/** The median magnitude of the residuals over 0.6745, which for a normal spread is its deviation. */
export function spreadOf(residuals: Float64Array): number {
  const sizes = residuals.map(Math.abs).sort();
  return Math.max(1e-6, (sizes[sizes.length >> 1] as number) / 0.6745);
}

/** Huber's cost of residuals of a given spread. */
export function costOf(residuals: Float64Array, scale: number): number {
  let sum = 0;
  for (let i = 0; i < residuals.length; i++) {
    const r = Math.abs(residuals[i] as number) / scale;
    sum += r < CORNER ? (r * r) / 2 : CORNER * (r - CORNER / 2);
  }
  return sum;
}

/** One damped step of weighted least squares for level, rate and, if it is free, floor. */
function step(
  x: Float64Array,
  y: Float64Array,
  model: DecayModel,
  scale: number,
  damping: number,
): DecayModel {
  const size = model.floorIsFree ? 3 : 2;
  const { matrix, right } = normalEquations(x, y, model, scale);
  for (let a = 0; a < size; a++) {
    const row = matrix[a] as Float64Array;
    row[a] = (row[a] as number) * (1 + damping) + 1e-12;
  }
  const change = eliminate(matrix, right, size);
  return {
    level: model.level + (change[0] ?? 0),
    rate: model.rate + (change[1] ?? 0),
    floor: model.floorIsFree ? model.floor + (change[2] ?? 0) : model.floor,
    floorIsFree: model.floorIsFree,
  };
}

function normalEquations(x: Float64Array, y: Float64Array, model: DecayModel, scale: number) {
  const matrix = [new Float64Array(3), new Float64Array(3), new Float64Array(3)];
  const right = new Float64Array(3);
  for (let i = 0; i < x.length; i++) {
    const at = x[i] as number;
    const { value, share } = predict(model, at);
    const residual = (y[i] as number) - value;
    const size = Math.abs(residual) / scale;
    const weight = size < CORNER ? 1 : CORNER / size;
    const slopes = [share, -at * share, 1 - share];
    for (let a = 0; a < 3; a++) {
      right[a] = (right[a] as number) + weight * (slopes[a] as number) * residual;
      const row = matrix[a] as Float64Array;
      for (let b = 0; b < 3; b++) {
        row[b] = (row[b] as number) + weight * (slopes[a] as number) * (slopes[b] as number);
      }
    }
  }
  return { matrix, right };
}

/** Solves by Gauss's elimination; the matrix is symmetric and positive, so needs no pivots. */
function eliminate(matrix: Float64Array[], right: Float64Array, size: number): number[] {
  for (let a = 0; a < size; a++) {
    const pivot = matrix[a] as Float64Array;
    for (let b = a + 1; b < size; b++) {
      const row = matrix[b] as Float64Array;
      const factor = (row[a] as number) / (pivot[a] as number);
      for (let c = a; c < size; c++) row[c] = (row[c] as number) - factor * (pivot[c] as number);
      right[b] = (right[b] as number) - factor * (right[a] as number);
    }
  }
  const result = new Array<number>(size).fill(0);
  for (let a = size - 1; a >= 0; a--) {
    const row = matrix[a] as Float64Array;
    let sum = right[a] as number;
    for (let c = a + 1; c < size; c++) sum -= (row[c] as number) * (result[c] as number);
    result[a] = sum / (row[a] as number);
  }
  return result;
}

/** @param together how many neighbouring points tell the same, the window overlapping them. */
export function standardError(
  x: Float64Array,
  y: Float64Array,
  model: DecayModel,
  together: number,
): number {
  const size = model.floorIsFree ? 3 : 2;
  const { matrix } = normalEquations(x, y, model, 1e9);
  const squares = residualsOf(x, y, model).reduce((sum, residual) => sum + residual * residual, 0);
  for (let a = 0; a < size; a++) {
    const row = matrix[a] as Float64Array;
    row[a] = (row[a] as number) + 1e-12;
  }
  const unit = Float64Array.of(0, 1, 0);
  const variance = eliminate(matrix, unit, size)[1] as number;
  return (
    Math.sqrt((squares / x.length) * Math.max(0, variance) * Math.max(1, together)) / model.rate
  );
}
