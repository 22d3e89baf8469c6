/**
 * What `forehear fit` finds from renders of the shipped voices, whose settings are known: a time, a cutoff or
 * pitch and a level of each are drawn, the voice is rendered with them and with another seed, two strokes of
 * it, and the command is given the voice as it is shipped and the three settings to move.
 *
 * `OWN=bell npm run bench -- own` takes the voices with that in their names, `DRAWS=3` makes that many draws of each.
 */

import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import seedrandom from 'seedrandom';
import { wavBytes } from '../../dist/index.js';
import { ask } from './fit.mjs';
import { PATCHES, played, RATE, read } from './sound.mjs';
import { strokeText } from './strokes.mjs';

export const title = 'Fits to own renders with unknown settings';

/** What is drawn of each voice, and what it is shipped with: s, Hz, %. */
const DRAWN = {
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
/** What is wanted of 90 %: a share, or dB. */
const WITHIN = { time: 0.05, cutoff: 0.03, level: 1 };
const WANTED = 90;
const AGREES = 0.05;
/** Two strokes, 1.5 s apart; of what rings longer, 4.5 s apart. */
const SHORT = { steps: 'x---x---', seconds: 2.9 };
const LONG = { steps: 'x-----------x-----------', seconds: 8.9 };
const RINGING = ['crash', 'ride'];

export async function run() {
  const part = process.env.OWN?.toLowerCase() ?? '';
  const draws = Number(process.env.DRAWS ?? 20);
  const folder = mkdtempSync(join(tmpdir(), 'forehear-bench-'));
  try {
    cpSync(join(PATCHES, 'parts'), join(folder, 'parts'), { recursive: true });
    const rows = [];
    for (const voice of Object.keys(DRAWN).filter((name) => name.includes(part)))
      for (let draw = 0; draw < draws; draw++) rows.push(await rowOf(voice, draw, folder));
    return figuresOf(rows);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

async function rowOf(voice, draw, folder) {
  const random = seedrandom.alea(`${voice} ${draw}`);
  const truth = Object.entries(DRAWN[voice]).map(([sort, [path, usual]]) => {
    const drawn = usual * 2 ** (OCTAVES[sort] * (random() - 0.5));
    const value = Number((sort === 'level' ? Math.min(MOST_LEVEL, drawn) : drawn).toPrecision(4));
    return { sort, path, usual, value };
  });
  const set = truth.map(({ path, value, sort }) => `${path}: ${value} ${UNITS[sort]}`).join(', ');
  const [wav, patch, made, again] = ['own.wav', 'voice.yaml', 'fitted.yaml', 'again.yaml'].map(
    (one) => join(folder, one),
  );
  const { steps, seconds: length } = RINGING.includes(voice) ? LONG : SHORT;
  const sounding = strokeText(voice, { set, steps, seed: `unknown ${draw}` });
  const samples = played(read(sounding, patch), length)[0];
  writeFileSync(wav, await wavBytes([samples], { sampleRate: RATE, depth: '32f' }));
  writeFileSync(patch, strokeText(voice));
  const vary = truth.flatMap(({ sort, path, usual }) => [
    '--vary',
    `voice.${path}${sort === 'level' ? `=${usual / LEVEL_DOWN}%..${MOST_LEVEL}%` : ''}`,
  ]);
  const start = performance.now();
  const { settings, distanceAfter } = ask('fit', patch, wav, '-o', made, ...vary);
  const seconds = (performance.now() - start) / 1000;
  // One draw of each voice is enough to tell whether a fit is the same each time, and what it tells.
  const isRepeated = draw === 0;
  const reread = isRepeated
    ? ask('fit', made, wav, '-o', again, '--tries', '40', ...vary).distanceBefore
    : distanceAfter;
  if (isRepeated) ask('fit', patch, wav, '-o', again, ...vary);
  const isSame = !isRepeated || readFileSync(made, 'utf8') === readFileSync(again, 'utf8');
  const off = truth.map(({ sort, path, value }) => {
    const after = settings.find(({ setting }) => setting === `voice.${path}`)?.after ?? '';
    const ratio = numberOf(after) / value;
    return { sort, by: sort === 'level' ? 20 * Math.log10(ratio) : ratio - 1 };
  });
  const told = off.map(({ sort, by }) =>
    sort === 'level' ? `${sort} ${by.toFixed(2)} dB` : `${sort} ${(100 * by).toFixed(1)} %`,
  );
  console.log(
    `  ${voice.padEnd(20)} ${String(draw).padStart(2)}  ${told.join(', ').padEnd(48)} ${distanceAfter.toFixed(2)} dB ${seconds.toFixed(1)} s${isSame ? '' : ' ANOTHER ANSWER'}`,
  );
  return { off, isSame, apart: Math.abs(distanceAfter - reread) };
}

/** In s, Hz or %, as a command writes a value. */
function numberOf(text) {
  const [number, unit] = text.split(' ');
  return Number(number) * ({ ms: 1e-3, us: 1e-6, kHz: 1e3 }[unit] ?? 1);
}

function figuresOf(rows) {
  const percent = (list, wanted) => (100 * list.filter(wanted).length) / Math.max(1, list.length);
  const words = {
    time: 'times within 5 %',
    cutoff: 'cutoffs within 3 %',
    level: 'levels within 1 dB',
  };
  return [
    ...Object.entries(words).map(([sort, what]) => ({
      what: `${what} (${rows.length} draws)`,
      value: percent(
        rows.flatMap(({ off }) => off.filter((one) => one.sort === sort)),
        ({ by }) => Math.abs(by) <= WITHIN[sort],
      ),
      unit: '%',
      limit: WANTED,
      atLeast: true,
    })),
    {
      what: 'the same answer each time',
      value: percent(rows, ({ isSame }) => isSame),
      unit: '%',
      limit: 100,
      atLeast: true,
    },
    {
      what: 'reported and re-read apart',
      value: Math.max(...rows.map(({ apart }) => apart)),
      unit: 'dB',
      limit: AGREES,
    },
  ];
}
