/**
 * What `forehear fit` finds from renders of the shipped voices, whose settings are known: a time, a cutoff or
 * pitch and a level of each are drawn, the voice is rendered with them and with another seed, two strokes of
 * it, and the command is given the voice as it is shipped and the three settings to move (`own-draw.mjs`).
 *
 * `OWN=bell npm run bench -- own` takes the voices with that in their names, `DRAWS=3` makes that many draws of each,
 * `FIRST=9` begins with that one, since rules were chosen by looking at those before, `WORKERS=1` takes that many cores,
 * unless set all. `RECORD=own.jsonl` keeps each draw in a file as it is made: a draw that is there of the same code is not
 * made again, so that a long run may be stopped and goes on where it was.
 */

import { createHash } from 'node:crypto';
import {
  appendFileSync,
  existsSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
} from 'node:fs';
import { availableParallelism, tmpdir } from 'node:os';
import { join } from 'node:path';
import { Tinypool } from 'tinypool';
import { DRAWN } from './own-draw.mjs';
import { PATCHES } from './sound.mjs';

export const title = 'Fits to own renders with unknown settings';

/** What is wanted of 90 %: a share, or dB. */
const WITHIN = { time: 0.05, cutoff: 0.03, level: 1 };
const WANTED = 90;
const AGREES = 0.05;

export async function run() {
  const { OWN = '', FIRST = 0, DRAWS = 20, WORKERS = availableParallelism(), RECORD } = process.env;
  const code = codeOf([new URL('../../dist/bin/', import.meta.url), join(PATCHES, 'parts')]);
  const voices = Object.keys(DRAWN).filter((name) => name.includes(OWN.toLowerCase()));
  // One draw of every voice after another, so that a run that is stopped has some of each.
  const wanted = Array.from({ length: Number(DRAWS) }, (_, index) =>
    voices.map((voice) => ({ voice, draw: Number(FIRST) + index, isRepeated: index === 0 })),
  ).flat();
  const rows = recordedRows(RECORD).filter(
    (row) =>
      row.code === code &&
      wanted.some(({ voice, draw }) => row.voice === voice && row.draw === draw),
  );
  const missing = wanted.filter(
    ({ voice, draw }) => !rows.some((row) => row.voice === voice && row.draw === draw),
  );
  const folder = mkdtempSync(join(tmpdir(), 'forehear-bench-'));
  const filename = new URL('./own-draw.mjs', import.meta.url).href;
  const pool = new Tinypool({ filename, minThreads: 1, maxThreads: Number(WORKERS) });
  try {
    for (const row of rows) tell(row);
    await Promise.all(
      missing.map(async (draw) => {
        const row = { code, ...(await pool.run({ ...draw, folder })) };
        if (RECORD !== undefined) appendFileSync(RECORD, `${JSON.stringify(row)}\n`);
        tell(row);
        rows.push(row);
      }),
    );
    return figuresOf(rows);
  } finally {
    await pool.destroy();
    rmSync(folder, { recursive: true, force: true });
  }
}

/** A digest of what a fit depends on: all files of some folders. */
function codeOf(folders) {
  const hash = createHash('sha256');
  for (const folder of folders)
    for (const name of readdirSync(folder, { recursive: true }).toSorted()) {
      const file = folder instanceof URL ? new URL(name, folder) : join(folder, name);
      if (/\.(?:c?js|ya?ml)$/.test(name)) hash.update(name).update(readFileSync(file));
    }
  return hash.digest('hex').slice(0, 12);
}

function recordedRows(file) {
  if (file === undefined || !existsSync(file)) return [];
  const lines = readFileSync(file, 'utf8').split('\n');
  return lines.filter((line) => line !== '').map((line) => JSON.parse(line));
}

function tell({ voice, draw, off, isSame, distanceAfter, distanceOfTruth }) {
  const told = off.map(({ sort, by }) =>
    sort === 'level' ? `${sort} ${by.toFixed(2)} dB` : `${sort} ${(100 * by).toFixed(1)} %`,
  );
  console.log(
    `  ${voice.padEnd(20)} ${String(draw).padStart(2)}  ${told.join(', ').padEnd(48)} ${distanceAfter.toFixed(2)} dB, true ${distanceOfTruth.toFixed(2)} dB${isSame ? '' : ' ANOTHER ANSWER'}`,
  );
}

function figuresOf(rows) {
  const percent = (list, wanted) => (100 * list.filter(wanted).length) / list.length;
  const words = {
    time: 'times within 5 %',
    cutoff: 'cutoffs within 3 %',
    level: 'levels within 1 dB',
  };
  const aims = Object.entries(words).flatMap(([sort, what]) => {
    const all = rows.flatMap(({ off }) => off.filter((one) => one.sort === sort));
    const near = ({ by }) => Math.abs(by) <= WITHIN[sort];
    const decided = all.filter(({ isDecided }) => isDecided);
    return [
      { of: all, what: `${what} (${all.length} draws)`, limit: WANTED, atLeast: true },
      { of: decided, what: `${what}, of those that the fit calls decided (${decided.length})` },
    ].flatMap(({ of, ...row }) =>
      of.length === 0 ? [] : [{ ...row, value: percent(of, near), unit: '%' }],
    );
  });
  return [
    ...aims,
    {
      what: 'nearer than the true settings, or as near',
      value: percent(rows, (row) => row.distanceAfter <= row.distanceOfTruth + AGREES),
      unit: '%',
    },
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
