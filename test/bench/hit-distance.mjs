/**
 * How far two hits are apart, computed without src/measure: by a bank of filters, where that takes
 * spectra. Bands and edges as in IEC 61260-1:2014 (from memory): midband 1000 x 10^(x/10) Hz, edges
 * midband x 10^(-+1/20). Each filter is a Butterworth band-pass of the sixth order, by the bilinear
 * transform with its edges pre-warped (a textbook design: Oppenheim & Schafer, Discrete-Time Signal
 * Processing, from memory).
 */

/** 50 Hz and 16 kHz. */
const BANDS = [-13, 12];
const FRAME = 0.01;
const FLOOR_DB = 60;
const AFTER_END = 0.1;
/** A recording has died away if its last moments are so far under a sine of its peak, s and dB. */
const LAST = 0.005;
const DIED_DB = 40;
/** An onset is where a sound first reaches this share of its peak. */
const BEGUN = 0.1;
/** Filters need their time before the onset, and frames after the end are compared, s. */
const ROOM = 0.1;

/**
 * @param recorded, made samples of one hit each, at one rate.
 * @returns the mean magnitude of the differences in dB over all bands and the frames that the recording
 * is long. What `made` still sounds in the tenth of a second after that is added if the recording has died
 * away; one that is cut off before says nothing of what comes after.
 */
export function hitDistance(recorded, made, rate) {
  const [own, other] = [powers(recorded, rate), powers(made, rate)];
  const frames = own.frames + (hasDied(recorded, rate) ? AFTER_END / FRAME : 0);
  const total = ({ bands }) =>
    bands.reduce((sum, band) => band.slice(0, frames).reduce((a, b) => a + b, sum), 0);
  const gain = total(own) / total(other);
  const floor = most(own.bands) * 10 ** (-FLOOR_DB / 10);
  let sum = 0;
  for (const [band, row] of own.bands.entries())
    for (let k = 0; k < frames; k++) {
      const theirs = gain * (other.bands[band][k] ?? 0);
      sum += Math.abs(10 * Math.log10(Math.max(row[k] ?? 0, floor) / Math.max(theirs, floor)));
    }
  return sum / (own.frames * own.bands.length);
}

/** Whether the last moments are far under a sine of the peak. */
function hasDied(samples, rate) {
  const square = (some) => some.reduce((sum, value) => sum + value * value, 0) / some.length;
  const peak = samples.reduce((top, value) => Math.max(top, Math.abs(value)), 0);
  const last = square(samples.slice(-Math.round(LAST * rate)));
  return 10 * Math.log10(last / (peak ** 2 / 2)) <= -DIED_DB;
}

const most = (side) => side.reduce((top, band) => band.reduce((a, b) => Math.max(a, b), top), 0);

/** By band, the mean square of each frame from the onset, and how many of these are the sound's. */
function powers(samples, rate) {
  const peak = samples.reduce((top, value) => Math.max(top, Math.abs(value)), 0);
  const onset = samples.findIndex((value) => Math.abs(value) >= BEGUN * peak);
  const room = Math.round(ROOM * rate);
  const padded = new Float64Array(samples.length + 2 * room);
  padded.set(samples, room);
  const size = FRAME * rate;
  const bands = [];
  for (let x = BANDS[0]; x <= BANDS[1]; x++) {
    const high = 1000 * 10 ** (x / 10 + 0.05);
    if (high > 0.45 * rate) break;
    const heard = bandPass(padded, 1000 * 10 ** (x / 10 - 0.05), high, rate);
    const frames = Math.floor((padded.length - onset - room) / size);
    bands.push(
      Array.from({ length: frames }, (_, k) => {
        const from = onset + room + Math.round(k * size);
        const to = onset + room + Math.round((k + 1) * size);
        return (
          heard.subarray(from, to).reduce((sum, value) => sum + value * value, 0) / (to - from)
        );
      }),
    );
  }
  return { bands, frames: Math.floor((samples.length - onset) / size) };
}

/** A Butterworth low-pass of the third order, moved to a band: three sections of the second order. */
function bandPass(samples, low, high, rate) {
  const [w1, w2] = [low, high].map((hz) => 2 * rate * Math.tan((Math.PI * hz) / rate));
  const [width, centre] = [w2 - w1, Math.sqrt(w1 * w2)];
  let out = samples;
  for (const [a, b] of [
    [-1, 0],
    [-0.5, Math.sqrt(0.75)],
  ])
    for (const [re, im] of rootsOf([a * width, b * width], centre * centre, b === 0))
      out = section(out, sectionOf(re, im, width, rate));
  return out;
}

/** The poles s of s^2 - p s + c = 0 that lie in the upper half plane, p complex. */
function rootsOf([re, im], c, isReal) {
  const square = [re * re - im * im - 4 * c, 2 * re * im];
  const size = Math.sqrt(Math.hypot(...square));
  const angle = Math.atan2(square[1], square[0]) / 2;
  const root = [size * Math.cos(angle), size * Math.sin(angle)];
  const both = [
    [(re + root[0]) / 2, (im + root[1]) / 2],
    [(re - root[0]) / 2, (im - root[1]) / 2],
  ];
  if (isReal) return [[both[0][0], Math.abs(both[0][1])]];
  return both.map(([x, y]) => [x, Math.abs(y)]);
}

/** width s / ((s - p)(s - p*)), with s = 2 rate (z - 1)/(z + 1). */
function sectionOf(re, im, width, rate) {
  const k = 2 * rate;
  const size = re * re + im * im;
  const a0 = k * k - 2 * re * k + size;
  return {
    b: (width * k) / a0,
    a1: (2 * size - 2 * k * k) / a0,
    a2: (k * k + 2 * re * k + size) / a0,
  };
}

function section(samples, { b, a1, a2 }) {
  const out = new Float64Array(samples.length);
  let [x1, x2, y1, y2] = [0, 0, 0, 0];
  for (let n = 0; n < samples.length; n++) {
    const x = samples[n];
    const y = b * (x - x2) - a1 * y1 - a2 * y2;
    out[n] = y;
    [x2, x1, y2, y1] = [x1, x, y1, y];
  }
  return out;
}
