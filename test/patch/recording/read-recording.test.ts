// A recording as the reader takes it: from a text or bytes, within the patch's folder, valid, or with the
// reason why not.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Recorded } from '../../../src/modules/definition.ts';
import { KINDS } from '../../../src/modules/kinds.ts';
import { readPatch } from '../../../src/patch/read.ts';
import { MOST_RECORDING_BYTES } from '../../../src/patch/recording/read-recording.ts';
import { loadTexts, readTexts } from '../../../src/patch/texts.ts';
import { KNOCK } from '../../knock.ts';
import { runs } from '../../runs.ts';

const bytes = (text: string): Uint8Array =>
  Buffer.from(text.slice(text.indexOf(',') + 1), 'base64');
const patch = (file: string): string => `modules:\n  a: { kind: recording, file: ${file} }\n`;

/** What a patch makes of the file that it names, its name as given. */
function read(got: Uint8Array | string | undefined, name = 'sounds/knock.wav', file = 'kit.yaml') {
  const asked: string[] = [];
  const { patch: made, problems } = readPatch(patch(name), {
    file,
    kinds: KINDS,
    loadRecording: (path) => {
      asked.push(path);
      return got;
    },
  });
  const recorded = made?.modules[0]?.settings.file as Recorded | undefined;
  return { recorded, problems, asked };
}

describe('a recording', () => {
  it('is the same as bytes, as a text, and written in the patch itself', () => {
    const ways = [read(bytes(KNOCK)), read(KNOCK), read(undefined, `"${KNOCK}"`)];
    for (const { recorded, problems } of ways) {
      expect(problems).toEqual([]);
      expect(recorded?.sampleRate).toBe(8000);
      // The formula that the file was made with, in test/knock.ts: 8 bits about 128.
      const samples = recorded?.channels[0] as Float64Array;
      expect(samples).toHaveLength(72);
      for (const [n, sample] of samples.entries()) {
        const wave = 120 * Math.exp(-n / 16) * Math.sin((2 * Math.PI * 620 * n) / 8000);
        expect(sample * 128).toBe(Math.round(128 + wave) - 128);
      }
    }
  });

  it.each([
    ['kit.yaml', 'knock.wav', 'knock.wav'],
    ['kit.yaml', './sounds/../knock.wav', 'knock.wav'],
    ['patches/kit.yaml', 'sounds/knock.wav', 'patches/sounds/knock.wav'],
    ['/home/me/kit.yaml', 'knock.wav', '/home/me/knock.wav'],
    ['../kits/kit.yaml', 'knock.wav', '../kits/knock.wav'],
    ['-', 'knock.wav', 'knock.wav'],
  ])('of %s named %s is looked for at %s', (file, name, path) => {
    expect(read(KNOCK, name, file)).toMatchObject({ problems: [], asked: [path] });
  });

  it.each([
    ['kit.yaml', '../knock.wav'],
    ['patches/kit.yaml', '../knock.wav'],
    ['patches/kit.yaml', 'sounds/../../other/knock.wav'],
    ['../kits/kit.yaml', '../knock.wav'],
    ['../kits/kit.yaml', '../../knock.wav'],
    ['-', '../knock.wav'],
    ['/home/me/kit.yaml', '../../etc/knock.wav'],
  ])('of %s named %s is outside its folder, and not looked for', (file, name) => {
    const { problems, asked } = read(KNOCK, name, file);
    expect(problems.map(({ code, message }) => `${code}: ${message}`)).toEqual([
      `recording: "${name}" is outside the patch's folder`,
    ]);
    expect(asked).toEqual([]);
  });

  it('of a part is named from the folder of the part, and may lie beside it', () => {
    const part = patch('../sounds/knock.wav');
    const asked: string[] = [];
    const { problems } = readPatch('parts: { a: parts/knock.yaml }', {
      file: 'kit.yaml',
      kinds: KINDS,
      load: () => part,
      loadRecording: (path) => {
        asked.push(path);
        return KNOCK;
      },
    });
    expect(problems).toEqual([]);
    expect(asked).toEqual(['sounds/knock.wav']);
  });

  it('goes with the texts of a patch, and is missed where it is not among them', () => {
    const from = { main: 'kit.yaml', set: [], texts: { 'kit.yaml': patch('knock.wav') } };
    const loaded = loadTexts(from, () => undefined, { kinds: KINDS, loadRecording: () => KNOCK });
    expect(loaded.problems).toEqual([]);
    expect(loaded.texts.texts['knock.wav']).toBe(KNOCK);
    expect(readTexts(loaded.texts, { kinds: KINDS }).problems).toEqual([]);
    expect(readTexts(from, { kinds: KINDS }).problems).toMatchObject([
      {
        code: 'recording',
        message: 'there is no file "knock.wav"',
        place: { line: 2, column: 31 },
      },
    ]);
    const missed = loadTexts(from, () => undefined, { kinds: KINDS });
    expect(missed.missing).toEqual(['knock.wav']);
  });

  it('is told from another of the same name where settings are compared', () => {
    const one = read(KNOCK).recorded;
    const changed = bytes(KNOCK).slice();
    changed[60] = 3;
    const other = read(changed).recorded;
    expect(JSON.stringify([one])).not.toBe(JSON.stringify([other]));
    expect(JSON.stringify([one])).toBe(JSON.stringify([read(bytes(KNOCK)).recorded]));
  });
});

describe('what is wrong with a file is told at its name', () => {
  const told = (got: Uint8Array | string | undefined): string => {
    const { problems, recorded } = read(got);
    expect(recorded).toBeUndefined();
    expect(problems).toHaveLength(1);
    expect(problems[0]?.place).toMatchObject({ line: 2, column: 31, length: 16 });
    return problems[0]?.message as string;
  };
  const ascii = (text: string): Uint8Array => new TextEncoder().encode(text);

  it('if it is missing, no WAV file, or another sort of sound', () => {
    expect(told(undefined)).toBe('there is no file "sounds/knock.wav"');
    expect(told('modules: {}')).toBe('the file "sounds/knock.wav" is not a WAV file');
    expect(told(ascii('modules: {}'))).toMatch(/cannot be played: this is not a WAV file/);
    expect(told(ascii('fLaC and more'))).toMatch(/this is a FLAC file/);
    expect(told(new Uint8Array())).toMatch(/the file is empty/);
  });

  it('if it is cut short, wherever', () => {
    const whole = bytes(KNOCK);
    for (let length = 0; length < whole.length; length++)
      expect(told(whole.slice(0, length))).toMatch(/cannot be played: /);
  });

  it('if it is far too long', () => {
    expect(told(new Uint8Array(MOST_RECORDING_BYTES + 1))).toMatch(
      /has 3\.0 MiB, and a recording may have 3 MiB/,
    );
  });

  it('if it holds what is no sound', () => {
    const floats = Buffer.alloc(44 + 8);
    floats.write('RIFF\x2c\0\0\0WAVEfmt \x10\0\0\0\x03\0\x01\0', 0, 'latin1');
    floats.writeUInt32LE(48_000, 24);
    floats.writeUInt32LE(192_000, 28);
    floats.writeUInt16LE(4, 32);
    floats.writeUInt16LE(32, 34);
    floats.write('data\x08\0\0\0', 36, 'latin1');
    floats.writeFloatLE(0.5, 44);
    floats.writeFloatLE(Number.NaN, 48);
    expect(told(floats)).toBe(
      'the file "sounds/knock.wav" holds NaN at frame 1, which is no sound',
    );
  });

  it('whatever its bytes are: it is a recording or has one problem, and nothing is thrown', () => {
    const whole = bytes(KNOCK);
    fc.assert(
      fc.property(
        fc.array(fc.record({ at: fc.nat(whole.length - 1), to: fc.nat(255) }), { maxLength: 6 }),
        (changes) => {
          const changed = whole.slice();
          for (const { at, to } of changes) changed[at] = to;
          const { recorded, problems } = read(changed);
          expect(problems.length).toBe(recorded === undefined ? 1 : 0);
        },
      ),
      runs(500),
    );
  });
});
