/**
 * Least squares for a model that is not a straight line: Levenberg and Marquardt's damped steps, the
 * derivatives by differences.
 *
 * Sources: K. Levenberg, Quart. Appl. Math. 2 (1944) 164-168; D. W. Marquardt, J. SIAM 11 (1963) 431-441;
 * standard errors from the inverse of the normal matrix times the variance of the residuals: any handbook
 * of regression (all from memory).
 */

const ROUNDS = 60;
/** The change of each number for its derivative. */
const STEP = 1e-6;
/** A step that improves the sum by less than this share ends the search. */
const ENOUGH = 1e-10;

export interface Fitted {
  readonly values: readonly number[];
  /** One standard error of each, if the residuals are independent from point to point. */
  readonly errors: readonly number[];
  readonly left: Float64Array;
  /** The sum of the squared residuals. */
  readonly squares: number;
}

/**
 * Fits the numbers of a model.
 * @param residuals writes the residual of each point; values that are not finite count as a bad step.
 * @param count of points.
 * @param start a first guess, not far off.
 */
export function leastSquares(
  residuals: (values: readonly number[], left: Float64Array) => void,
  count: number,
  start: readonly number[],
): Fitted {
  let values = [...start];
  let left = new Float64Array(count);
  residuals(values, left);
  let squares = squaresOf(left);
  let damping = 1e-3;
  let slopes: NormalAndGradient | undefined;
  for (let round = 0; round < ROUNDS; round++) {
    slopes = normalOf(residuals, values, left);
    const { normal, gradient } = slopes;
    let gain = 0;
    for (let attempt = 0; attempt < 12; attempt++) {
      const step = solved(damped(normal, damping), gradient);
      const next = values.map((value, k) => value - (step?.[k] ?? 0));
      const nextLeft = new Float64Array(count);
      residuals(next, nextLeft);
      const nextSquares = squaresOf(nextLeft);
      if (step !== undefined && nextSquares < squares) {
        gain = (squares - nextSquares) / squares;
        [values, left, squares] = [next, nextLeft, nextSquares];
        damping = Math.max(1e-12, damping / 5);
        slopes = undefined;
        break;
      }
      damping *= 4;
    }
    if (gain < ENOUGH) break;
  }
  // Those of the last round, unless it went on from where they were worked out.
  const { normal } = slopes ?? normalOf(residuals, values, left);
  const variance = squares / Math.max(1, count - values.length);
  return { values, errors: errorsOf(normal, variance), left, squares };
}

function squaresOf(left: Float64Array): number {
  let sum = 0;
  for (let n = 0; n < left.length; n++) sum += (left[n] as number) ** 2;
  return Number.isFinite(sum) ? sum : Number.POSITIVE_INFINITY;
}

interface NormalAndGradient {
  readonly normal: readonly (readonly number[])[];
  readonly gradient: readonly number[];
}

function normalOf(
  residuals: (values: readonly number[], left: Float64Array) => void,
  values: readonly number[],
  left: Float64Array,
): NormalAndGradient {
  const slopes = values.map((value, k) => {
    const step = STEP * Math.max(Math.abs(value), 1e-6);
    const moved = new Float64Array(left.length);
    residuals(values.with(k, value + step), moved);
    for (let n = 0; n < moved.length; n++)
      moved[n] = ((moved[n] as number) - (left[n] as number)) / step;
    return moved;
  });
  const dot = (a: Float64Array, b: Float64Array): number => {
    let sum = 0;
    for (let n = 0; n < a.length; n++) sum += (a[n] as number) * (b[n] as number);
    return sum;
  };
  // What stands on the other side of the diagonal is the same product.
  const half = slopes.map((a, k) => slopes.slice(0, k + 1).map((b) => dot(a, b)));
  const at = (k: number, j: number): number => half[Math.max(k, j)]?.[Math.min(k, j)] as number;
  return {
    normal: slopes.map((_, k) => slopes.map((_, j) => at(k, j))),
    gradient: slopes.map((a) => dot(a, left)),
  };
}

function damped(normal: NormalAndGradient['normal'], damping: number): number[][] {
  return normal.map((row, k) => row.map((value, j) => (j === k ? value * (1 + damping) : value)));
}

/** By Gauss's elimination with the largest pivot; undefined where the matrix has no inverse. */
function solved(matrix: readonly (readonly number[])[], right: readonly number[]) {
  const rows = matrix.map((row, k) => [...row, right[k] as number]);
  const size = rows.length;
  for (let k = 0; k < size; k++) {
    let pivot = k;
    for (let j = k + 1; j < size; j++)
      if (Math.abs(rows[j]?.[k] ?? 0) > Math.abs(rows[pivot]?.[k] ?? 0)) pivot = j;
    const top = rows[pivot] as number[];
    if (!(Math.abs(top[k] as number) > 0)) return undefined;
    rows[pivot] = rows[k] as number[];
    rows[k] = top;
    for (let j = 0; j < size; j++) {
      const row = rows[j] as number[];
      const share = (row[k] as number) / (top[k] as number);
      if (j === k || share === 0) continue;
      for (let c = k; c <= size; c++) row[c] = (row[c] as number) - share * (top[c] as number);
    }
  }
  return rows.map((row, k) => (row[size] as number) / (row[k] as number));
}

function errorsOf(normal: NormalAndGradient['normal'], variance: number): readonly number[] {
  return normal.map((_, k) => {
    const column = solved(
      normal,
      normal.map((_, j) => (j === k ? 1 : 0)),
    );
    const share = column?.[k] ?? Number.POSITIVE_INFINITY;
    return Math.sqrt(Math.max(0, share) * variance);
  });
}
