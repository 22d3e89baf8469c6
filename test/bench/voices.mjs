/**
 * The voices as a practitioner would judge them, one stroke each: measured figures beside wanted
 * ones. The limits are common practice, no source.
 */

import {
  between,
  centroid,
  decibels,
  energy,
  fallen,
  filtered,
  hann,
  level,
  loudness,
  patchOf,
  played,
  RATE,
  share,
  spectrum,
} from './sound.mjs';
import { stroke, VOICES } from './strokes.mjs';

export const title = 'Voices, one stroke of each, and how loud the hats of the kits are';

/** s from one quarter to the next at 92 bpm. */
const QUARTER = 60 / 92;

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

  // A click is a step, whose spectrum falls so slowly that much of it lies above all that a kick has.
  for (const name of ['kick', 'struck kick']) {
    const kick = stroke(name, { steps: '--x-------------' });
    const blow = kick.subarray(0.75 * RATE, 0.76 * RATE);
    const top = filtered(kick, 9000, 24_001).subarray(0.75 * RATE, 0.76 * RATE);
    atMost(
      `${name}: above 9 kHz in its first 10 ms`,
      decibels(energy(top) / energy(blow)),
      -40,
      'dB',
    );
    const rest = decibels(1e-30 + energy(kick.subarray(0, 0.75 * RATE)) / (0.75 * RATE));
    atMost(`${name}: at rest`, rest, -120, 'dBFS');
  }

  const tom = stroke('tom');
  for (const [how, steps] of [
    ['a plain stroke', 'x---------------'],
    ['an accent', 'X---------------'],
  ]) {
    const hit = stroke('tom', { steps });
    const fall = 12 * Math.log2(pitch(hit, 0.01, 0.05) / pitch(hit, 0.25, 0.45));
    within(`tom: pitch falls at ${how}`, fall, 1, 5, 'semitones');
  }
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
  const ping = level(stroke('ride', { set: 'sum.level-2: 0 %' }), 0, 0.02);
  const wash = stroke('ride', { set: 'sum.level-1: 0 %' });
  atLeast('ride: ping over the wash at the stroke', ping - level(wash, 0, 0.02), 12, 'dB');
  const fall = level(wash, 0.01, 0.05) - level(wash, QUARTER - 0.04, QUARTER);
  atLeast('ride: wash down before the next quarter', fall, 15, 'dB');
  const body = filtered(ride, 300, 550);
  const rings = level(body, 0.02, 0.12) - level(body, 0.4, 0.5);
  atMost('ride: body down after 400 ms', rings, 12, 'dB');
  atLeast('ride: loudness of a bar of quarters', loudness(quarters(ride)), -29, 'LUFS');

  const cup = (steps) => share(spectrum(stroke('ride', { steps })), 1800, 3600);
  atLeast(
    'ride: 1.8 to 3.6 kHz on the bell (accent) against the edge',
    cup('X---------------') - cup('x---------------'),
    6,
    'dB',
  );

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

  for (const name of Object.keys(VOICES)) {
    const many = stroke(name, { steps: 'x-------', seconds: 36 });
    const hits = Array.from({ length: 12 }, (_, k) =>
      many.subarray(3 * k * RATE, (3 * k + 0.3) * RATE),
    );
    const range = (values) => Math.max(...values) - Math.min(...values);
    const levels = range(hits.map((hit) => decibels(energy(hit))));
    const colours = range(hits.map((hit) => 1200 * Math.log2(centroid(spectrum(hit)))));
    atMost(`${name}: range of level over 12 strokes`, levels, 3, 'dB');
    atMost(`${name}: range of centroid over 12 strokes`, colours, 600, 'cents');
  }

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

/** A stroke again and again at 92 bpm, each over the end of those before. */
function quarters(samples) {
  const bar = new Float64Array(Math.round(4 * QUARTER * RATE));
  for (let beat = 0; beat < 4; beat++) {
    const start = Math.round(beat * QUARTER * RATE);
    for (let n = start; n < bar.length; n++) bar[n] += samples[n - start];
  }
  return [bar];
}

/** dB of what lies between 2 and 4 kHz, all along, against all of the first 10 ms. */
function tip(samples) {
  const bins = spectrum(samples);
  const part = between(bins, 2000, 4000) / between(bins, 0, RATE);
  return decibels((part * energy(samples)) / energy(samples.subarray(0, 0.01 * RATE)));
}

/** Hz, from the first rise through zero to the last within a stretch that is given in s. */
function pitch(samples, from, to) {
  const low = filtered(samples, 20, 300);
  const rises = [];
  for (let n = Math.round(from * RATE); n < to * RATE; n++)
    if (low[n - 1] < 0 && low[n] >= 0) rises.push(n - low[n] / (low[n] - low[n - 1]));
  return ((rises.length - 1) * RATE) / (rises.at(-1) - rises[0]);
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
