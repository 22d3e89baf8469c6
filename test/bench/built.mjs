/**
 * What `forehear fit RECORDING.wav` builds for recorded drums, compared with the shipped voice for each. The
 * distance of each is computed by the bench's own bank of filters, from the files as they were written. The
 * hits are those of the bench `fit`; those kept out of tuning are in no test.
 */

import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { wavBytes } from '../../dist/index.js';
import { ask, KEPT_OUT, TUNED } from './fit.mjs';
import { hitDistance } from './hit-distance.mjs';
import { hasRecordings, recording } from './recordings.mjs';
import { PATCHES, played, read } from './sound.mjs';
import { strokeText } from './strokes.mjs';

/**
 * Hits that no other list and no test names, none of an electronic instrument, with the shipped voice that
 * is least another thing. They were chosen before they were heard or built from, and run once when they were.
 */
export const FRESH = {
  '058_Vibra-Slap': 'shaker',
  '073_Guiro_1_Short': 'shaker',
  '084_Belltree': 'bell',
  '115_Wood_Block': 'rim',
  '000_Acoustic_Grand_Piano 2': 'tom',
  '000_Acoustic_Grand_Piano 6': 'bell',
  '000_Acoustic_Grand_Piano 9': 'bell',
  '001_Acoustic_Brite_Piano 3': 'tom',
  '001_Acoustic_Brite_Piano 9': 'bell',
  '006_Harpsichord 1': 'bell',
  '006_Harpsichord 2': 'bell',
  '006_Harpsichord 3': 'bell',
  '026_Jazz_Guitar 1': 'tom',
  '026_Jazz_Guitar 7': 'bell',
  '026_Jazz_Guitar 13': 'bell',
  '032_Acoustic_Bass': 'tom',
  '104_Sitar 1': 'bell',
};

export const title = 'Voices built from recorded drums';

/** %; of the hits, those that the built voice is half as far from as the shipped one. */
const WANTED_HALVED = 80;
/** dB, in the mean. */
const NEAR = 5;
/** s, on two cores with nothing else to do. */
const LONGEST = 10;
const MOST_MODULES = 16;

export async function run() {
  if (!hasRecordings()) {
    console.log("  SKIPPED: Debian's package freepats is not installed.");
    return [];
  }
  const folder = mkdtempSync(join(tmpdir(), 'forehear-bench-'));
  try {
    console.log(`  ${'recording'.padEnd(24)} shipped  built  share  modules  time`);
    const tuned = await rowsOf(TUNED, folder);
    const keptOut = await rowsOf(KEPT_OUT, folder);
    const fresh = await rowsOf(FRESH, folder);
    return [
      ...figuresOf('tuned by', tuned),
      ...figuresOf('kept out', keptOut, WANTED_HALVED),
      ...figuresOf('named nowhere else', fresh, WANTED_HALVED),
    ];
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

async function rowsOf(hits, folder) {
  const part = process.env.FIT?.toLowerCase() ?? '';
  const rows = [];
  for (const [name, voice] of Object.entries(hits)) {
    if (!name.toLowerCase().includes(part)) continue;
    const { samples, rate } = recording(name);
    const [wav, made] = ['hit.wav', 'made.yaml'].map((one) => join(folder, one));
    writeFileSync(wav, await wavBytes([samples], { sampleRate: rate, depth: '32f' }));
    const start = performance.now();
    const { built } = ask('fit', wav, '-o', made);
    const seconds = (performance.now() - start) / 1000;
    const length = Math.max(1, 2 * (samples.length / rate));
    const far = (yaml) =>
      hitDistance(samples, played(read(yaml, join(PATCHES, 'bench.yaml')), length, rate)[0], rate);
    const [before, after] = [far(strokeText(voice)), far(readFileSync(made, 'utf8'))];
    console.log(
      `  ${name.padEnd(24)} ${before.toFixed(2).padStart(7)} ${after.toFixed(2).padStart(6)} ${(after / before).toFixed(2).padStart(6)} ${String(built.modules).padStart(8)} ${seconds.toFixed(1).padStart(5)}`,
    );
    rows.push({ share: after / before, after, before, seconds, modules: built.modules });
  }
  return rows;
}

function figuresOf(which, rows, halved) {
  if (rows.length === 0) return [];
  const percent = (wanted) => (100 * rows.filter(wanted).length) / rows.length;
  const mean = (of) => rows.reduce((sum, row) => sum + of(row), 0) / rows.length;
  const name = `${which} (${rows.length})`;
  return [
    {
      what: `${name}: half as far as the shipped voice`,
      value: percent(({ share }) => share <= 0.5),
      unit: '%',
      limit: halved,
      atLeast: true,
    },
    {
      what: `${name}: the shipped voices, mean distance`,
      value: mean(({ before }) => before),
      unit: 'dB',
    },
    { what: `${name}: mean distance`, value: mean(({ after }) => after), unit: 'dB', limit: NEAR },
    { what: `${name}: further`, value: percent(({ share }) => share > 1), unit: '%', limit: 0 },
    {
      what: `${name}: most modules`,
      value: Math.max(...rows.map(({ modules }) => modules)),
      limit: MOST_MODULES,
    },
    {
      what: `${name}: longest`,
      value: Math.max(...rows.map(({ seconds }) => seconds)),
      unit: 's',
      limit: LONGEST,
    },
  ];
}
