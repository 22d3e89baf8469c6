// Drum tab written into a patch: what it then plays, what stays to the byte, and what is refused.

import { copyFileSync, cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';
import { readPatchFile } from '../../../src/cli/read-patch.ts';
import {
  type IntoRequest,
  readLines,
  writeTab,
  writtenText,
} from '../../../src/cli/reports/tab-into.ts';
import { midiFile } from '../../../src/output/score/midi-file.ts';
import { hitsMusic } from '../../../src/tab/hits-music.ts';
import { midiMusic } from '../../../src/tab/midi-music.ts';
import { readMidi } from '../../../src/tab/midi-reader.ts';
import type { Music } from '../../../src/tab/music.ts';
import { transcribe } from '../../../src/tab/transcribe.ts';
import { rhythmSettings } from '../../../src/timing/rhythm.ts';
import { songSeconds } from '../../../src/timing/song.ts';

const PATCHES = fileURLToPath(new URL('../../../patches/', import.meta.url));
const folder = mkdtempSync(join(tmpdir(), 'forehear-test-'));
afterAll(() => rmSync(folder, { recursive: true }));

let count = 0;
/** A new file with this text. */
function file(text: string): string {
  const path = join(folder, `patch-${count++}.yaml`);
  writeFileSync(path, text);
  return path;
}

function into(music: Music, request: IntoRequest) {
  return writeTab(transcribe(music), music.lines, request);
}

/** What refuses it; then nothing may be written. */
function refusal(music: Music, request: IntoRequest): string {
  const before = readFileSync(request.file, 'utf8');
  let message = '';
  try {
    into(music, request);
  } catch (error) {
    message = (error as Error).message;
  }
  expect(readFileSync(request.file, 'utf8')).toBe(before);
  return message;
}

function rhythmIn(path: string) {
  const { modules } = readPatchFile(path, []);
  const found = modules.find(({ definition }) => definition.role === 'score');
  return rhythmSettings(found?.settings ?? {});
}

/** The hits of a hand: sixteenths of bars, at 120 bpm. */
function hits(bars: readonly string[]): Music {
  const times = bars.flatMap((bar, index) =>
    [...bar.replaceAll(' ', '')].flatMap((sign, step) =>
      sign === '-'
        ? []
        : [{ time: 1 + 2 * index + step / 8, peakDbfs: { X: -3, g: -20 }[sign] ?? -8 }],
    ),
  );
  return hitsMusic(times, 120);
}

const PATCH = `# first of all
modules:
  drums:
    kind: rhythm     # the house's own
    tempo: 120 bpm
    channels: [kick, snare]
    patterns:
      groove:
        kick:  "x--- ---- x--- ----"   # heavy
        snare: { steps: "---- x---|---- x---", gate: 8 ms }
      fill: { from: groove, snare: "xxxx" } # short
    song: [groove, { pattern: fill, swing: 60 % }]   # as it goes
  out: { kind: output }
`;

describe('tab put into a patch', () => {
  it('gives back what the MIDI file of an example has, whatever was in its patterns', () => {
    // The kit of eight has parts, a rack, patterns that start from others, swing, flams and a ratchet.
    const kit = join(PATCHES, 'kit-of-eight.yaml');
    const { bytes } = midiFile(readPatchFile(kit, []), songSeconds(rhythmIn(kit)));
    const music = midiMusic(readMidi(bytes), { accent: 112, ghost: 45 });
    for (const room of ['parts', 'racks'])
      cpSync(join(PATCHES, room), join(folder, room), { recursive: true });
    const text = readFileSync(kit, 'utf8');
    const spoilt = (block: string) =>
      block.replaceAll(/^( {8}(?:kick|closed|snare): +)"[^"]*"/gm, '$1"x-x- x--- --gX 2-x-"');
    const path = file(text.replaceAll(/^ {6}(?:opening|push):\n(?: {8}.*\n)+/gm, spoilt));
    const tab = transcribe(music);
    const put = (request: IntoRequest) => writeTab(tab, music.lines, request);
    put({ file: path, pattern: 'opening', bar: 1 });
    put({ file: path, pattern: 'push', bar: 3 });
    const [was, is] = [kit, path].map(rhythmIn);
    const sounding = (rhythm: typeof was) =>
      rhythm?.patterns.map(({ lines, ...pattern }) => ({
        ...pattern,
        lines: lines
          .filter(({ steps }) => steps.some(({ strokes }) => strokes > 0))
          .sort((a, b) => a.channel - b.channel),
      }));
    expect(sounding(is)).toEqual(sounding(was));
    const outside = (one: string) => one.replaceAll(/^ {8}.*\n/gm, '');
    expect(outside(readFileSync(path, 'utf8'))).toBe(outside(text));
    // A step that is already as it was heard is not touched.
    const written = readFileSync(path, 'utf8');
    put({ file: path, pattern: 'push', bar: 3 });
    expect(readFileSync(path, 'utf8')).toBe(written);
  });

  it('changes the lines that it has, and nothing else', () => {
    const path = file(PATCH);
    const lines = readLines('hit=kick');
    const written = into(hits(['x-x- g--- X--- --x-']), { file: path, pattern: 'groove', lines });
    expect(readFileSync(path, 'utf8')).toBe(
      PATCH.replace('"x--- ---- x--- ----"', '"x-x- g--- X--- --x-"'),
    );
    expect(written.patterns).toEqual([
      { name: 'groove', from: 'bar-1', isNew: false, lines: ['kick'], stay: ['snare'] },
    ]);
    expect(written.following).toEqual(['fill']);
    expect(writtenText(written).join('\n')).toContain('fill starts from it');
    // The long form keeps what else it says.
    into(hits(['---- x--- ---- x-x-']), {
      file: path,
      pattern: 'groove',
      lines: readLines('hit=snare'),
    });
    expect(readFileSync(path, 'utf8')).toContain(
      'snare: { steps: "x--- ---- x-x- ----", gate: 8 ms }',
    );
  });

  it('adds new patterns as the others are written, and says whether they are played', () => {
    const lines = readLines('hit=snare');
    const path = file(PATCH);
    const two = hits(['x--- x--- x--- x---', 'x-x- x-x- x-x- x-x-']);
    const written = into(two, { file: path, lines });
    const added = `      bar-1:\n        snare: "x--- x--- x--- x---"\n      bar-2:\n        snare: "x-x- x-x- x-x- x-x-"\n`;
    expect(readFileSync(path, 'utf8')).toBe(PATCH.replace('    song:', `${added}    song:`));
    expect(writtenText(written).join('\n')).toContain('The song of drums is as it was');
    const flow = PATCH.replace(
      / {4}patterns:[\s\S]*(?= {2}out)/,
      '    patterns: { a: { kick: "x-" } }\n',
    );
    const other = file(flow);
    const inFlow = into(two, { file: other, lines, pattern: 'b', bar: 2 });
    expect(readFileSync(other, 'utf8')).toBe(
      flow.replace('"x-" } }', '"x-" }, b: { snare: "x-x- x-x- x-x- x-x-" } }'),
    );
    expect(writtenText(inFlow).join('\n')).toContain('has no song');
  });

  it('writes swing, flams and length where the patch has others', () => {
    const swung = [0, 0.29, 0.5, 0.79].map((at) => ({
      at,
      line: 0,
      strength: 'plain' as const,
      loudness: 90,
    }));
    const grace = { at: 1.48, line: 0, strength: 'plain' as const, loudness: 30 };
    const music: Music = {
      lines: [{ name: 'snare' }],
      strokes: [...swung, grace, { ...grace, at: 1.5, loudness: 100 }],
      sections: [{ start: 0, end: 3, bpm: 90, bar: 1, within: 0 }],
      beatsPerBar: 3,
      tick: 1 / 480,
      remarks: [],
    };
    const text = PATCH.replace('tempo: 120 bpm', 'tempo: 120 bpm\n    swing: 54 %');
    const path = file(text);
    const written = into(music, { file: path, pattern: 'three' });
    const three = rhythmIn(path).patterns.find(({ name }) => name === 'three');
    expect(three).toMatchObject({ length: 12, stepsPerQuarter: 4, swing: 0.58 });
    expect(three?.lines[0]?.steps.map(({ flam }) => flam).indexOf(true)).toBe(6);
    expect(written.tempo).toEqual({ played: 90, patch: 120 });
    // Over a pattern whose entry in the song says the swing, the line says its own.
    const long = text.replaceAll('"xxxx"', '"xxxx xxxx xxxx"').replace('from: groove, ', '');
    const other = file(long);
    into(music, { file: other, pattern: 'fill' });
    expect(readFileSync(other, 'utf8')).toMatch(
      /snare: \{ steps: "xxxx --f- ----", swing: 58 %, at: \{ 7: \{ flam: 13.3 ms \} \} \}/,
    );
  });

  const one = hits(['x--- x--- x--- x---']);
  const snare = readLines('hit=snare');
  it.each<[string, Music, Partial<IntoRequest>, RegExp]>([
    [
      'a channel that is not there',
      one,
      {},
      /no channel hit, only kick, snare\. Say which .*--lines hit=/,
    ],
    [
      'another channel that is not',
      one,
      { lines: readLines('hit=snair') },
      /no channel snair.*Did you mean snare\?/,
    ],
    [
      'a line that is not',
      one,
      { lines: readLines('hat=snare') },
      /no line hat in the tab, only hit/,
    ],
    ['nothing at all', one, { lines: readLines('hit=') }, /all lines are left out/],
    [
      'another length',
      one,
      { lines: snare, pattern: 'short' },
      /it has 4 steps, 4 per quarter, and the bar that goes into it 16 steps/,
    ],
    [
      'several bars for one pattern',
      hits(['x--- x---', 'xx-- x---']),
      { lines: snare, pattern: 'new' },
      /2 patterns, bar-1, bar-2\. Say by --bar/,
    ],
    ['a bar that is not', one, { lines: snare, bar: 2 }, /--bar 2: the music has 1 bar\./],
    ['another rhythm', one, { lines: snare, rhythm: 'drum' }, /a rhythm of .* was expected: drums/],
    ['a name that is none', one, { lines: snare, pattern: 'a b' }, /a b/],
    [
      'a line with a chance',
      one,
      { lines: snare, pattern: 'maybe' },
      /its line snare says chance of the strokes/,
    ],
    [
      'a pattern that is there',
      one,
      { lines: snare, bar: 1 },
      /it has bar-1 already\. To write over one, name it: --pattern bar-1/,
    ],
  ])('refuses %s', (_, music, request, message) => {
    const others =
      'short: { kick: "x---" }\n      maybe: { snare: { steps: "x--- x--- x--- x---", chance: 50 % } }\n      bar-1: { kick: "x---" }';
    const path = file(PATCH.replace('fill: {', `${others}\n      fill: {`));
    expect(refusal(music, { file: path, ...request })).toMatch(message);
  });

  it('refuses two lines on one channel, a patch without a rhythm, and one whose rhythm is in a part', () => {
    const music: Music = {
      ...one,
      lines: [
        { name: 'rim', note: 38 },
        { name: 'snare', note: 40 },
      ],
    };
    expect(refusal(music, { file: file(PATCH) })).toMatch(/both rim and snare would be snare/);
    expect(refusal(one, { file: file('modules:\n  out: { kind: output }\n') })).toMatch(
      /no rhythm/,
    );
    copyFileSync(file(PATCH), join(folder, 'beat.yaml'));
    const whole = file('parts: { beat: beat.yaml }\nmodules:\n  main: { kind: output }\n');
    expect(refusal(one, { file: whole, lines: snare })).toMatch(
      /beat\.drums stands in .*beat\.yaml|output/,
    );
    const two = PATCH.replace(
      '  out:',
      '  more: { kind: rhythm, channels: [a], patterns: { b: { a: "x" } } }\n  out:',
    );
    expect(refusal(one, { file: file(two), lines: snare })).toMatch(/several rhythms: drums, more/);
  });

  it.each(['hit', '=snare', 'hit=a=b', 'hit=a,hit=b', ''])('cannot read the lines %j', (text) => {
    expect(() => readLines(text)).toThrow(/expected/);
  });

  it('finds the channel of a note, and the only one for the only line', () => {
    const path = file(PATCH);
    into({ ...one, lines: [{ name: 'hand-drum', note: 38 }] }, { file: path, pattern: 'a' });
    expect(rhythmIn(path).patterns.find(({ name }) => name === 'a')?.lines[0]?.channel).toBe(1);
    const lone = PATCH.replace('[kick, snare]', '[kick]')
      .replace(/ {8}snare.*\n/, '')
      .replace(/ {6}fill.*\n/, '')
      .replace(/ {4}song.*\n/, '');
    const other = file(lone);
    into(one, { file: other, pattern: 'a' });
    expect(rhythmIn(other).patterns.map(({ name }) => name)).toEqual(['groove', 'a']);
  });
});
