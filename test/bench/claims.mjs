/**
 * Whether figures that `measure` gives as sure are: of those with a reliability of 0.9 or more, 95 % are to be
 * within 5 % of the truth. Over recorded hits and strokes of our voices, as they are and damaged as recordings
 * are. The truth is what an independent computation makes of the undamaged hit: Schroeder's integration, a level of
 * its own, the pitch that the file of a recording states, and for tempo and swing the grid on which hits are put.
 */

import seedrandom from 'seedrandom';
import { SignalMeter } from '../../dist/lib/index.js';
import { hasRecordings, singleHits } from './recordings.mjs';
import { schroeder } from './schroeder.mjs';
import { RATE } from './sound.mjs';
import { stroke, VOICES } from './strokes.mjs';

export const title = 'What measure claims to be sure of';

const SURE = 0.9;
const WITHIN = 0.05;
const PROMISED = 95;
/** Steps are known to a sample, so tempo and swing are told more exactly: bpm as a share, and swing in points. */
const TEMPO_WITHIN = 0.005;
const SWING_WITHIN = 1;
/** Sounds of several strokes, and what is not struck once. */
const SEVERAL = ['clap', '054_Tombourine', '026_Snap', '045_Pizzicato_Strings'];
const SONGS = 120;
const FALLS = 300;

/** What recordings suffer. */
const DAMAGES = {
  'as it is': (samples) => samples,
  'after 0.3 s, over a floor at -60 dB': (samples, rate, next) => floored(samples, rate, -60, next),
  'after 0.3 s, over a floor at -45 dB': (samples, rate, next) => floored(samples, rate, -45, next),
  '12 dB softer, in 16 bits': (samples) =>
    samples.map((one) => Math.round(one * 0.25 * 32768) / 32768),
  'cut after 0.4 s': (samples, rate) => samples.slice(0, Math.round(0.4 * rate)),
};

export function run() {
  if (!hasRecordings())
    console.log("  SKIPPED: Debian's package freepats, which holds the recordings, is missing.");
  const recorded = hasRecordings() ? singleHits() : [];
  const own = Object.keys(VOICES).flatMap((name) =>
    ['one', 'two'].map((seed) => ({
      name: `our ${name}`,
      rate: RATE,
      samples: stroke(name, { seed }),
    })),
  );
  const single = [...recorded, ...own].filter(
    ({ name }) => !SEVERAL.some((part) => name.includes(part)),
  );
  const tally = new Map();
  for (const hit of single) {
    const truth = truthOf(hit);
    for (const [damage, apply] of Object.entries(DAMAGES)) {
      const next = seedrandom.alea(`${hit.name} ${damage}`);
      const [found, ...others] = measured(apply(hit.samples, hit.rate, next), hit.rate).hits;
      if (found === undefined || others.length > 0) continue;
      for (const [figure, value, reliability] of figuresOf(found)) {
        const right = truth[figure];
        if (value === null || reliability < SURE || right === null) continue;
        count(tally, figure, near(value, right), () =>
          [hit.name, damage, ...[value, ...right].map((one) => one.toFixed(4))].join(', '),
        );
      }
    }
  }
  slopes(tally);
  songs(tally, recorded);
  return [...tally].map(([figure, { good, all, wrong }]) => {
    for (const one of wrong) console.log(`  ${figure}, wrong: ${one}`);
    return {
      what: `${figure}: ${good} of ${all} claims`,
      value: (100 * good) / all,
      unit: '%',
      limit: PROMISED,
      atLeast: true,
    };
  });
}

function count(tally, figure, isGood, words) {
  const sum = tally.get(figure) ?? { good: 0, all: 0, wrong: [] };
  sum.all += 1;
  if (isGood) sum.good += 1;
  else sum.wrong.push(words());
  tally.set(figure, sum);
}

function figuresOf({ reliability, ...hit }) {
  return [
    ['EDT', hit.edtSeconds, reliability.edt],
    ['T20', hit.t20Seconds, reliability.t20],
    ['T60', hit.t60Seconds, reliability.t60],
    ['decay', hit.decayTauSeconds, reliability.decay],
    ['to -20 dB', hit.down20Seconds, reliability.down20],
    ['to -40 dB', hit.down40Seconds, reliability.down40],
    ['to -60 dB', hit.down60Seconds, reliability.down60],
    ['pitch', hit.pitchHz, reliability.pitch],
  ];
}

function truthOf({ samples, rate, hz = null }) {
  const [{ time = 0 } = {}] = measured(samples, rate).hits;
  const { edt, t20, t30 } = schroeder(samples, rate, Math.round(time * rate));
  const one = (value) => (value === null ? null : [value, value]);
  const t60 = t30 ?? t20;
  return {
    EDT: one(edt),
    T20: one(t20),
    T60: one(t60),
    decay: one(t60 === null ? null : t60 / Math.log(1000)),
    'to -20 dB': down(samples, rate, 20),
    'to -40 dB': down(samples, rate, 40),
    'to -60 dB': down(samples, rate, 60),
    pitch: one(hz),
  };
}

/**
 * From the loudest moment to the first no louder than so far under it, and to the last louder: means of squares over
 * 10 ms. Where a level wavers, any moment between the two is the time of its fall.
 */
function down(samples, rate, db) {
  const length = Math.round(0.01 * rate);
  const sums = new Float64Array(samples.length + 1);
  samples.forEach((one, n) => {
    sums[n + 1] = sums[n] + one * one;
  });
  let loudest = 0;
  const level = (n) => sums[n + length] - sums[n];
  const last = samples.length - length;
  for (let n = 0; n < last; n++) if (level(n) > level(loudest)) loudest = n;
  const limit = level(loudest) * 10 ** (-db / 10);
  let first = loudest;
  while (first < last && level(first) > limit) first++;
  let end = last;
  while (end > loudest && level(end) <= limit) end--;
  return level(last) > limit / 2 ? null : [(first - loudest) / rate, (end - loudest) / rate];
}

/** Two falls whose powers add, in closed form, over a floor at -70 dB. */
function slopes(tally) {
  for (let seed = 0; seed < FALLS; seed++) {
    const next = seedrandom.alea(`fall ${seed}`);
    const log = (low, high) => low * (high / low) ** next();
    const [early, times, knee] = [log(0.008, 0.08), log(2.5, 12), -10 - 30 * next()];
    const [hz, isNoise] = [log(80, 3000), next() < 0.5];
    const gain = 10 ** (knee / 20);
    const late = early * times;
    const samples = new Float64Array(RATE * (0.2 + 8 * late)).map((_, n) => {
      const t = n / RATE - 0.1;
      const floor = 0.0005 * (next() - 0.5);
      if (t < 0) return floor;
      const wave = isNoise ? 0.6 * (next() - 0.5) : 0.4 * Math.sin(2 * Math.PI * hz * t);
      return floor + wave * Math.hypot(Math.exp(-t / early), gain * Math.exp(-t / late));
    });
    const [hit] = measured(samples, RATE).hits;
    const told = hit?.slopes ?? null;
    if (told === null || told.reliability < SURE) continue;
    const words = () =>
      [early, late, told.earlyTau, told.lateTau].map((t) => t.toFixed(4)).join(', ');
    count(tally, 'first slope', near(told.earlyTau, [early, early]), words);
    count(tally, 'second slope', near(told.lateTau, [late, late]), words);
  }
}

const near = (value, [low, high]) => value >= low * (1 - WITHIN) && value <= high * (1 + WITHIN);

/** Hits of one kind on a grid of eighths, with a swing, some left out: tempo and swing, as heard in octaves. */
function songs(tally, recorded) {
  const kinds = recorded.filter(({ name }) => /Kick_1|Snare_1|Hat_Closed|Rim|Bongo/.test(name));
  const sounds = [
    ...kinds,
    ...['kick', 'snare', 'rim'].map((name) => ({
      name,
      rate: RATE,
      samples: stroke(name, { seconds: 0.5 }),
    })),
  ];
  for (let seed = 0; seed < SONGS; seed++) {
    const next = seedrandom.alea(`song ${seed}`);
    const { name, rate, samples } = sounds[seed % sounds.length];
    const bpm = 72 + 68 * next();
    const swing = next() < 0.5 ? 50 : 50 + 17 * next();
    const pair = 60 / bpm;
    const song = new Float64Array(Math.ceil(17 * pair * rate));
    for (let step = 0; step < 32; step++) {
      if (step > 2 && next() < 0.25) continue;
      const time = 0.1 + pair * ((step >> 1) + (step % 2 === 1 ? swing / 100 : 0));
      const gain = 10 ** ((-12 * next()) / 20);
      const at = Math.round((time + 0.002 * (next() - 0.5)) * rate);
      const end = Math.min(samples.length, Math.round(0.4 * rate), song.length - at);
      for (let n = 0; n < end; n++) song[at + n] += gain * samples[n];
    }
    const { tempo } = measured(song, rate, true);
    if (tempo === null || tempo.reliability < SURE) continue;
    const octaves = Math.log2(tempo.bpm / bpm);
    const off = Math.abs(2 ** (octaves - Math.round(octaves)) - 1);
    const words = () =>
      `${name}, ${bpm.toFixed(1)} bpm, ${swing.toFixed(1)} %: ${tempo.bpm.toFixed(1)}, ${tempo.swingPercent}`;
    count(tally, 'tempo', off <= TEMPO_WITHIN, words);
    if (tempo.swingPercent === null || Math.round(octaves) !== 0) continue;
    count(tally, 'swing', Math.abs(tempo.swingPercent - swing) <= SWING_WITHIN, words);
  }
}

function floored(samples, rate, db, next) {
  const peak = samples.reduce((most, one) => Math.max(most, Math.abs(one)), 0);
  const lead = Math.round(0.3 * rate);
  const all = new Float64Array(2 * lead + samples.length);
  all.set(samples, lead);
  const gain = Math.sqrt(3) * peak * 10 ** (db / 20);
  return all.map((one) => one + gain * (2 * next() - 1));
}

function measured(samples, rate, tempo = false) {
  const meter = new SignalMeter(rate, 1, { tempo, hitSpectra: false });
  meter.add({ channels: [samples], frames: samples.length });
  return meter.finish();
}
