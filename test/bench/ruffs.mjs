/**
 * What bounds the telling of drags and ruffs: strokes of our voices with one or two grace strokes, 22 ms apart and 7 dB
 * softer, alone and in a recording that has eight other strokes of the drum by themselves. Beside what `measure` finds
 * stands a search that is given what `measure` does not know: when the main stroke comes, that grace strokes are evenly
 * spaced, and the mean course of the drum's power, from the other strokes.
 * It fits the sum of the strokes' courses to the powers of 1 ms by multiplicative steps that lower the divergence
 * of Itakura and Saito. Source: C. Févotte, N. Bertin & J.-L. Durrieu, Nonnegative Matrix Factorization with
 * the Itakura-Saito Divergence, Neural Computation 21 (2009) 793-830 (from memory).
 */

import { SignalMeter } from '../../dist/lib/index.js';
import { energy, RATE } from './sound.mjs';
import { stroke } from './strokes.mjs';

export const title = 'Drags and ruffs: what is found, and what could be';

const NAMES = [
  'kick',
  'struck kick',
  'snare',
  'struck snare',
  'closed hat of noise',
  'closed hat of metal',
  'open hat of noise',
  'open hat of metal',
];
const HOP = RATE / 1000;
const APART = 22;
const SOFTER = 10 ** (-7 / 20);
/** Hops: when the main stroke comes, and what is looked at around it. */
const MAIN = 100;
const [BEFORE, AFTER] = [70, 40];
const PLAYED = 6;
const LEARNT = 8;
const ROUNDS = 60;
/** Independent values in a hop, half of them, and what a further stroke must gain, in units of ln likelihood. */
const HALF_FREEDOM = 4;
const WORTH = 6;
/** s: two times of one stroke. */
const SAME = 0.004;
/** Under the loudest. */
const SILENCE = 1e-6;

export function run() {
  const sum = { found: 0, among: 0, could: 0, all: 0, single: 0, singles: 0, more: 0 };
  for (const name of NAMES) {
    const draws = Array.from({ length: PLAYED + LEARNT }, (_, k) =>
      stroke(name, { seconds: 0.4, seed: `ruff ${k}` }),
    );
    const courses = draws.slice(PLAYED).map(powersOf);
    const course = courses[0].map((_, h) => courses.reduce((a, one) => a + one[h], 0) / LEARNT);
    const others = strokesIn(inTurn(draws.slice(PLAYED)));
    for (let k = 0; k < PLAYED; k++) {
      for (const graces of [0, 1, 2]) {
        const samples = together(draws, k, graces);
        const told = likeliest(powersOf(samples), course);
        const isRight =
          told.count === graces && (graces === 0 || Math.abs(told.apart - APART) <= 2);
        const found = strokesIn(inTurn([...draws.slice(PLAYED), samples])) - others;
        if (graces === 0) {
          sum.more += found > 1 ? 1 : 0;
          sum.singles += 1;
          sum.single += isRight ? 1 : 0;
          continue;
        }
        sum.all += 1;
        sum.could += isRight ? 1 : 0;
        sum.among += found === graces + 1 ? 1 : 0;
        sum.found += strokesIn(samples) === graces + 1 ? 1 : 0;
      }
    }
  }
  const share = (what, good, all) => ({
    what: `${what}: ${good} of ${all}`,
    value: (100 * good) / all,
    unit: '%',
  });
  return [
    share('drags and ruffs with every stroke found by measure', sum.found, sum.all),
    share('the same among strokes that stand alone', sum.among, sum.all),
    share('single strokes among them told for more', sum.more, sum.singles),
    share('the same by a search that knows the drum', sum.could, sum.all),
    share('single strokes taken for one by that search', sum.single, sum.singles),
  ];
}

function together(draws, k, graces) {
  const samples = new Float64Array(0.55 * RATE);
  for (let n = 0; n <= graces; n++) {
    const at = (MAIN - (graces - n) * APART) * HOP;
    const gain = n < graces ? SOFTER : 1;
    draws[(k + n) % PLAYED].forEach((one, i) => {
      if (at + i < samples.length) samples[at + i] += gain * one;
    });
  }
  return samples;
}

/** One after another, half a second apart. */
function inTurn(strokes) {
  const samples = new Float64Array((strokes.length + 1) * 0.5 * RATE);
  strokes.forEach((one, k) => {
    one.forEach((value, i) => {
      samples[k * 0.5 * RATE + i] += value;
    });
  });
  return samples;
}

function powersOf(samples) {
  return new Float64Array(Math.floor(samples.length / HOP)).map(
    (_, h) => energy(samples.subarray(h * HOP, (h + 1) * HOP)) / HOP,
  );
}

function likeliest(powers, course) {
  let best = { cost: Number.POSITIVE_INFINITY };
  for (let apart = 14; apart <= 30; apart++)
    for (const count of apart === 14 ? [0, 1, 2] : [1, 2]) {
      const starts = Array.from({ length: count + 1 }, (_, n) => MAIN - n * apart);
      const cost = HALF_FREEDOM * divergence(powers, course, starts) + WORTH * count;
      if (cost < best.cost) best = { cost, count, apart };
    }
  return best;
}

function divergence(powers, course, starts) {
  const silence = SILENCE * course.reduce((a, b) => Math.max(a, b));
  const gains = starts.map(() => 0.5);
  const at = (h, k) => course[h - starts[k]] ?? 0;
  const model = (h) => gains.reduce((sum, gain, k) => sum + gain * at(h, k), silence);
  for (let round = 0; round < ROUNDS; round++) {
    gains.forEach((gain, k) => {
      let [up, down] = [0, 0];
      for (let h = MAIN - BEFORE; h < MAIN + AFTER; h++) {
        const here = model(h);
        up += (at(h, k) * (powers[h] + silence)) / here ** 2;
        down += at(h, k) / here;
      }
      gains[k] = gain * Math.sqrt(up / down);
    });
  }
  let sum = 0;
  for (let h = MAIN - BEFORE; h < MAIN + AFTER; h++) {
    const ratio = (powers[h] + silence) / model(h);
    sum += ratio - Math.log(ratio) - 1;
  }
  return sum;
}

function strokesIn(samples) {
  const meter = new SignalMeter(RATE, 1, { tempo: false, hitSpectra: false });
  meter.add({ channels: [samples], frames: samples.length });
  const { onsets, hits } = meter.finish();
  // A grace stroke that has an onset of its own may be told once more with its main one.
  const told = [...onsets];
  for (const { flam, drag, ratchet } of hits) {
    for (let n = 1; n < (ratchet?.strokes ?? 0); n++) {
      const time = ratchet.time + n * ratchet.seconds;
      if (told.every((other) => Math.abs(other - time) > SAME)) told.push(time);
    }
    const main = drag ?? flam;
    if (main === null) continue;
    for (const { seconds } of [{ seconds: 0 }, ...(drag?.graces ?? [flam])]) {
      const time = main.time - seconds;
      if (told.every((other) => Math.abs(other - time) > SAME)) told.push(time);
    }
  }
  return told.length;
}
