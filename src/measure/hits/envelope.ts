/**
 * The power envelope of a sound: its squares, smoothed.
 *
 * Smoothing an exponential decay does not change its time constant, whatever the window. So the
 * window may be as long as the sound's slowest wave requires, which removes the wave itself.
 */

export interface PowerEnvelope {
  /** Mean square at each point. */
  readonly power: Float64Array;
  /** Seconds between points. */
  readonly step: number;
  /** Seconds of the first point, counted from the first sample. */
  readonly start: number;
  /** Length of the window, s. A point covers the sound from half of this before it to half after. */
  readonly window: number;
}

const POINTS_PER_WINDOW = 16;
/** The periodic Hann window: it suppresses every wave with a whole number, from 2, of cycles in it. */
const WEIGHTS = Float64Array.from(
  { length: POINTS_PER_WINDOW },
  (_, n) => (2 * Math.sin((Math.PI * (n + 0.5)) / POINTS_PER_WINDOW) ** 2) / POINTS_PER_WINDOW,
);

/**
 * Smooths the squares of the samples `from` to `to` with a Hann window.
 * @param window its length, s; made a whole multiple of 16 samples, and at least 16.
 * @returns an empty envelope if the samples do not fill one window.
 */
export function powerEnvelope(
  samples: Float64Array,
  options: { from: number; to: number; sampleRate: number; window: number },
): PowerEnvelope {
  const { from, to, sampleRate } = options;
  const hop = Math.max(1, Math.round((options.window * sampleRate) / POINTS_PER_WINDOW));
  const hops = Math.floor((to - from) / hop);
  const squares = new Float64Array(hops);
  for (let h = 0; h < hops; h++) {
    const first = from + h * hop;
    squares[h] = energyOf(samples, first, first + hop) / hop;
  }
  const power = new Float64Array(Math.max(0, hops - POINTS_PER_WINDOW + 1));
  for (let h = 0; h < power.length; h++) {
    let sum = 0;
    for (let j = 0; j < POINTS_PER_WINDOW; j++) {
      sum += (WEIGHTS[j] as number) * (squares[h + j] as number);
    }
    power[h] = sum;
  }
  const window = (hop * POINTS_PER_WINDOW) / sampleRate;
  return { power, step: hop / sampleRate, start: from / sampleRate + window / 2, window };
}

/** Two sums side by side, since each addition has to wait for the one before it. */
function energyOf(samples: Float64Array, from: number, to: number): number {
  let even = 0;
  let odd = 0;
  let n = from;
  for (; n + 1 < to; n += 2) {
    const a = samples[n] as number;
    const b = samples[n + 1] as number;
    even += a * a;
    odd += b * b;
  }
  const last = n < to ? (samples[n] as number) : 0;
  return even + odd + last * last;
}

/** The 10 to 90 % rise of the square root of this window's response to a step, as a share of it. */
export const WINDOW_RISE = windowRise();

function windowRise(): number {
  // The places where the integral of 1 - cos(2 pi x) reaches 1 % and 81 %.
  const reached = (level: number) => {
    let low = 0;
    let high = 1;
    for (let i = 0; i < 60; i++) {
      const middle = (low + high) / 2;
      const value = middle - Math.sin(2 * Math.PI * middle) / (2 * Math.PI);
      if (value < level) low = middle;
      else high = middle;
    }
    return low;
  };
  return reached(0.81) - reached(0.01);
}
