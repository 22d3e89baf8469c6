/**
 * `node test/bench/spectrograms.mjs FOLDER` draws every voice and, beneath it, the recordings of the drum
 * it stands for: a second each, from 50 Hz at the bottom to 20 kHz (for a recording half its rate), dark
 * being loud, 70 dB from black to white.
 */

import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { encode } from 'fast-png';
import { spectrogram } from '../../dist/output/chart/spectrogram.js';
import { BESIDE } from './recorded.mjs';
import { hasRecordings, RECORDED, recording } from './recordings.mjs';
import { RATE } from './sound.mjs';
import { stroke, VOICES } from './strokes.mjs';

const SIZE = { columns: 360, rows: 150 };
const SECONDS = 1;
/** Levels of the spectrogram are 120 dB in 256 steps. */
const RANGE = (70 / 120) * 255;
const GAP = 6;

const [folder] = process.argv.slice(2);
if (folder === undefined) {
  console.error('Name a folder: node test/bench/spectrograms.mjs FOLDER');
  process.exit(2);
}
mkdirSync(folder, { recursive: true });
for (const voice of Object.keys(VOICES)) {
  const recorded = hasRecordings() ? (RECORDED[BESIDE[voice]] ?? []).map(recording) : [];
  const sounds = [{ samples: stroke(voice, { seconds: SECONDS }), rate: RATE }, ...recorded];
  const path = join(folder, `${voice.replaceAll(' ', '-')}.png`);
  writeFileSync(path, stacked(sounds.map(greys)));
  console.log(path);
}

/** A sound's first second as grey levels, its loudest black. */
function greys({ samples, rate }) {
  const padded = new Float64Array(SECONDS * rate);
  padded.set(samples.subarray(0, padded.length));
  const { levels } = spectrogram(padded, rate, SIZE);
  const loudest = levels.reduce((most, one) => Math.max(most, one), 0);
  return levels.map((one) => Math.min(255, ((loudest - one) / RANGE) * 255));
}

function stacked(pictures) {
  const height = pictures.length * (SIZE.rows + GAP) - GAP;
  const data = new Uint8Array(SIZE.columns * height).fill(128);
  pictures.forEach((picture, n) => {
    data.set(picture, n * (SIZE.rows + GAP) * SIZE.columns);
  });
  return encode({ data, width: SIZE.columns, height, channels: 1, depth: 8 });
}
