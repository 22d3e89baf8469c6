/**
 * Explains the powers of a stretch as a sum of strokes that have one course and a gain each, over a floor.
 *
 * Method: multiplicative steps that lower the divergence of Itakura and Saito between the powers and the sum.
 * Source: C. Févotte, N. Bertin & J.-L. Durrieu, Nonnegative Matrix Factorization with the Itakura-Saito Divergence,
 * Neural Computation 21 (2009) 793-830 (from memory), whose steps are tried at full length.
 */

export interface Explained {
  /** Of each stroke, as a power. */
  readonly gains: readonly number[];
  /** The divergence, summed over the hops. */
  readonly misfit: number;
}

export interface Explaining {
  readonly powers: ArrayLike<number>;
  /** The hops that are explained: `from` up to `to`. */
  readonly from: number;
  readonly to: number;
  /** The power that is there without a stroke. */
  readonly floor: number;
  /** Of one stroke, and the hops at which it begins. */
  readonly course: Float64Array;
  readonly starts: readonly number[];
}

/** Further steps change no gain by as much as strokes of a hand differ. */
const STEPS = 14;
/** A gain changes by no more than these at each step. */
const [LEAST, MOST] = [0.05, 8];
/** So far under the loudest, -32 dB, levels count as alike: a grace stroke is far over that. */
export const SILENCE = 10 ** -3.2;

export function explained({ powers, from, to, floor, course, starts }: Explaining): Explained {
  const loudest = loudestOf(powers, from, to);
  const gains = starts.map(() => loudest / 2 / loudestOf(course, 0, course.length));
  const model = new Float64Array(to);
  const sum = () => {
    model.fill(floor, from);
    starts.forEach((start, k) => {
      const gain = gains[k] as number;
      const last = Math.min(to, start + course.length);
      for (let h = Math.max(from, start); h < last; h++)
        model[h] = (model[h] as number) + gain * (course[h - start] as number);
    });
  };
  for (let step = 0; step < STEPS; step++) {
    sum();
    starts.forEach((start, k) => {
      let [up, down] = [0, 0];
      const last = Math.min(to, start + course.length);
      for (let h = Math.max(from, start); h < last; h++) {
        const here = model[h] as number;
        const own = (course[h - start] as number) / here;
        up += (own * (powers[h] as number)) / here;
        down += own;
      }
      if (down > 0) gains[k] = (gains[k] as number) * Math.min(MOST, Math.max(LEAST, up / down));
    });
  }
  sum();
  return { gains, misfit: divergence(powers, model, { from, to, silence: SILENCE * loudest }) };
}

/** The divergence of Itakura and Saito: 0 for powers that are alike. */
export function divergence(
  powers: ArrayLike<number>,
  model: ArrayLike<number>,
  { from, to, silence }: { readonly from: number; readonly to: number; readonly silence: number },
): number {
  let sum = 0;
  for (let h = from; h < to; h++) {
    const ratio = ((powers[h] as number) + silence) / ((model[h] as number) + silence);
    sum += ratio - Math.log(ratio) - 1;
  }
  return sum;
}

export function loudestOf(powers: ArrayLike<number>, from: number, to: number): number {
  let most = 1e-30;
  for (let h = from; h < to; h++) most = Math.max(most, powers[h] as number);
  return most;
}
