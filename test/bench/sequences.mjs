/**
 * Sequences of hits at known samples: drums of noise and of tones, from the loudest to 30 dB under it,
 * over a floor 60 dB under it. Half of them begin with a hit at their first sample; of the others half
 * begin in digital silence, in which the floor sets in later.
 */

import seedrandom from 'seedrandom';

/** Hz. */
export const RATE = 44_100;
const FLOOR_DB = -60;
const SOFTEST_DB = -30;
/** What rings on is this far under a new hit, dB: what it hides nobody hears. */
const CLEAR_DB = 6;

/**
 * One of many sequences, always the same for the same number.
 * @returns the samples and the times of the hits, s.
 */
export function sequence(seed) {
  const random = seedrandom.alea(`sequence ${seed}`);
  const linear = (low, high) => low + (high - low) * random();
  const log = (low, high) => low * (high / low) ** random();
  const normal = () => Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
  const drums = [
    // Hats, snares, kicks and blips; the first number is the time constant, s.
    () => noise(log(0.008, 0.05), normal),
    () => snare(log(0.03, 0.06), log(150, 250), normal),
    () => tone(log(0.06, 0.12), log(45, 70), log(0.5, 3), 0.02),
    () => tone(log(0.02, 0.08), log(200, 3000), 0, 1),
  ];
  const begins = seed % 4;
  const times = [];
  const samples = new Float64Array(4 * RATE);
  const rings = [];
  const first = begins < 2 ? 0 : Math.round(linear(0.2, 0.5) * RATE);
  for (let at = first; at < 3.6 * RATE; at += Math.round(linear(0.08, 0.4) * RATE)) {
    const db = at === first ? 0 : linear(SOFTEST_DB, 0);
    const ringing = rings.reduce(
      (most, [from, tau, level]) => Math.max(most, level - (8.686 * (at - from)) / RATE / tau),
      Number.NEGATIVE_INFINITY,
    );
    if (db < ringing + CLEAR_DB) continue;
    const { tau, wave } = drums[Math.floor(random() * drums.length)]();
    const gain = 0.6 * 10 ** (db / 20);
    for (let n = at; n < Math.min(samples.length, at + 12 * tau * RATE); n++) {
      const t = (n - at) / RATE;
      samples[n] += gain * Math.exp(-t / tau) * wave(t);
    }
    rings.push([at, tau, db]);
    times.push(at / RATE);
  }
  const floor = 0.6 * 10 ** (FLOOR_DB / 20);
  const silent = begins === 3 ? Math.round(linear(0, first / RATE) * RATE) : 0;
  for (let n = silent; n < samples.length; n++) samples[n] += floor * normal();
  return { samples, times };
}

function noise(tau, normal) {
  return { tau, wave: () => normal() / 3 };
}

function snare(tau, hz, normal) {
  const wave = (t) => normal() / 5 + 0.3 * Math.sin(2 * Math.PI * hz * t);
  return { tau, wave };
}

/** A pitch that falls through so many octaves, in closed form but for the phase, which is summed. */
function tone(tau, hz, octaves, fall) {
  let phase = 0;
  const wave = (t) => {
    phase += (hz * 2 ** (octaves * Math.exp(-t / fall))) / RATE;
    return Math.sin(2 * Math.PI * phase);
  };
  return { tau, wave };
}

/**
 * How many onsets are found, and how many of those found are none.
 * @param within s.
 */
export function compared(found, times, within) {
  const left = [...found];
  let hit = 0;
  for (const time of times) {
    const at = left.findIndex((one) => Math.abs(one - time) <= within);
    if (at < 0) continue;
    hit += 1;
    left.splice(at, 1);
  }
  return { hit, missed: times.length - hit, extra: left.length };
}
