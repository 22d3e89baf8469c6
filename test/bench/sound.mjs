/**
 * Patches played for a bench, and figures computed from their samples. The arithmetic is separate, so that a mistake
 * in src/measure cannot make a voice pass; loudness is BS.1770's, by src/measure.
 */

import { readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import FFT from 'fft.js';
import { KINDS, LoudnessMeter, readPatch, Take } from '../../dist/index.js';

export const PATCHES = fileURLToPath(new URL('../../patches/', import.meta.url));
export const RATE = 48_000;

export function patchOf(name, set = [], change = (text) => text) {
  return read(change(readFileSync(join(PATCHES, name), 'utf8')), join(PATCHES, name), set);
}

export function read(text, file, set = []) {
  const load = (path) =>
    readFileSync(path.startsWith('/') ? path : join(dirname(file), path), 'utf8');
  const { patch, problems } = readPatch(text, { file, kinds: KINDS, load, loadRack: load, set });
  if (patch === undefined) throw new Error(JSON.stringify(problems, null, 1));
  return patch;
}

/** The channels of a patch, 1 being full scale. */
export function played(patch, seconds, sampleRate = RATE) {
  const length = seconds === undefined ? { unit: 'song' } : { unit: 'seconds', value: seconds };
  const take = new Take(patch, { sampleRate, length, tail: { unit: 'seconds', value: 0 } });
  const channels = take.channels.map(() => new Float64Array(take.totalFrames));
  let at = 0;
  for (let frames = take.read(); frames > 0; frames = take.read()) {
    take.channels.forEach((channel, side) => {
      channels[side].set(channel.subarray(0, frames), at);
    });
    at += frames;
  }
  return channels;
}

export function loudness(channels) {
  const meter = new LoudnessMeter(RATE, channels.length);
  meter.add(channels, channels[0].length);
  return meter.integrated();
}

export const decibels = (power) => 10 * Math.log10(power);
export const energy = (samples) => samples.reduce((sum, value) => sum + value * value, 0);
export const level = (samples, from, to) =>
  decibels(energy(samples.subarray(Math.max(0, from * RATE), to * RATE)) / ((to - from) * RATE));
export const hann = (samples) =>
  samples.map((value, n) => value * Math.sin((Math.PI * (n + 0.5)) / samples.length) ** 2);

/** The spectrum's lower half, the sound being followed by silence up to a power of two. */
function transformed(samples) {
  const size = 2 ** Math.ceil(Math.log2(samples.length));
  const fft = new FFT(size);
  const frame = new Array(size).fill(0);
  samples.forEach((value, n) => {
    frame[n] = value;
  });
  const bins = fft.createComplexArray();
  fft.realTransform(bins, frame);
  return { size, fft, bins };
}

/** Power in each bin, the sound being followed by silence. */
export function spectrum(samples) {
  const { size, bins } = transformed(samples);
  return {
    power: Float64Array.from(
      { length: size / 2 + 1 },
      (_, k) => bins[2 * k] ** 2 + bins[2 * k + 1] ** 2,
    ),
    spacing: RATE / size,
  };
}

export function between({ power, spacing }, low, high) {
  return power.reduce(
    (sum, value, k) => (k * spacing >= low && k * spacing < high ? sum + value : sum),
    0,
  );
}

/** dB of the whole above 15 Hz. */
export const share = (bins, low, high) =>
  decibels(between(bins, low, high) / between(bins, 15, RATE));

export function centroid(bins) {
  const weighted = bins.power.reduce(
    (sum, value, k) => (k * bins.spacing < 15 ? sum : sum + value * k * bins.spacing),
    0,
  );
  return weighted / between(bins, 15, RATE);
}

/** The sound between two frequencies, cut from the spectrum of all of it. */
export function filtered(samples, low, high) {
  const { size, fft, bins } = transformed(samples);
  fft.completeSpectrum(bins);
  for (let k = 0; k < size; k++) {
    const hertz = (Math.min(k, size - k) * RATE) / size;
    if (hertz < low || hertz >= high) {
      bins[2 * k] = 0;
      bins[2 * k + 1] = 0;
    }
  }
  const back = fft.createComplexArray();
  fft.inverseTransform(back, bins);
  return Float64Array.from(samples, (_, n) => back[2 * n]);
}

/** s after which no window is so loud as so many dB under the loudest. */
export function fallen(samples, drop, window) {
  const hop = (window * RATE) / 4;
  const levels = [];
  for (let start = 0; start + 4 * hop <= samples.length; start += hop)
    levels.push(energy(samples.subarray(start, start + 4 * hop)));
  const loudest = levels.reduce((most, one) => Math.max(most, one), 0);
  const last = levels.findLastIndex((one) => one > loudest * 10 ** (-drop / 10));
  return (last * hop + 4 * hop) / RATE;
}
