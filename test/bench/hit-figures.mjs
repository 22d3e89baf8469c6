/**
 * The figures of one hit, the same for a voice and for a recording: times, colour at three moments,
 * how the sound is spread over the bands, and how peaked it is.
 */

import FFT from 'fft.js';

/** Hz: the edges of the bands, two octaves each; the highest ends where the recordings do. */
const EDGES = [20, 150, 600, 2400, 9600];
/** dB under the whole: what is softer is not heard beside the rest. */
const UNHEARD = -40;
/** s; the steps of a fall and of an attack. */
const WINDOW = 0.005;
/** s; of a spectrum. */
const COLOUR = 0.02;

/** Each figure's unit: ratios of times and of frequencies are told in octaves. */
export const FIGURES = [
  ['attack', 'octaves'],
  ['down by 20 dB', 'octaves'],
  ['down by 40 dB', 'octaves'],
  ['centroid at 0 ms', 'octaves'],
  ['centroid at 30 ms', 'octaves'],
  ['centroid at 100 ms', 'octaves'],
  ...EDGES.slice(1).map((high, k) => [`${EDGES[k]} to ${high} Hz`, 'dB']),
  ['crest', 'dB'],
];

/**
 * Measures a hit.
 * @param samples the hit, from before its beginning to its end.
 * @param rate Hz.
 * @param top Hz: nothing above this counts.
 * @returns the figures in their order, Hz, s or dB; undefined for what the hit is too short to have.
 */
export function figuresOf(samples, rate, top) {
  const hit = fromItsStart(samples, rate);
  const levels = levelsOf(hit, rate);
  const loudest = levels.indexOf(max(levels));
  const whole = spectrum(hit, rate);
  const heard = power(whole, EDGES[0], top);
  const fall = (drop) => {
    const last = levels.findLastIndex((one) => one > levels[loudest] * 10 ** (-drop / 10));
    // A recording that ends before is no shorter for it.
    if (last >= levels.length - 4) return undefined;
    return (last - loudest + 1) * (WINDOW / 4);
  };
  const colour = (time) => {
    const from = Math.round(time * rate);
    const piece = hit.subarray(from, from + Math.round(COLOUR * rate));
    if (piece.length < COLOUR * rate - 1 || energy(piece) < 1e-7 * energy(hit)) return undefined;
    return centroid(spectrum(hann(piece), rate), top);
  };
  const first = hit.subarray(0, Math.round(0.1 * rate));
  const peak = max(first.map(Math.abs));
  return [
    (loudest + 1) * (WINDOW / 4),
    fall(20),
    fall(40),
    colour(0),
    colour(0.03),
    colour(0.1),
    ...EDGES.slice(1).map((high, k) => {
      const low = EDGES[k];
      if (low >= top) return undefined;
      return Math.max(UNHEARD, db(power(whole, low, Math.min(high, top)) / heard));
    }),
    db((peak * peak * first.length) / energy(first)),
  ];
}

/** How far one value of a figure is from another, in the figure's unit. */
export function apart(value, other, unit) {
  return unit === 'octaves' ? Math.log2(value / other) : value - other;
}

const db = (ratio) => 10 * Math.log10(ratio);
const max = (list) => list.reduce((most, one) => Math.max(most, one), 0);
const energy = (samples) => samples.reduce((sum, one) => sum + one * one, 0);
const hann = (samples) =>
  samples.map((one, n) => one * Math.sin((Math.PI * (n + 0.5)) / samples.length) ** 2);

/** From the first sample that is not 30 dB under the peak. */
function fromItsStart(samples, rate) {
  const mean = samples.reduce((sum, one) => sum + one, 0) / samples.length;
  const alone = Float64Array.from(samples, (one) => one - mean);
  const loud = max(alone.map(Math.abs)) * 10 ** (-30 / 20);
  const start = alone.findIndex((one) => Math.abs(one) > loud);
  return alone.subarray(Math.max(0, start - Math.round(0.0005 * rate)));
}

/** Mean squares of windows, a quarter of one apart. */
function levelsOf(samples, rate) {
  const levels = [];
  const length = Math.round(WINDOW * rate);
  for (let k = 0; ; k++) {
    const start = Math.round((k * WINDOW * rate) / 4);
    if (start + length > samples.length) return levels;
    levels.push(energy(samples.subarray(start, start + length)) / length);
  }
}

function spectrum(samples, rate) {
  const size = 2 ** Math.max(12, Math.ceil(Math.log2(samples.length)));
  const fft = new FFT(size);
  const frame = new Array(size).fill(0);
  samples.forEach((one, n) => {
    frame[n] = one;
  });
  const bins = fft.createComplexArray();
  fft.realTransform(bins, frame);
  return {
    spacing: rate / size,
    power: Float64Array.from(
      { length: size / 2 },
      (_, k) => bins[2 * k] ** 2 + bins[2 * k + 1] ** 2,
    ),
  };
}

function power({ power: bins, spacing }, low, high) {
  let sum = 0;
  for (let k = Math.ceil(low / spacing); k * spacing < high && k < bins.length; k++) sum += bins[k];
  return sum;
}

function centroid({ power: bins, spacing }, top) {
  let sum = 0;
  for (let k = Math.ceil(EDGES[0] / spacing); k * spacing < top && k < bins.length; k++)
    sum += bins[k] * k * spacing;
  return sum / power({ power: bins, spacing }, EDGES[0], top);
}
