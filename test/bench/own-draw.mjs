/** One draw of the bench `own`: a voice rendered with unknown settings, and fitted. Run by a worker. */

import { mkdirSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import seedrandom from 'seedrandom';
import { wavBytes } from '../../dist/index.js';
import { ask } from './fit.mjs';
import { PATCHES, played, RATE, read } from './sound.mjs';
import { strokeText } from './strokes.mjs';

/** What is drawn of each voice, and what it is shipped with: s, Hz, %. */
export const DRAWN = {
  kick: {
    time: ['loudness.decay', 0.38],
    cutoff: ['body.at-zero', 49],
    level: ['depth.level-1', 68],
  },
  'struck kick': {
    time: ['head-1.decay', 0.31],
    cutoff: ['head-1.at-zero', 58],
    level: ['drum.level-4', 75],
  },
  snare: {
    time: ['wires-shape.decay', 0.33],
    cutoff: ['wires.cutoff', 3200],
    level: ['both.level-1', 61],
  },
  'struck snare': {
    time: ['buzz.decay', 0.38],
    cutoff: ['ceiling.cutoff', 4200],
    level: ['both.level-1', 52],
  },
  tom: {
    time: ['head-1.decay', 0.56],
    cutoff: ['head-1.at-zero', 82],
    level: ['drum.level-5', 100],
  },
  'closed hat of noise': {
    time: ['closed-shape.decay', 0.085],
    cutoff: ['bright.cutoff', 5200],
    level: ['sheet.level-2', 30],
  },
  'open hat of noise': {
    time: ['open-shape.decay', 0.62],
    cutoff: ['bright.cutoff', 5200],
    level: ['sheet.level-2', 30],
  },
  'closed hat of metal': {
    time: ['closed-shape.decay', 0.085],
    cutoff: ['bright.cutoff', 6800],
    level: ['sheet.level-2', 9],
  },
  'open hat of metal': {
    time: ['open-shape.decay', 0.62],
    cutoff: ['bright.cutoff', 6800],
    level: ['sheet.level-2', 9],
  },
  ride: {
    time: ['wash-shape.decay', 1.4],
    cutoff: ['thin.cutoff', 6000],
    level: ['sum.level-2', 38],
  },
  crash: {
    time: ['bloom.decay', 2.4],
    cutoff: ['thin.cutoff', 1500],
    level: ['plate.level-1', 25],
  },
  bell: {
    time: ['ring.decay', 0.34],
    cutoff: ['sheet.cutoff', 1250],
    level: ['pair.level-2', 80],
  },
  clap: {
    time: ['room.decay', 0.14],
    cutoff: ['palms.at-zero', 1300],
    level: ['shape.level-2', 64],
  },
  rim: {
    time: ['stick-2.decay', 0.09],
    cutoff: ['stick-2.at-zero', 1764],
    level: ['wood.level-3', 52],
  },
  shaker: { time: ['swish.decay', 0.08], cutoff: ['can.cutoff', 6300] },
};
const UNITS = { time: 's', cutoff: 'Hz', level: '%' };
/** A setting is drawn from so many octaves around what it is shipped with. */
const OCTAVES = { time: 2, cutoff: 1, level: 2 };
const MOST_LEVEL = 200;
/** How far a level is searched down from where it is shipped. */
const LEVEL_DOWN = 20;
/** Two strokes, 1.5 s apart; of what rings longer, 4.5 s apart. */
const SHORT = { steps: 'x---x---', seconds: 2.9 };
const LONG = { steps: 'x-----------x-----------', seconds: 8.9 };
const RINGING = ['crash', 'ride'];

/**
 * Makes a draw.
 * @param share.folder of all draws; each has its own in it while it lasts.
 * @param share.isRepeated whether the fit is made twice, and read again: one draw of each voice is enough to tell.
 * @returns how far each setting is off, as a share or in dB, and whether the recording decides it, as the fit says;
 *   the distance of what was fitted and of the true settings; and whether another fit says the same.
 */
export default async function ({ voice, draw, isRepeated, folder: whole }) {
  const folder = join(whole, `${voice} ${draw}`);
  mkdirSync(folder);
  symlinkSync(join(PATCHES, 'parts'), join(folder, 'parts'));
  try {
    return await rowOf(voice, draw, { folder, isRepeated });
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

async function rowOf(voice, draw, { folder, isRepeated }) {
  const random = seedrandom.alea(`${voice} ${draw}`);
  const truth = Object.entries(DRAWN[voice]).map(([sort, [path, usual]]) => {
    const drawn = usual * 2 ** (OCTAVES[sort] * (random() - 0.5));
    const value = Number((sort === 'level' ? Math.min(MOST_LEVEL, drawn) : drawn).toPrecision(4));
    return { sort, path, usual, value };
  });
  const set = truth.map(({ path, value, sort }) => `${path}: ${value} ${UNITS[sort]}`).join(', ');
  const [wav, patch, right, made, again] = ['own', 'voice', 'right', 'fitted', 'again'].map(
    (one, k) => join(folder, `${one}.${k === 0 ? 'wav' : 'yaml'}`),
  );
  const { steps, seconds: length } = RINGING.includes(voice) ? LONG : SHORT;
  const sounding = strokeText(voice, { set, steps, seed: `unknown ${draw}` });
  const samples = played(read(sounding, patch), length)[0];
  writeFileSync(wav, await wavBytes([samples], { sampleRate: RATE, depth: '32f' }));
  writeFileSync(patch, strokeText(voice));
  writeFileSync(right, strokeText(voice, { set }));
  const vary = truth.flatMap(({ sort, path, usual }) => [
    '--vary',
    `voice.${path}${sort === 'level' ? `=${usual / LEVEL_DOWN}%..${MOST_LEVEL}%` : ''}`,
  ]);
  const { settings, distanceAfter } = ask('fit', patch, wav, '-o', made, ...vary);
  const farOf = (file) =>
    ask('fit', file, wav, '-o', again, '--tries', '40', ...vary).distanceBefore;
  const distanceOfTruth = farOf(right);
  const reread = isRepeated ? farOf(made) : distanceAfter;
  if (isRepeated) ask('fit', patch, wav, '-o', again, ...vary);
  const isSame = !isRepeated || readFileSync(made, 'utf8') === readFileSync(again, 'utf8');
  const off = truth.map(({ sort, path, value }) => {
    const found = settings.find(({ setting }) => setting === `voice.${path}`);
    const ratio = numberOf(found?.after ?? '') / value;
    const by = sort === 'level' ? 20 * Math.log10(ratio) : ratio - 1;
    return { sort, by, isDecided: found?.decided ?? null };
  });
  return {
    ...{ voice, draw, off, isSame, distanceAfter, distanceOfTruth },
    apart: Math.abs(distanceAfter - reread),
  };
}

/** In s, Hz or %, as a command writes a value. */
function numberOf(text) {
  const [number, unit] = text.split(' ');
  return Number(number) * ({ ms: 1e-3, us: 1e-6, kHz: 1e3 }[unit] ?? 1);
}
