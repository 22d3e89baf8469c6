/**
 * Sine and cosine made of + - * / alone, by their Taylor series.
 *
 * Source: Abramowitz & Stegun, Handbook of Mathematical Functions, 4.3.65-66.
 */

export const TWO_PI: f64 = 6.283185307179586;

export const S3: f64 = -1.0 / 6;
export const S5: f64 = 1.0 / 120;
export const S7: f64 = -1.0 / 5040;
export const S9: f64 = 1.0 / 362880;
export const S11: f64 = -1.0 / 39916800;
export const S13: f64 = 1.0 / 6227020800.0;
export const S15: f64 = -1.0 / 1307674368000.0;
export const S17: f64 = 1.0 / 355687428096000.0;
export const S19: f64 = -1.0 / 121645100408832000.0;
export const S21: f64 = 1.0 / 51090942171709440000.0;

/**
 * Sine of an angle given in turns: sin(2 pi turns). Exact at quarter turns.
 * @param turns any finite number; whole turns are dropped first, so large angles lose nothing more.
 */
export function sinTurns(turns: f64): f64 {
  let t = turns - Math.round(turns);
  if (t > 0.25) t = 0.5 - t;
  else if (t < -0.25) t = -0.5 - t;
  if (t === 0.25) return 1;
  if (t === -0.25) return -1;
  const x = t * TWO_PI;
  const x2 = x * x;
  return (
    x *
    (1 +
      x2 *
        (S3 +
          x2 *
            (S5 +
              x2 *
                (S7 +
                  x2 *
                    (S9 +
                      x2 * (S11 + x2 * (S13 + x2 * (S15 + x2 * (S17 + x2 * (S19 + x2 * S21))))))))))
  );
}

/** Cosine of an angle given in turns: cos(2 pi turns). */
export function cosTurns(turns: f64): f64 {
  const t = turns - Math.round(turns);
  return sinTurns(0.25 - (t < 0 ? -t : t));
}
