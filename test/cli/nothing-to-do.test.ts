// Options that would do nothing where they are given, and files that are no patch: each is told, with what to do.

import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { forehear, scratch } from './run.ts';
import { workshop } from './writings.ts';

let at: string;
beforeAll(() => {
  at = workshop();
});

describe('an option that has nothing to act on', () => {
  it.each([
    [['timing', 'hat.yaml', '--force'], /--force is of --svg, --midi and --wav/],
    [['survey', 'hat.yaml', '--force'], /--force is of --sheet and --blanks/],
    [['calibrate', 'dials.yaml', '--force'], /--force is of --svg/],
    [['measure', 'take.wav', '--force'], /--force is of --svg/],
    [['measure', 'take.wav', '--against', 'take.wav', '--force'], /--force is of --svg/],
    [['measure', 'take.wav', '--as-volts', '10V', '--force'], /--force is of --svg/],
    [['render', 'hat.yaml', '--strokes', 'set', '--force'], /--force is of the clip/],
    [['tab', 'take.wav', '--accent', '100'], /--accent is for MIDI files/],
    [['tab', 'take.wav', '--ghost', '40'], /--ghost is for MIDI files/],
  ])('%j', (args, words) => {
    const { status, stdout, stderr } = forehear(at, args);
    expect(stderr).toMatch(words);
    expect({ status, stdout }).toEqual({ status: 2, stdout: '' });
  });
});

describe('a file that is no patch', () => {
  const PATCH = 'modules: { out: { kind: output } }\n';
  const utf16 = Buffer.from(PATCH, 'utf16le');
  it.each([
    ['WAV', Buffer.from('RIFF\x04\0\0\0WAVE'), /this is a WAV file; .*forehear measure/],
    ['MIDI', Buffer.from('MThd\0\0\0\x06\0\0'), /this is a MIDI file; .*forehear tab/],
    [
      'UTF-16',
      Buffer.concat([Buffer.from([0xff, 0xfe]), utf16]),
      /this is text in UTF-16; .*UTF-8/,
    ],
    [
      'UTF-16 of the other order',
      Buffer.concat([Buffer.from([0xff, 0xfe]), utf16]).swap16(),
      /UTF-16/,
    ],
    ['UTF-16 without a mark', utf16, /this is text in UTF-16/],
    ['an older encoding', Buffer.from('title: \xfcber\n', 'latin1'), /this is not text in UTF-8/],
  ])('%s', (_, bytes, words) => {
    const folder = scratch();
    writeFileSync(join(folder, 'a.yaml'), bytes);
    const { status, stdout, stderr } = forehear(folder, ['check', 'a.yaml']);
    expect(stderr).toMatch(words);
    expect({ status, stdout }).toEqual({ status: 2, stdout: '' });
    // Of a rack likewise.
    writeFileSync(join(folder, 'b.yaml'), `rack: a.yaml\n${PATCH}`);
    const asRack = forehear(folder, ['check', 'b.yaml']);
    expect(asRack.stderr).toMatch(/not text in UTF-8/);
    expect(asRack.status).toBe(2);
  });
});
