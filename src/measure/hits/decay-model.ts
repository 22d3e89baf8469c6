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

/** The residuals of a model at measured points. */
export interface Residuals {
  /** Measured less predicted ln of the power. */
  readonly left: Float64Array;
  /** The share of the fall in the predicted power, the floor being the rest. */
  readonly share: Float64Array;
}

function roomFor(points: number): Residuals {
  return { left: new Float64Array(points), share: new Float64Array(points) };
}

/**
 * Compares a model with measured points.
 * @param x s, rising.
 * @param y ln of the measured power.
 * @param into where to put the residuals, as long as `x`.
 */
export function residualsOf(
  x: Float64Array,
  y: Float64Array,
  { level, rate, floor }: DecayModel,
  into = roomFor(x.length),
): Residuals {
  const { left, share } = into;
  for (let i = 0; i < x.length; i++) {
    const fall = level - rate * (x[i] as number);
    const above = fall - floor;
    const below = Math.exp(above > 0 ? -above : above);
    const value = (above > 0 ? fall : floor) + Math.log1p(below);
    left[i] = (y[i] as number) - value;
    share[i] = (above > 0 ? 1 : below) / (1 + below);
  }
  return into;
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
  let spare = roomFor(x.length);
  const sizes = new Float64Array(x.length);
  let scale = spreadOf(residuals.left, sizes);
  let cost = costOf(residuals.left, scale);
  for (let round = 0; round < ROUNDS; round++) {
    const next = step(x, residuals, model, scale, damping);
    const nextResiduals = residualsOf(x, y, next, spare);
    const nextCost = costOf(nextResiduals.left, scale);
    if (nextCost <= cost) {
      model = next;
      spare = residuals;
      residuals = nextResiduals;
      damping = Math.max(1e-9, damping / 5);
      if (cost - nextCost < 1e-5 * cost) break;
      scale = spreadOf(residuals.left, sizes);
      cost = costOf(residuals.left, scale);
    } else {
      damping *= 6;
      if (damping > 1e9) break;
    }
  }
  return model;
}

/**
 * The median magnitude of the residuals over 0.6745, which for a normal spread is its deviation.
 * @param sizes room for as many numbers.
 */
export function spreadOf(residuals: Float64Array, sizes: Float64Array): number {
  for (let i = 0; i < residuals.length; i++) sizes[i] = Math.abs(residuals[i] as number);
  return Math.max(1e-6, ranked(sizes, sizes.length >> 1) / 0.6745);
}

/**
 * The value that would be at `rank` if the values were sorted; moves them about.
 * Source: C. A. R. Hoare, Algorithm 65: Find, Comm. ACM 4 (1961) 321-322 (from memory).
 */
export function ranked(values: Float64Array, rank: number): number {
  let low = 0;
  let high = values.length - 1;
  while (low < high) {
    const pivot = values[(low + high) >> 1] as number;
    let i = low;
    let j = high;
    while (i <= j) {
      while ((values[i] as number) < pivot) i++;
      while ((values[j] as number) > pivot) j--;
      if (i > j) break;
      const kept = values[i] as number;
      values[i++] = values[j] as number;
      values[j--] = kept;
    }
    if (rank <= j) high = j;
    else if (rank >= i) low = i;
    else break;
  }
  return values[rank] as number;
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
  residuals: Residuals,
  model: DecayModel,
  scale: number,
  damping: number,
): DecayModel {
  const size = model.floorIsFree ? 3 : 2;
  const { matrix, right } = normalEquations(x, residuals, scale);
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

/** The slopes of the model are share, -x share and 1 - share: for level, rate and floor. */
function normalEquations(x: Float64Array, { left, share }: Residuals, scale: number) {
  let m00 = 0;
  let m01 = 0;
  let m02 = 0;
  let m11 = 0;
  let m12 = 0;
  let m22 = 0;
  let r0 = 0;
  let r1 = 0;
  let r2 = 0;
  for (let i = 0; i < x.length; i++) {
    const residual = left[i] as number;
    const size = Math.abs(residual) / scale;
    const weight = size < CORNER ? 1 : CORNER / size;
    const s0 = share[i] as number;
    const s1 = -(x[i] as number) * s0;
    const s2 = 1 - s0;
    const w0 = weight * s0;
    const w1 = weight * s1;
    const w2 = weight * s2;
    m00 += w0 * s0;
    m01 += w0 * s1;
    m02 += w0 * s2;
    m11 += w1 * s1;
    m12 += w1 * s2;
    m22 += w2 * s2;
    r0 += w0 * residual;
    r1 += w1 * residual;
    r2 += w2 * residual;
  }
  return {
    matrix: [
      Float64Array.of(m00, m01, m02),
      Float64Array.of(m01, m11, m12),
      Float64Array.of(m02, m12, m22),
    ],
    right: Float64Array.of(r0, r1, r2),
  };
}

/** Solves by Gauss's elimination; the matrix is symmetric and positive, so needs no pivots. */
export function eliminate(
  matrix: readonly Float64Array[],
  right: Float64Array,
  size = right.length,
): number[] {
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

/**
 * One standard error of the rate, as a share of it, judged from the residuals. With few points these
 * are small by chance: the variance is that of Student's t. Infinite for too few points.
 * @param together how many neighbouring points depend on each other through the overlapping window.
 */
export function standardError(
  x: Float64Array,
  residuals: Residuals,
  model: DecayModel,
  together: number,
): number {
  const size = model.floorIsFree ? 3 : 2;
  const { matrix } = normalEquations(x, residuals, 1e9);
  let squares = 0;
  for (let i = 0; i < x.length; i++) squares += (residuals.left[i] as number) ** 2;
  for (let a = 0; a < size; a++) {
    const row = matrix[a] as Float64Array;
    row[a] = (row[a] as number) + 1e-12;
  }
  const unit = Float64Array.of(0, 1, 0);
  const variance = eliminate(matrix, unit, size)[1] as number;
  const alone = Math.max(1, together);
  const freedom = x.length / alone - size;
  if (freedom <= 2) return Number.POSITIVE_INFINITY;
  return Math.sqrt((squares / (freedom - 2)) * Math.max(0, variance)) / model.rate;
}
