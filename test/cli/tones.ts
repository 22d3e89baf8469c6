/** A dial file with two recordings of its own: an oscillator at two positions. */

import { writeFileSync } from 'node:fs';
import { join } from 'node:path';

export const DIALS = `title: Bench
units:
  tone: { kind: oscillator, dials: { at-zero: { 0: low.wav, 10: high.wav } } }
`;

const RATE = 8000;
const SECONDS = 0.5;

/** Writes both: low.wav with 110 Hz, high.wav with 440 Hz, in 16 bits. */
export function writeTones(folder: string): void {
  writeFileSync(join(folder, 'low.wav'), toneOf(110));
  writeFileSync(join(folder, 'high.wav'), toneOf(440));
}

function toneOf(hertz: number): Buffer {
  const frames = RATE * SECONDS;
  const bytes = Buffer.alloc(44 + 2 * frames);
  bytes.write('RIFF', 0);
  bytes.writeUInt32LE(36 + 2 * frames, 4);
  bytes.write('WAVEfmt ', 8);
  bytes.writeUInt32LE(16, 16);
  bytes.writeUInt16LE(1, 20);
  bytes.writeUInt16LE(1, 22);
  bytes.writeUInt32LE(RATE, 24);
  bytes.writeUInt32LE(2 * RATE, 28);
  bytes.writeUInt16LE(2, 32);
  bytes.writeUInt16LE(16, 34);
  bytes.write('data', 36);
  bytes.writeUInt32LE(2 * frames, 40);
  for (let n = 0; n < frames; n++)
    bytes.writeInt16LE(Math.round(16_000 * Math.sin((2 * Math.PI * hertz * n) / RATE)), 44 + 2 * n);
  return bytes;
}
