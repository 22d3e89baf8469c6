// The fit command without one patch: it builds a voice, or chooses one, run as built.

import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { forehear, scratch } from '../run.ts';

const FOLDER = scratch();
/** How near a search comes is for test/fit. */
const FEW = ['--tries', '40'];
const voice = (kind: string, jacks: [string, string]): string => `modules:
  drums: { kind: rhythm, tempo: 40 bpm, channels: [hit], patterns: { once: { hit: "x---------------" } } }
  body: { kind: ${kind} }
  out: { kind: output }
cables: [drums.hit -> body.${jacks[0]}, body.${jacks[1]} -> out.left]
`;

beforeAll(() => {
  mkdirSync(join(FOLDER, 'voices'));
  const ring = voice('resonator, at-zero: 200 Hz, decay: 300 ms', ['strike', 'out']);
  writeFileSync(join(FOLDER, 'voices', 'ring.yaml'), ring);
  // An envelope is no sound.
  writeFileSync(
    join(FOLDER, 'voices', 'thump.yaml'),
    voice('envelope, decay: 20 ms, release: 20 ms', ['trigger', 'out']),
  );
  // No patch that can be heard: a folder may have them.
  writeFileSync(join(FOLDER, 'voices', 'rack.yaml'), 'units: { out: { kind: output } }\n');
  const set = ['--set', 'body.decay=200ms', '--set', 'body.at-zero=230Hz'];
  const { status } = forehear(FOLDER, [
    ...['render', 'voices/ring.yaml', ...set, '--rate', '12000', '--seconds', '1'],
    ...['-o', 'take.wav', '--quiet'],
  ]);
  expect(status).toBe(0);
});

describe('forehear fit --page', () => {
  it('lets the recording, before and after be heard at one loudness and as long, with a map each', () => {
    const args = [
      'fit',
      'voices/ring.yaml',
      'take.wav',
      '-o',
      'ring.yaml',
      '--page',
      'page',
    ].concat(FEW);
    const { status, stdout, stderr } = forehear(FOLDER, [...args, '--json']);
    expect({ status, stderr }).toEqual({ status: 0, stderr: '' });
    const told = JSON.parse(stdout);
    expect(told.page).toBe(join('page', 'compare.html'));
    const clips = ['01-recording.wav', '02-before.wav', '03-after.wav'].map((name) =>
      readFileSync(join(FOLDER, 'page', name)),
    );
    // The length of the chunk of samples; others hold a title.
    const sizes = clips.map((bytes) => bytes.readUInt32LE(bytes.indexOf('data') + 4));
    expect(new Set(sizes).size).toBe(1);
    const page = readFileSync(join(FOLDER, 'page', 'compare.html'), 'utf8');
    expect(page).toMatch(/Where they differ/);
    expect(page).toMatch(/Every clip is at \u2212[\d.]+ LUFS/);
    // The same figures as the report's: one search, one distance.
    for (const [name, db] of [
      ['before', told.distanceBefore],
      ['after', told.distanceAfter],
    ])
      expect(page).toContain(`${name} against recording: ${db.toFixed(2)} dB apart`);
  });
});

describe('forehear fit without one patch', () => {
  it('builds a voice beside the recording, which the check finds nothing wrong with', () => {
    const { status, stdout, stderr } = forehear(FOLDER, [
      'fit',
      'take.wav',
      '--tries',
      '200',
      '--json',
    ]);
    expect({ status, stderr }).toEqual({ status: 0, stderr: '' });
    const data = JSON.parse(stdout);
    expect(data.file).toBe('take-voice.yaml');
    expect(data.built.modules).toBeLessThanOrEqual(16);
    expect(data.distanceAfter).toBeLessThan(3);
    expect(readFileSync(join(FOLDER, data.file), 'utf8')).toMatch(
      /^title: "Voice after take.wav"$/m,
    );
    expect(forehear(FOLDER, ['check', data.file]).status).toBe(0);
  });

  it('chooses the nearest voice of a folder, and says what keeps the others from it', () => {
    const { status, stdout } = forehear(FOLDER, [
      ...['fit', 'voices', 'take.wav', '-o', 'chosen.yaml', ...FEW],
    ]);
    expect(status).toBe(0);
    expect(stdout).toMatch(/1\s+voices\/ring\.yaml/);
    expect(stdout).toMatch(/2\s+voices\/thump\.yaml.*dB more/);
    expect(stdout).not.toMatch(/rack\.yaml/);
    expect(readFileSync(join(FOLDER, 'chosen.yaml'), 'utf8')).toMatch(/kind: resonator/);
  });

  it('refuses a place from which the recordings of a patch could not be read, before the work', () => {
    const taped = voice('recording, file: take.wav', ['trigger', 'out']);
    mkdirSync(join(FOLDER, 'taped'));
    mkdirSync(join(FOLDER, 'other'));
    writeFileSync(join(FOLDER, 'taped', 'taped.yaml'), taped);
    writeFileSync(join(FOLDER, 'taped', 'take.wav'), readFileSync(join(FOLDER, 'take.wav')));
    const args = ['fit', 'taped/taped.yaml', 'take.wav', '--vary', 'body.start=0s..10ms'];
    const { status, stderr } = forehear(FOLDER, [...args, '-o', 'other/taped.yaml']);
    expect(stderr).toMatch(
      /^-o other\/taped\.yaml: .*"\.\.\/taped\/take\.wav" is outside.*in taped\./,
    );
    expect(status).toBe(2);
  });

  it('leaves the rack alone that it is to write over, whatever --force says', () => {
    const rack = readFileSync(join(FOLDER, 'voices/rack.yaml'));
    const { status, stderr } = forehear(FOLDER, [
      ...['fit', 'take.wav', '--rack', 'voices/rack.yaml', '-o', 'voices/rack.yaml', '--force'],
    ]);
    expect(status).toBe(2);
    expect(stderr).toMatch(/^voices\/rack\.yaml: .*read/);
    expect(readFileSync(join(FOLDER, 'voices/rack.yaml'))).toEqual(rack);
  });

  it.each([
    [['voices/ring.yaml'], /the recording is missing. It comes last/],
    [['take.wav', '--vary', 'body.decay'], /--vary names settings of one patch/],
    [['voices', 'take.wav', '--write'], /--write changes one patch in place/],
    [['voices', 'take.wav', '--channel', 'kick'], /none of the patches has a channel of that name/],
    [['take.wav', '--rack', 'none.yaml'], /none\.yaml: there is no such file/],
  ])('refuses %j with the reason, and writes nothing', (args, why) => {
    const { status, stderr } = forehear(
      FOLDER,
      ['fit', ...args, '-o', 'none-written.yaml'].filter(
        (_, k, all) => !(all.includes('--write') && k >= all.length - 2),
      ),
    );
    expect(status).toBe(2);
    expect(stderr).toMatch(why);
    expect(existsSync(join(FOLDER, 'none-written.yaml'))).toBe(false);
  });
});
