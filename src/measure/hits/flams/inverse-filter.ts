/**
 * Removes the ringing from a sound, which leaves the strokes.
 *
 * Method: linear prediction by autocorrelation. A filter that predicts each sample of a stretch in which the
 * sound only rings from the samples before it leaves, of the whole sound, the part that cannot be predicted:
 * the strokes themselves, and noise, whose colour it removes too. Source: J. Makhoul, Linear Prediction: A
 * Tutorial Review, Proc. IEEE 63 (1975) 561-580; solved by Levinson's recursion (both from memory).
 */

/** Samples from which one is predicted: two for each of 12 partials. */
const ORDER = 24;
/** White noise this far under the ringing is assumed, -60 dB, so that the filter does not amplify empty bands. */
const RIDGE = 1e-6;
/** Silence has no ringing to remove. */
const SILENCE = 1e-20;

/**
 * @param ringing a stretch of the samples, longer than 24, without a stroke.
 * @param heard the stretch to filter, as if silence came before the samples.
 * @returns the residual of `heard`.
 */
export function withoutRinging(
  samples: Float64Array,
  ringing: { readonly from: number; readonly to: number },
  heard: { readonly from: number; readonly to: number },
): Float64Array {
  const weights = predictor(samples.subarray(ringing.from, ringing.to));
  const padded = afterSilence(samples, Math.max(0, heard.from - ORDER), heard.to);
  const shift = padded.length - heard.to;
  const left = new Float64Array(heard.to - heard.from);
  for (let n = heard.from; n < heard.to; n++) {
    const at = n + shift;
    // Four sums, none of which waits for another. As a list they would be one for the collector at each sample.
    let a = padded[at] as number;
    let b = 0;
    let c = 0;
    let d = 0;
    for (let lag = 1; lag <= ORDER; lag += 4) {
      a += (weights[lag] as number) * (padded[at - lag] as number);
      b += (weights[lag + 1] as number) * (padded[at - lag - 1] as number);
      c += (weights[lag + 2] as number) * (padded[at - lag - 2] as number);
      d += (weights[lag + 3] as number) * (padded[at - lag - 3] as number);
    }
    left[n - heard.from] = a + b + (c + d);
  }
  return left;
}

/** The samples `from` to `to`, with as many of silence ahead as one is predicted from. */
function afterSilence(samples: Float64Array, from: number, to: number): Float64Array {
  const padded = new Float64Array(ORDER + to - from);
  padded.set(samples.subarray(from, to), ORDER);
  return padded;
}

/** Weights of the samples before one, so that their sum with it is as small as it can be. */
function predictor(samples: Float64Array): Float64Array {
  const products = autocorrelation(samples);
  const weights = new Float64Array(ORDER + 1);
  const last = new Float64Array(ORDER + 1);
  weights[0] = 1;
  let error = (products[0] as number) * (1 + RIDGE) + SILENCE;
  for (let order = 1; order <= ORDER; order++) {
    let sum = products[order] as number;
    for (let k = 1; k < order; k++) sum += (weights[k] as number) * (products[order - k] as number);
    const reflection = -sum / error;
    last.set(weights);
    for (let k = 1; k < order; k++)
      weights[k] = (last[k] as number) + reflection * (last[order - k] as number);
    weights[order] = reflection;
    error *= 1 - reflection * reflection;
  }
  return weights;
}

/** Sums of products of samples so many apart, under a sine's half wave. */
function autocorrelation(samples: Float64Array): Float64Array {
  const { length } = samples;
  const shaped = afterSilence(samples, 0, length);
  for (let n = 0; n < length; n++)
    shaped[n + ORDER] = (samples[n] as number) * Math.sin((Math.PI * (n + 0.5)) / length);
  const products = new Float64Array(ORDER + 1);
  // Five lags at once, whose sums need not wait for one another.
  for (let lag = 0; lag <= ORDER; lag += 5) {
    let a = 0;
    let b = 0;
    let c = 0;
    let d = 0;
    let e = 0;
    for (let n = ORDER; n < length + ORDER; n++) {
      const here = shaped[n] as number;
      a += here * (shaped[n - lag] as number);
      b += here * (shaped[n - lag - 1] as number);
      c += here * (shaped[n - lag - 2] as number);
      d += here * (shaped[n - lag - 3] as number);
      e += here * (shaped[n - lag - 4] as number);
    }
    products.set([a, b, c, d, e], lag);
  }
  return products;
}
