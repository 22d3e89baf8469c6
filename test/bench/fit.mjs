/**
 * What `forehear fit` achieves with recorded drums, as a practitioner would use it: the command, a shipped
 * voice, a recording, and no setting named. The distance of the two is computed by the bench's own bank of
 * filters (`hit-distance.mjs`), from the files as they were written.
 *
 * The hits are in two halves: those that the fit was tuned by, and those that were kept out. All claims
 * are about the latter. `FIT=bongo npm run bench -- fit` takes the hits with that in their names.
 */

import { spawnSync } from 'node:child_process';
import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { wavBytes } from '../../dist/index.js';
import { hitDistance } from './hit-distance.mjs';
import { hasRecordings, recording } from './recordings.mjs';
import { PATCHES, played, read } from './sound.mjs';
import { strokeText } from './strokes.mjs';

export const title = 'Fits to recorded drums';

/** Which voice is fitted to which recording. Those of electronic instruments are left out here too. */
export const TUNED = {
  '035_Kick_1': 'kick',
  '038_Snare_1': 'snare',
  '042_Hi-Hat_Closed': 'closed hat of noise',
  '049_Cymbal_Crash_1': 'crash',
  '051_Cymbal_Ride_1': 'ride',
  '060_Bongo_High': 'tom',
  '063_Conga_High_2_Open': 'tom',
  '065_Timbale_High': 'struck snare',
  '067_Agogo_High': 'bell',
  '070_Maracas': 'shaker',
  '076_Wood_Block_1_High': 'rim',
};
export const KEPT_OUT = {
  '031_Sticks': 'rim',
  '037_Stick_Rim': 'rim',
  '040_Snare_2': 'struck snare',
  '044_Hi-Hat_Pedal': 'closed hat of metal',
  '046_Hi-Hat_Open': 'open hat of noise',
  '052_Cymbal_Chinese': 'crash',
  '054_Tombourine': 'shaker',
  '055_Cymbal_Splash': 'crash',
  '056_Cow_Bell': 'bell',
  '059_Cymbal_Ride_2': 'ride',
  '061_Bongo_Low': 'tom',
  '064_Conga_Low': 'tom',
  '066_Timbale_Low': 'tom',
  '068_Agogo_Low': 'bell',
  '069_Cabasa': 'shaker',
  '077_Wood_Block_2_Low': 'rim',
  '080_Triangle_1_Mute': 'bell',
  '081_Triangle_2_Open': 'bell',
  '082_Shaker': 'shaker',
};
/** %; of the hits, those whose distance is halved. */
const WANTED_HALVED = 60;
/** s, on two cores with nothing else to do. */
const LONGEST = 10;
/** dB between what is reported and what the file gives. */
const AGREES = 0.05;
const COMMAND = fileURLToPath(new URL('../../dist/bin/forehear.cjs', import.meta.url));
export async function run() {
  if (!hasRecordings()) {
    console.log(
      "  SKIPPED: Debian's package freepats, which holds the recordings, is not installed.",
    );
    return [];
  }
  const folder = mkdtempSync(join(tmpdir(), 'forehear-bench-'));
  try {
    cpSync(join(PATCHES, 'parts'), join(folder, 'parts'), { recursive: true });
    console.log(
      `  ${'recording'.padEnd(24)} ${'voice'.padEnd(20)} before  after  share  reported  re-read  time`,
    );
    return [
      ...figuresOf('tuned by', await rowsOf(TUNED, folder)),
      ...figuresOf('kept out', await rowsOf(KEPT_OUT, folder), WANTED_HALVED),
    ];
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

async function rowsOf(hits, folder) {
  const part = process.env.FIT?.toLowerCase() ?? '';
  const rows = [];
  for (const [name, voice] of Object.entries(hits))
    if (name.toLowerCase().includes(part)) rows.push(await rowOf(name, voice, folder));
  return rows;
}

async function rowOf(name, voice, folder) {
  const { samples, rate } = recording(name);
  const [wav, patch, made, again] = ['hit.wav', 'voice.yaml', 'fitted.yaml', 'again.yaml'].map(
    (one) => join(folder, one),
  );
  writeFileSync(wav, await wavBytes([samples], { sampleRate: rate, depth: '32f' }));
  const text = strokeText(voice);
  writeFileSync(patch, text);
  const { data, seconds } = timed('fit', patch, wav, '-o', made);
  const { distanceBefore, distanceAfter } = data;
  const length = Math.max(1, 2 * (samples.length / rate));
  const sound = (yaml) => played(read(yaml, patch), length, rate)[0];
  const before = hitDistance(samples, sound(text), rate);
  const after = hitDistance(samples, sound(readFileSync(made, 'utf8')), rate);
  // One setting that moves levels alone, so that hardly anything is tried.
  const few = ['--vary', 'out.full-scale', '--tries', '20'];
  const reread = ask('fit', made, wav, '-o', again, ...few).distanceBefore;
  console.log(
    `  ${name.padEnd(24)} ${voice.padEnd(20)} ${before.toFixed(2).padStart(6)} ${after.toFixed(2).padStart(6)} ${(after / before).toFixed(2).padStart(6)} ${distanceAfter.toFixed(2).padStart(9)} ${reread.toFixed(2).padStart(8)} ${seconds.toFixed(1).padStart(5)}`,
  );
  const told = distanceAfter / distanceBefore;
  return { share: after / before, told, seconds, apart: Math.abs(distanceAfter - reread) };
}

/** What a command says as data. */
export const ask = (...args) => timed(...args).data;

/** The same, and how long it took, s. */
function timed(...args) {
  const start = performance.now();
  const { status, stdout, stderr } = spawnSync(
    process.execPath,
    [COMMAND, ...args, '--force', '--json', '--quiet'],
    { encoding: 'utf8' },
  );
  if (status !== 0) throw new Error(`forehear ${args.join(' ')}\n${stderr}`);
  return { data: JSON.parse(stdout), seconds: (performance.now() - start) / 1000 };
}

function figuresOf(which, rows, halved) {
  if (rows.length === 0) return [];
  const percent = (wanted) => (100 * rows.filter(wanted).length) / rows.length;
  const top = (values) => Math.max(...values);
  return [
    {
      what: `${which} (${rows.length}): distance halved`,
      value: percent(({ share }) => share <= 0.5),
      unit: '%',
      limit: halved,
      atLeast: true,
    },
    {
      what: `${which}: halved by the distance as reported, with tone and pitch`,
      value: percent(({ told }) => told <= 0.5),
      unit: '%',
    },
    { what: `${which}: worse`, value: percent(({ share }) => share > 1), unit: '%', limit: 0 },
    {
      what: `${which}: mean share of the distance left`,
      value: rows.reduce((sum, { share }) => sum + share, 0) / rows.length,
    },
    {
      what: `${which}: reported and re-read apart`,
      value: top(rows.map(({ apart }) => apart)),
      unit: 'dB',
      limit: AGREES,
    },
    {
      what: `${which}: the longest fit`,
      value: top(rows.map(({ seconds }) => seconds)),
      unit: 's',
      limit: LONGEST,
    },
  ];
}
