/**
 * Grace strokes that hide in a hit: strokes of our own voices, and recorded ones, put together 5 to 30 ms apart,
 * the first 3 to 12 dB softer. No two strokes of a voice are the same noise; a recorded one is added to itself
 * played 3 % higher, since no two strokes of a drum are alike either. And single strokes, of which none may be
 * taken for two.
 */

import { SignalMeter } from '../../dist/lib/index.js';
import { RATE } from './sound.mjs';
import { stroke, VOICES } from './strokes.mjs';

/** s and dB. */
const GAPS = [0.005, 0.008, 0.0121, 0.0184, 0.03];
const SOFTER = [3, 6, 9, 12];
const HIGHER = 1.03;
/** Recordings that are several strokes by themselves. */
const SEVERAL = ['clap', '054_Tombourine', '026_Snap'];
/** Of what is told, %: as many as figures of reliability 0.9 are within their error. */
const RIGHT = 95;
const WITHIN = 0.05;
const LEAD = 0.1;
const LONGEST = 0.5;

export function flamsOfVoices() {
  const strokes = Object.keys(VOICES).map((name) => ({
    name,
    rate: RATE,
    draws: ['one', 'two'].map((seed) => stroke(name, { seconds: LONGEST, seed })),
  }));
  const wrong = strokes.flatMap(({ name, draws }) =>
    draws.filter((one) => told(placed([[one, 0, 0]], RATE), RATE).length > 0).map(() => name),
  );
  return [
    ...single('strokes of our voices', 2 * strokes.length, wrong),
    ...double('voices', strokes),
  ];
}

/** @param lies ways in which a recording lies in its file. */
export function flamsOfRecordings(hits, lies) {
  const wrong = hits.flatMap(({ name, samples, rate }) =>
    lies.filter((lay) => told(lay(samples, rate), rate).length > 0).map(() => name),
  );
  const strokes = hits.map(({ name, samples, rate }) => {
    const one = samples.subarray(0, LONGEST * rate);
    return { name, rate, draws: [one, played(one, HIGHER)] };
  });
  return [
    ...single('recorded hits', lies.length * hits.length, wrong),
    ...double('recorded hits', strokes),
  ];
}

function single(what, count, wrong) {
  if (wrong.length > 0) console.log(`  taken for two strokes: ${wrong.join(', ')}`);
  return [{ what: `taken for two strokes, of ${count} ${what}`, value: wrong.length, limit: 0 }];
}

function double(what, strokes) {
  const counts = new Map(SOFTER.map((softer) => [softer, { all: 0, told: 0 }]));
  const sum = { told: 0, right: 0 };
  for (const [n, { name, rate, draws }] of strokes.entries()) {
    if (SEVERAL.includes(name)) continue;
    // Where it runs with each change, every stroke takes one of the distances, in turn.
    const gaps = process.env.CI ? [GAPS[n % GAPS.length]] : GAPS;
    for (const [softer, count] of counts)
      for (const gap of gaps) {
        const apart = Math.round(gap * rate);
        const [grace, main] = draws;
        const found = told(
          placed(
            [
              [grace, 0, softer],
              [main, apart, 0],
            ],
            rate,
          ),
          rate,
        );
        count.all += 1;
        if (found.length === 0) continue;
        count.told += 1;
        sum.told += 1;
        const isRight = Math.abs(found[0].seconds - apart / rate) <= WITHIN * gap;
        if (isRight && found.length === 1) sum.right += 1;
        else
          console.log(`  wrong, ${name} ${1000 * gap} ms ${softer} dB: ${1000 * found[0].seconds}`);
      }
  }
  return [
    ...[...counts].map(([softer, { all, told: some }]) => ({
      what: `flams told of ${what}, ${softer} dB softer: ${some} of ${all}`,
      value: (100 * some) / all,
      unit: '%',
    })),
    {
      what: `within 5 %, of those told of ${what}: ${sum.right} of ${sum.told}`,
      value: (100 * sum.right) / sum.told,
      unit: '%',
      limit: RIGHT,
      atLeast: true,
    },
  ];
}

function told(samples, rate) {
  const meter = new SignalMeter(rate, 1, { tempo: false, hitSpectra: false });
  meter.add({ channels: [samples], frames: samples.length });
  return meter.finish().hits.flatMap(({ flam }) => flam ?? []);
}

/** Strokes at samples of their own, so much softer, over a floor 90 dB under full scale. */
function placed(strokes, rate) {
  const lead = Math.round(LEAD * rate);
  let state = 1;
  const all = Float64Array.from({ length: lead + Math.round(LONGEST * rate) }, () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return 5e-5 * (state / 2 ** 31 - 1);
  });
  for (const [samples, at, softer] of strokes) {
    const gain = 10 ** (-softer / 20);
    const count = Math.min(samples.length, all.length - lead - at);
    for (let n = 0; n < count; n++) all[lead + at + n] += gain * samples[n];
  }
  return all;
}

/** Played faster, and so higher; by straight lines between samples. */
function played(samples, faster) {
  return Float64Array.from({ length: Math.floor((samples.length - 1) / faster) }, (_, n) => {
    const at = n * faster;
    const first = Math.floor(at);
    return samples[first] + (at - first) * (samples[first + 1] - samples[first]);
  });
}
