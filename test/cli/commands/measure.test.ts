// `forehear measure`, as a command: what it prints of a clip whose measures are known, and what it says
// of files that are not WAV. The numbers themselves are tested in test/measure.

import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { measureSignal } from '../../../src/measure/signal.ts';
import { WavFile } from '../../../src/wav/read-wav.ts';
import { close } from '../../close.ts';
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

/** The same for 5.1: a sine of 1 kHz in each channel, of such peaks, dBFS, for ten seconds. */
function surround(levels: readonly number[]): Uint8Array {
  const frame = 2 * levels.length;
  const length = 10 * RATE * frame;
  const bytes = new Uint8Array(68 + length);
  const view = new DataView(bytes.buffer);
  bytes.set(new TextEncoder().encode('RIFF    WAVEfmt '));
  view.setUint32(4, bytes.length - 8, true);
  view.setUint32(16, 40, true);
  view.setUint16(20, 0xfffe, true);
  view.setUint16(22, levels.length, true);
  view.setUint32(24, RATE, true);
  view.setUint32(28, RATE * frame, true);
  view.setUint16(32, frame, true);
  view.setUint16(34, 16, true);
  view.setUint16(36, 22, true);
  view.setUint16(38, 16, true);
  view.setUint32(40, 0x3f, true);
  bytes.set([1, 0, 0, 0, 0, 0, 0x10, 0, 0x80, 0, 0, 0xaa, 0, 0x38, 0x9b, 0x71], 44);
  bytes.set(new TextEncoder().encode('data'), 60);
  view.setUint32(64, length, true);
  for (let n = 0; n < 10 * RATE; n++) {
    const sine = Math.sin((2 * Math.PI * 1000 * n) / RATE);
    levels.forEach((db, c) => {
      view.setInt16(68 + n * frame + 2 * c, Math.round(32_767 * sine * 10 ** (db / 20)), true);
    });
  }
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
    close(hits[0].time, 0.1, {
      abs: 0.001,
      unit: 's',
      why: 'what is promised of the onsets of clean hits',
    });
    close(hits[0].decayTauSeconds, 0.05, {
      rel: 0.02,
      unit: '',
      why: 'what is promised of the decays of clean hits',
    });
    close(1200 * Math.log2(hits[0].pitchHz / 440), 0, {
      abs: 2,
      unit: 'cents',
      why: 'what is promised of the pitch of clean hits',
    });
  });

  it('hears the strokes of a flam where the timing says that they are', () => {
    const folder = scratch();
    const text = readFileSync(join(PATCHES, 'closed-hat.yaml'), 'utf8')
      .replace('"X-x-X-x- X-xxX-x-"', '"f-x-f-x- x-xxf-f-"')
      .replaceAll('110 ms', '35 ms');
    writeFileSync(join(folder, 'flams.yaml'), text);
    forehear(folder, ['render', 'flams.yaml', '-o', 'flams.wav', '--quiet']);
    const timing = JSON.parse(forehear(folder, ['timing', 'flams.yaml', '--json']).stdout);
    const { onsets, tempo, hits } = JSON.parse(
      forehear(folder, ['measure', 'flams.wav', '--json']).stdout,
    );
    // When the envelope notices the trigger: that is when the sound sets in.
    const strokes: { time: number }[] = timing.events.filter(
      ({ jack, edge }: { jack: string; edge: string }) => jack === 'shape.trigger' && edge === 'on',
    );
    expect(strokes.length).toBe(26);
    expect(onsets.length).toBe(strokes.length);
    for (const [n, { time }] of strokes.entries())
      close(onsets[n], time, { abs: 0.001, unit: 's', why: 'the aim of the measures' });
    close(tempo.bpm, 92, { abs: 0.1, unit: 'bpm', why: 'as exact as 1 ms in 6 s' });
    close(tempo.swingPercent, 54, {
      abs: 0.4,
      unit: '%',
      why: 'as exact as 1 ms in a pair of 326 ms',
    });
    const { stdout } = forehear(folder, ['measure', 'flams.wav']);
    expect(stdout).toContain('26 onsets');
    expect(stdout).toContain('Strokes within 30 ms of one another');
    expect(stdout).toMatch(/^ {2}\?: in doubt/m);
    // Of every figure the sign is there where its reliability is under a half, and nowhere else.
    const rows = stdout.split('\n').filter((line) => /^ {2}\d\.\d{3} s /.test(line));
    expect(rows).toHaveLength(2 * hits.length);
    for (const [n, { reliability, reasons }] of hits.entries()) {
      // What is not known, or in doubt, says why, and in words below.
      for (const [figure, share] of Object.entries(reliability)) {
        const reason = reasons[figure];
        if ((share as number) < 0.5) expect(stdout).toContain(`\n  ${reason}: `);
      }
      for (const [row, figures] of [
        [rows[n], { 2: 'attack', 3: 'decay', 4: 't60' }],
        [rows[n + hits.length], { 1: 'edt', 2: 't20', 3: 'down20', 4: 'down40', 5: 'down60' }],
      ] as const) {
        const cells = row?.trim().split(/ {2,}/) ?? [];
        for (const [column, figure] of Object.entries(figures)) {
          const cell = cells[Number(column)] as string;
          if (cell !== '-') expect(cell.endsWith(' ?')).toBe(reliability[figure] < 0.5);
        }
      }
    }
  });

  it('weighs the channels of 5.1 as ITU-R BS.1770 does, and says so', () => {
    const folder = scratch();
    // EBU Tech 3341, table 1, case 6 (from memory), and an LFE channel that must not count.
    const levels = [-28, -28, -24, -3, -30, -30];
    writeFileSync(join(folder, 'five-one.wav'), surround(levels));
    const { loudnessLufs } = JSON.parse(
      forehear(folder, ['measure', 'five-one.wav', '--json']).stdout,
    );
    close(loudnessLufs, -23, { abs: 0.1, unit: 'LU', why: 'what EBU Tech 3341 allows a meter' });
    const { stdout } = forehear(folder, ['measure', 'five-one.wav']);
    expect(stdout).toContain('LFE not at all, back L x 1.41, back R x 1.41');
  });

  it('gives of a long file, which two threads work on, what one gives', async () => {
    const folder = scratch();
    const path = join(folder, 'long.wav');
    const hat = join(PATCHES, 'closed-hat.yaml');
    forehear(folder, ['render', hat, '--seconds', '45', '--rate', '16000', '-o', path, '--quiet']);
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

describe('what a recording suffers from', () => {
  it('is told before its hits, and as data', () => {
    const folder = scratch();
    writeFileSync(
      join(folder, 'humming.wav'),
      wav((n) => 0.01 * Math.sin((2 * Math.PI * 50 * n) / RATE)),
    );
    expect(forehear(folder, ['measure', 'humming.wav']).stdout).toContain(
      'hum: a steady line at 50 Hz',
    );
    const { defects, mended } = JSON.parse(
      forehear(folder, ['measure', 'humming.wav', '--json']).stdout,
    );
    expect(defects.map(({ kind }: { kind: string }) => kind)).toContain('hum');
    expect(mended.drift).toBe(false);
    expect(mended.hum.map(({ hz }: { hz: number }) => hz.toFixed(1))).toEqual(['50.0']);
  });
});
