/**
 * Each voice beside recordings of the drum it stands for: every figure, the median of the recordings,
 * and how many spreads lie between them.
 *
 * The spread of a figure is how far recordings of one drum are from their own median, as root mean
 * square over all drums of which there are two or more, with one degree of freedom taken by each
 * median. A single drum has too few recordings for its own spread. No spread is less than half an octave or
 * 3 dB, common practice, no source: drums of one make under one microphone are more alike than drums.
 */

import { apart, FIGURES, figuresOf } from './hit-figures.mjs';
import { hasRecordings, RECORDED, recording } from './recordings.mjs';
import { RATE } from './sound.mjs';
import { stroke } from './strokes.mjs';

export const title = 'Voices beside recorded drums';

/** Which recordings each voice is held against. */
export const BESIDE = {
  kick: 'kick',
  'struck kick': 'kick',
  snare: 'snare',
  'struck snare': 'snare',
  'closed hat of noise': 'closed hat',
  'closed hat of metal': 'closed hat',
  'open hat of noise': 'open hat',
  'open hat of metal': 'open hat',
  crash: 'crash',
  ride: 'ride',
  bell: 'bell',
  rim: 'rim',
  shaker: 'shaker',
};
/** Those of a drum kit, of which the share is told. */
const OF_A_KIT = ['kick', 'snare', 'closed hat', 'open hat', 'crash', 'ride'];
/** The least spread there is, by unit. */
const LEAST = { octaves: 0.5, dB: 3 };
/** %; of the figures within one spread. */
const WANTED = 80;

export function run() {
  if (!hasRecordings()) {
    console.log(
      "  SKIPPED: Debian's package freepats, which holds the recordings, is not installed.",
    );
    return [];
  }
  const drums = Object.fromEntries(
    Object.entries(RECORDED).map(([drum, names]) => {
      const hits = names.map(recording);
      // Just under half of the lowest sampling rate.
      const top = 0.45 * Math.min(...hits.map(({ rate }) => rate));
      return [drum, { top, figures: hits.map((hit) => figuresOf(hit.samples, hit.rate, top)) }];
    }),
  );
  const spreads = FIGURES.map(([, unit], k) => spreadOf(Object.values(drums), k, unit));
  const within = [];
  for (const [voice, drum] of Object.entries(BESIDE)) {
    const { top, figures } = drums[drum];
    const own = figuresOf(stroke(voice), RATE, top);
    console.log(
      `  ${voice}, beside ${figures.length} of ${drum} (up to ${(top / 1000).toFixed(1)} kHz)`,
    );
    FIGURES.forEach(([name, unit], k) => {
      const median = medianOf(known(figures, k));
      if (median === undefined || own[k] === undefined) return;
      const far = apart(own[k], median, unit) / spreads[k];
      if (OF_A_KIT.includes(drum)) within.push(Math.abs(far) <= 1);
      console.log(
        `    ${name.padEnd(22)} ${told(own[k], name)}  recorded ${told(median, name)}  ${far.toFixed(1).padStart(6)} spreads${Math.abs(far) <= 1 ? '' : '  *'}`,
      );
    });
  }
  console.log(
    `  One spread: ${FIGURES.map(([name, unit], k) => `${name} ${spreads[k].toFixed(1)} ${unit}`).join(', ')}`,
  );
  const share = (100 * within.filter(Boolean).length) / within.length;
  return [
    { what: 'figures within one spread', value: share, limit: WANTED, unit: '%', atLeast: true },
  ];
}

const known = (figures, k) => figures.map((one) => one[k]).filter((one) => one !== undefined);

function medianOf(values) {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted.length >> 1;
  if (sorted.length === 0) return undefined;
  return sorted.length % 2 === 1 ? sorted[middle] : (sorted[middle - 1] + sorted[middle]) / 2;
}

function spreadOf(drums, k, unit) {
  let squares = 0;
  let freedom = 0;
  for (const { figures } of drums) {
    const values = known(figures, k);
    if (values.length < 2) continue;
    const median = medianOf(values);
    for (const value of values) squares += apart(value, median, unit) ** 2;
    freedom += values.length - 1;
  }
  return Math.max(LEAST[unit], freedom === 0 ? 0 : Math.sqrt(squares / freedom));
}

function told(value, name) {
  if (/centroid/.test(name)) return `${value.toFixed(0).padStart(6)} Hz`;
  if (/crest|Hz/.test(name)) return `${value.toFixed(1).padStart(6)} dB`;
  return `${(1000 * value).toFixed(0).padStart(6)} ms`;
}
