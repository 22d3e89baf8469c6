/**
 * Spectrograms: level over time and frequency. Lightness alone carries the level, dark being loud, so
 * that it reads the same in print and with any kind of colour vision.
 */

import { encode } from 'fast-png';
import { hann, Periodogram } from '../../measure/spectrum/spectrum.ts';
import { type Drawing, element } from './chart-svg.ts';
import { type FrameOptions, framed } from './frame.ts';

/** Levels in dB, row by row from the highest frequency. */
export interface Spectrogram {
  readonly columns: number;
  readonly rows: number;
  readonly lowHz: number;
  readonly highHz: number;
  /** One byte a level: 0 is -120 dB or less, 255 is 0 dB, the level of a full-scale sine. */
  readonly levels: Uint8Array;
}

/** The lowest level that is kept, dB against a full-scale sine. */
const FLOOR_DB = -120;
/** 21 ms at 48 kHz: a hit keeps its front, and 100 Hz is still told from 200 Hz. */
const SIZE = 1024;
const LOWEST_HZ = 50;
const HIGHEST_HZ = 20_000;

/**
 * Computes the spectrogram of samples.
 * @param samples 1.0 being full scale; silence comes before and after.
 */
export function spectrogram(
  samples: Float64Array,
  sampleRate: number,
  { columns, rows }: { readonly columns: number; readonly rows: number },
): Spectrogram {
  const highHz = Math.min(HIGHEST_HZ, sampleRate / 2);
  const window = hann(SIZE);
  const periodogram = new Periodogram(window);
  const sum = window.reduce((a, b) => a + b, 0);
  // A full-scale sine at a bin has this energy there.
  const reference = ((sum / 2) ** 2 * 2) / SIZE;
  const levels = new Uint8Array(columns * rows);
  const frame = new Float64Array(SIZE);
  for (let column = 0; column < columns; column++) {
    const centre = Math.round(((column + 0.5) * samples.length) / columns);
    const from = centre - SIZE / 2;
    frame.fill(0);
    frame.set(
      samples.subarray(Math.max(0, from), Math.max(0, Math.min(samples.length, from + SIZE))),
      Math.max(0, -from),
    );
    periodogram.energy.fill(0);
    periodogram.add(frame);
    for (let row = 0; row < rows; row++) {
      const top = hertz(row, rows, highHz);
      const bottom = hertz(row + 1, rows, highHz);
      const energy = highest(
        periodogram.energy,
        (bottom * SIZE) / sampleRate,
        (top * SIZE) / sampleRate,
      );
      const db = 10 * Math.log10(Math.max(energy / reference, 1e-30));
      const share = Math.min(1, Math.max(0, 1 - db / FLOOR_DB));
      levels[row * columns + column] = Math.round(255 * share);
    }
  }
  return { columns, rows, lowHz: LOWEST_HZ, highHz, levels };
}

function hertz(row: number, rows: number, highHz: number): number {
  return highHz * (LOWEST_HZ / highHz) ** (row / rows);
}

/** The most that a bin between two places has; between bins, what lies on the line from one to the next. */
function highest(energy: Float64Array, from: number, to: number): number {
  let most = Math.max(between(energy, from), between(energy, to));
  for (let bin = Math.ceil(from); bin <= Math.floor(to); bin++)
    most = Math.max(most, energy[bin] ?? 0);
  return most;
}

function between(energy: Float64Array, place: number): number {
  const bin = Math.floor(place);
  const share = place - bin;
  return (energy[bin] ?? 0) * (1 - share) + (energy[bin + 1] ?? 0) * share;
}

/** What a spectrogram's black and white stand for, dB against a full-scale sine. */
export interface GreyRange {
  readonly blackDb: number;
  readonly whiteDb: number;
}

/** Below the loudest, this much is shown, dB: what a hit's tail is followed through. */
const SHOWN_DB = 66;

/** The range that shows spectrograms side by side: black is the loudest of all. */
export function greyRange(shown: readonly Spectrogram[]): GreyRange {
  let most = 0;
  for (const { levels } of shown) for (const level of levels) most = Math.max(most, level);
  const blackDb = 6 * Math.ceil((FLOOR_DB * (1 - most / 255)) / 6);
  return { blackDb, whiteDb: blackDb - SHOWN_DB };
}

/** Draws a spectrogram into a frame whose axes are the ones it was computed for. */
export function spectrogramChart(
  options: FrameOptions,
  shown: Spectrogram,
  { blackDb, whiteDb }: GreyRange,
): Drawing {
  const grey = shown.levels.map((level) => {
    const db = FLOOR_DB * (1 - level / 255);
    return 255 * Math.min(1, Math.max(0, (blackDb - db) / (blackDb - whiteDb)));
  });
  return framed(options, ({ width, height }) =>
    element('image', {
      href: pngUrl(grey, shown.columns, shown.rows),
      width,
      height,
      preserveAspectRatio: 'none',
      class: 'spectrogram',
    }),
  );
}

/**
 * Packs grey pixels as a PNG that a page or an SVG can hold.
 * @param grey 0 black to 255 white, row by row from the top.
 */
export function pngUrl(grey: Uint8Array, width: number, height: number): string {
  const png = encode({ data: grey, width, height, channels: 1, depth: 8 });
  return `data:image/png;base64,${Buffer.from(png).toString('base64')}`;
}
