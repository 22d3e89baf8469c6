/**
 * The voices as a practitioner would judge them, one stroke each: what is measured beside what is
 * wanted. The limits are common practice, no source. Sums of its own, so that a mistake in src/measure
 * cannot make a voice pass; loudness is BS.1770's, by src/measure.
 */

import { readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import FFT from 'fft.js';
import { KINDS, LoudnessMeter, readPatch, Take } from '../../dist/index.js';

export const title = 'Voices, one stroke of each, and how loud the hats of the kits are';

const PATCHES = fileURLToPath(new URL('../../patches/', import.meta.url));
const RATE = 48_000;
/** s from one quarter to the next at 92 bpm. */
const QUARTER = 60 / 92;

const PARTS = {
  kick: { part: 'kick', gate: 'gate.in', out: 'level.out' },
  'struck kick': { part: 'membrane-kick', gate: 'gate.in', out: 'warmth.out' },
  snare: { part: 'snare', gate: 'gate.in', out: 'both.out' },
  'struck snare': { part: 'membrane-snare', gate: 'gate.in', out: 'touch.out' },
  tom: { part: 'tom', gate: 'gate.in', out: 'touch.out' },
  bell: { part: 'bell', gate: 'gate.in', out: 'touch.out' },
  ride: { part: 'ride', gate: 'gate.in', out: 'sum.out' },
  crash: { part: 'crash', gate: 'gate.in', out: 'touch.out' },
};

export function run() {
  const rows = [];
  const atLeast = (what, value, limit, unit) =>
    rows.push({ what, value, limit, unit, atLeast: true });
  const atMost = (what, value, limit, unit) => rows.push({ what, value, limit, unit });
  const within = (what, value, low, high, unit) => {
    atLeast(what, value, low, unit);
    atMost(what, value, high, unit);
  };

  const song = played(patchOf('closed-hat.yaml'));
  const hat = played(
    patchOf('closed-hat.yaml', [], (text) =>
      text.replace(/hat: "[^"]*"/, 'hat: "x---------------"'),
    ),
    1,
  )[0];
  const whole = spectrum(song[0]);
  within('closed hat: centroid', centroid(whole), 8000, 11_000, 'Hz');
  atMost('closed hat: above 14 kHz', share(whole, 14_000, 24_001), -12, 'dB');
  atLeast('closed hat: 4 to 8 kHz', share(whole, 4000, 8000), -12, 'dB');
  atMost('closed hat: down by 40 dB', 1000 * fallen(hat, 40, 0.002), 110, 'ms');
  atLeast('closed hat: loudness', loudness(song), -23.5, 'LUFS');

  for (const name of ['kick', 'struck kick'])
    within(`${name}: 2 to 4 kHz of its first 10 ms`, tip(stroke(name)), -26, -18, 'dB');

  const tom = stroke('tom');
  within('tom: stick, 2 to 4 kHz of its first 10 ms', tip(tom), -28, -22, 'dB');
  atMost('tom: stick down by 20 dB', 1000 * fallen(filtered(tom, 2000, 4000), 20, 0.002), 15, 'ms');

  for (const name of ['snare', 'struck snare']) {
    const samples = stroke(name);
    const power = spectrum(samples.subarray(0, 0.3 * RATE));
    const body = share(power, 500, 1000);
    atLeast(
      `${name}: 500 Hz to 1 kHz against the octave below`,
      body - share(power, 250, 500),
      -6,
      'dB',
    );
    atLeast(
      `${name}: 500 Hz to 1 kHz against the octave above`,
      body - share(power, 1000, 2000),
      -6,
      'dB',
    );
    const ratios = [0.03, 0.06, 0.09, 0.12, 0.15].map((time) => {
      const piece = spectrum(hann(samples.subarray(time * RATE, (time + 0.03) * RATE)));
      return share(piece, 100, 450) - share(piece, 1000, 12_000);
    });
    atMost(
      `${name}: skin against wires, change from 30 to 180 ms`,
      Math.max(...ratios) - Math.min(...ratios),
      4,
      'dB',
    );
  }

  const ride = stroke('ride');
  const ping = level(stroke('ride', 'sum.level-2: 0 %'), 0, 0.02);
  const wash = stroke('ride', 'sum.level-1: 0 %');
  atLeast('ride: ping over the wash at the stroke', ping - level(wash, 0, 0.02), 12, 'dB');
  const fall = level(wash, 0.01, 0.05) - level(wash, QUARTER - 0.04, QUARTER);
  atLeast('ride: wash down before the next quarter', fall, 15, 'dB');
  atLeast('ride: loudness of a bar of quarters', loudness(quarters(ride)), -29, 'LUFS');

  const crash = stroke('crash');
  within('crash: down by 60 dB', fallen(crash, 60, 0.02), 2.5, 4, 's');
  const top = filtered(crash, 5000, 24_000);
  const levels = Array.from({ length: 40 }, (_, n) => level(top, 0.005 * n, 0.005 * n + 0.02));
  within(
    'crash: rises above 5 kHz until',
    5 * levels.indexOf(Math.max(...levels)) + 10,
    30,
    80,
    'ms',
  );
  atMost(
    'crash: strongest line over its neighbours, 1 to 1.4 s',
    line(crash.subarray(RATE, 1.4 * RATE)),
    6,
    'dB',
  );

  const bell = stroke('bell');
  const colour = (time) =>
    centroid(spectrum(hann(bell.subarray(time * RATE, (time + 0.05) * RATE))));
  atLeast(
    'bell: above 1.2 kHz at the stroke',
    share(spectrum(bell.subarray(0, 0.03 * RATE)), 1200, 24_001),
    -12,
    'dB',
  );
  atLeast('bell: centroid at the stroke over that at 250 ms', colour(0) / colour(0.25), 1.5);

  const two = patchOf('two-bar-kit.yaml');
  const twoHats = patchOf('two-bar-kit.yaml', ['mix.level-1=0%', 'mix.level-2=0%']);
  within(
    'two-bar kit: hats under the whole',
    loudness(played(two)) - loudness(played(twoHats)),
    8,
    11,
    'LU',
  );
  const others = ['left', 'right'].flatMap((side) =>
    [1, 3, 4, 5, 6].map((input) => `${side}.level-${input}=0%`),
  );
  const eight = patchOf('kit-of-eight.yaml');
  const eightHats = patchOf('kit-of-eight.yaml', others);
  within(
    'kit of eight: hats under the whole',
    loudness(played(eight)) - loudness(played(eightHats)),
    8,
    11,
    'LU',
  );
  return rows;
}

function patchOf(name, set = [], change = (text) => text) {
  return read(change(readFileSync(join(PATCHES, name), 'utf8')), join(PATCHES, name), set);
}

function read(text, file, set = []) {
  const load = (path) =>
    readFileSync(path.startsWith('/') ? path : join(dirname(file), path), 'utf8');
  const { patch, problems } = readPatch(text, { file, kinds: KINDS, load, loadRack: load, set });
  if (patch === undefined) throw new Error(JSON.stringify(problems, null, 1));
  return patch;
}

/** The channels of a patch, 1 being full scale. */
function played(patch, seconds) {
  const length = seconds === undefined ? { unit: 'song' } : { unit: 'seconds', value: seconds };
  const take = new Take(patch, { sampleRate: RATE, length, tail: { unit: 'seconds', value: 0 } });
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

/** 4.3 s of one stroke without an accent. */
function stroke(name, set = '') {
  const { part, gate, out } = PARTS[name];
  const text = `seed: workshop
parts: { voice: { file: parts/${part}.yaml, set: { ${set} } } }
modules:
  drums: { kind: rhythm, tempo: 40 bpm, channels: [hit], patterns: { once: { hit: "x---------------" } } }
  out: { kind: output }
cables: [drums.hit -> voice.${gate}, voice.${out} -> out.left]
`;
  return played(read(text, join(PATCHES, 'bench.yaml')), 4.3)[0];
}

/** A stroke again and again at 92 bpm, each over the end of those before. */
function quarters(samples) {
  const bar = new Float64Array(Math.round(4 * QUARTER * RATE));
  for (let beat = 0; beat < 4; beat++) {
    const start = Math.round(beat * QUARTER * RATE);
    for (let n = start; n < bar.length; n++) bar[n] += samples[n - start];
  }
  return [bar];
}

function loudness(channels) {
  const meter = new LoudnessMeter(RATE, channels.length);
  meter.add(channels, channels[0].length);
  return meter.integrated();
}

const decibels = (power) => 10 * Math.log10(power);
const energy = (samples) => samples.reduce((sum, value) => sum + value * value, 0);
const level = (samples, from, to) =>
  decibels(energy(samples.subarray(Math.max(0, from * RATE), to * RATE)) / ((to - from) * RATE));
const hann = (samples) =>
  samples.map((value, n) => value * Math.sin((Math.PI * (n + 0.5)) / samples.length) ** 2);

/** Power in each bin, the sound being followed by silence. */
function spectrum(samples) {
  const size = 2 ** Math.ceil(Math.log2(samples.length));
  const fft = new FFT(size);
  const frame = new Array(size).fill(0);
  samples.forEach((value, n) => {
    frame[n] = value;
  });
  const bins = fft.createComplexArray();
  fft.realTransform(bins, frame);
  return {
    power: Float64Array.from(
      { length: size / 2 + 1 },
      (_, k) => bins[2 * k] ** 2 + bins[2 * k + 1] ** 2,
    ),
    spacing: RATE / size,
  };
}

function between({ power, spacing }, low, high) {
  return power.reduce(
    (sum, value, k) => (k * spacing >= low && k * spacing < high ? sum + value : sum),
    0,
  );
}

/** dB of the whole above 15 Hz. */
const share = (bins, low, high) => decibels(between(bins, low, high) / between(bins, 15, RATE));

function centroid(bins) {
  const weighted = bins.power.reduce(
    (sum, value, k) => (k * bins.spacing < 15 ? sum : sum + value * k * bins.spacing),
    0,
  );
  return weighted / between(bins, 15, RATE);
}

/** The sound between two frequencies, cut from the spectrum of all of it. */
function filtered(samples, low, high) {
  const size = 2 ** Math.ceil(Math.log2(samples.length));
  const fft = new FFT(size);
  const frame = new Array(size).fill(0);
  samples.forEach((value, n) => {
    frame[n] = value;
  });
  const bins = fft.createComplexArray();
  fft.realTransform(bins, frame);
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

/** dB of what lies between 2 and 4 kHz, all along, against all of the first 10 ms. */
function tip(samples) {
  const bins = spectrum(samples);
  const part = between(bins, 2000, 4000) / between(bins, 0, RATE);
  return decibels((part * energy(samples)) / energy(samples.subarray(0, 0.01 * RATE)));
}

/** s after which no window is so loud as so many dB under the loudest. */
function fallen(samples, drop, window) {
  const hop = (window * RATE) / 4;
  const levels = [];
  for (let start = 0; start + 4 * hop <= samples.length; start += hop)
    levels.push(energy(samples.subarray(start, start + 4 * hop)));
  const loudest = levels.reduce((most, one) => Math.max(most, one), 0);
  const last = levels.findLastIndex((one) => one > loudest * 10 ** (-drop / 10));
  return (last * hop + 4 * hop) / RATE;
}

/**
 * dB of the strongest sixth of a semitone between 1 and 3 kHz over the mean of those within a third of
 * an octave about it.
 */
function line(samples) {
  const bins = spectrum(hann(samples));
  const count = Math.round(72 * Math.log2(3));
  const strips = Array.from({ length: count }, (_, k) => {
    const [low, high] = [1000 * 2 ** (k / 72), 1000 * 2 ** ((k + 1) / 72)];
    return between(bins, low, high) / (high - low);
  });
  return strips.reduce((most, strip, k) => {
    const around = strips.slice(Math.max(0, k - 12), k + 13);
    const mean = around.reduce((sum, one) => sum + one, 0) / around.length;
    return Math.max(most, decibels(strip / mean));
  }, 0);
}
