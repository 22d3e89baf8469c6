// `forehear measure`, as a command: what it prints of a clip whose measures are known, and what it says
// of files that are none. The numbers themselves are tested in test/measure.

import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { measureSignal } from '../../../src/measure/signal.ts';
import { WavFile } from '../../../src/wav/read-wav.ts';
import { forehear, PATCHES, scratch } from '../run.ts';

const RATE = 48_000;

/** A WAV of 16 bits by hand (RIFF/WAVE, Microsoft & IBM 1991): one second of these samples. */
function wav(sample: (n: number) => number): Uint8Array {
  const bytes = new Uint8Array(44 + 2 * RATE);
  const view = new DataView(bytes.buffer);
  const word = (at: number, text: string): void => {
    for (let i = 0; i < 4; i++) view.setUint8(at + i, text.charCodeAt(i));
  };
  word(0, 'RIFF');
  view.setUint32(4, bytes.length - 8, true);
  word(8, 'WAVE');
  word(12, 'fmt ');
  view.setUint32(16, 16, true);
  view.setUint16(20, 1, true);
  view.setUint16(22, 1, true);
  view.setUint32(24, RATE, true);
  view.setUint32(28, 2 * RATE, true);
  view.setUint16(32, 2, true);
  view.setUint16(34, 16, true);
  word(36, 'data');
  view.setUint32(40, 2 * RATE, true);
  for (let n = 0; n < RATE; n++) view.setInt16(44 + 2 * n, Math.round(32_767 * sample(n)), true);
  return bytes;
}

/** A sine of 440 Hz at half of full scale that sets in after 0.1 s and dies away with 50 ms. */
function struck(n: number): number {
  const t = n / RATE - 0.1;
  return t < 0 ? 0 : 0.5 * Math.exp(-t / 0.05) * Math.sin(2 * Math.PI * 440 * t);
}

describe('measure', () => {
  it('gives a struck sine its onset, its decay and its pitch', () => {
    const folder = scratch();
    writeFileSync(join(folder, 'struck.wav'), wav(struck));
    const { status, stdout } = forehear(folder, ['measure', 'struck.wav', '--json']);
    expect(status).toBe(0);
    const { sampleRate, onsets, hits } = JSON.parse(stdout);
    expect(sampleRate).toBe(RATE);
    expect(onsets).toHaveLength(1);
    // 1 ms and 2 %: what the measures promise of clean hits.
    expect(Math.abs(hits[0].time - 0.1)).toBeLessThan(0.001);
    expect(Math.abs(hits[0].decayTauSeconds / 0.05 - 1)).toBeLessThan(0.02);
    // Two cents.
    expect(Math.abs(1200 * Math.log2(hits[0].pitchHz / 440))).toBeLessThan(2);
  });

  it('gives of a long file, which two threads work on, what one gives', async () => {
    const folder = scratch();
    const path = join(folder, 'long.wav');
    const hat = join(PATCHES, 'closed-hat.yaml');
    forehear(folder, ['render', hat, '--seconds', '45', '-o', path, '--quiet']);
    const { status, stdout } = forehear(folder, ['measure', path, '--json']);
    expect(status).toBe(0);
    const file = new WavFile(path);
    const { hits, ...alone } = await measureSignal(file);
    file.close();
    expect(hits.length).toBeGreaterThan(100);
    expect(JSON.parse(stdout)).toMatchObject(JSON.parse(JSON.stringify({ hits, ...alone })));
  });

  it.each([
    ['nothere.wav', 'there is no such file'],
    ['folder', 'this is a folder'],
    ['words.wav', 'this is not a WAV file'],
  ])('says of %s what is wrong, with exit code 2 and no trace', (name, words) => {
    const folder = scratch();
    mkdirSync(join(folder, 'folder'));
    writeFileSync(join(folder, 'words.wav'), 'hi\n');
    const { status, stdout, stderr } = forehear(folder, ['measure', name]);
    expect(status).toBe(2);
    expect(stdout).toBe('');
    expect(stderr).toContain(name);
    expect(stderr).toContain(words);
    expect(stderr).not.toContain('    at ');
  });
});
