// MIDI files broken in every way, and files by the midi-file package, an independent writer.
// Source of the structure: Standard MIDI Files 1.0 (RP-001), from memory.

import fc from 'fast-check';
import { type MidiData, writeMidi } from 'midi-file';
import { describe, expect, it } from 'vitest';
import { midiMusic } from '../../src/tab/midi-music.ts';
import { MidiReadError, readMidi } from '../../src/tab/midi-reader.ts';
import { TabError, transcribe } from '../../src/tab/transcribe.ts';
import { close } from '../close.ts';
import { runs } from '../runs.ts';

const CHOICE = { accent: 112, ghost: 50 };
const TICKS = 480;

/** A file of notes at quarters, each so many quarters long, with an end that waits so long after them. */
function written(
  notes: readonly { readonly at: number; readonly velocity?: number; readonly note?: number }[],
  { running = false, format = 0 as 0 | 1, lasts = 0, wait = 0 } = {},
): Uint8Array {
  let now = 0;
  const track: MidiData['tracks'][number] = [
    { deltaTime: 0, type: 'setTempo', microsecondsPerBeat: 500_000 },
    {
      deltaTime: 0,
      type: 'timeSignature',
      numerator: 3,
      denominator: 4,
      metronome: 24,
      thirtyseconds: 8,
    },
  ];
  for (const { at, velocity = 90, note = 36 } of notes) {
    const tick = Math.round(at * TICKS);
    track.push({ deltaTime: tick - now, type: 'noteOn', channel: 9, noteNumber: note, velocity });
    const length = Math.round(lasts * TICKS);
    track.push({ deltaTime: length, type: 'noteOff', channel: 9, noteNumber: note, velocity: 0 });
    now = tick + length;
  }
  track.push({ deltaTime: Math.round(wait * TICKS), type: 'endOfTrack' });
  const header = { format, numTracks: 1, ticksPerBeat: TICKS };
  return Uint8Array.from(
    writeMidi({ header, tracks: [track] }, { running, useByte9ForNoteOff: running }),
  );
}

const GOOD = written([{ at: 0, velocity: 127 }, { at: 1 }, { at: 1.5, velocity: 40 }, { at: 3 }]);

function changed(at: number, ...bytes: readonly number[]): Uint8Array {
  const copy = GOOD.slice();
  copy.set(bytes, at);
  return copy;
}

function tabOf(bytes: Uint8Array) {
  const music = midiMusic(readMidi(bytes), CHOICE);
  return { music, tab: transcribe(music) };
}

function signs(bytes: Uint8Array): readonly (readonly string[])[] {
  return tabOf(bytes).tab.patterns.map(({ lines }) =>
    lines.map(({ steps }) => steps.map((step) => step?.strength[0] ?? '-').join('')),
  );
}

describe('a MIDI file by another writer', () => {
  it.each([
    ['as it is', {}],
    ['with running status', { running: true }],
    ['of format 1', { format: 1 as const }],
  ])('%s gives bars of its own metre, accents and ghost strokes', (_title, how) => {
    const notes = [{ at: 0, velocity: 127 }, { at: 1 }, { at: 1.5, velocity: 40 }, { at: 3 }];
    expect(signs(written(notes, how))).toEqual([['a---p-g-----'], ['p-----------'.slice(0, 12)]]);
    expect(tabOf(written(notes, how)).music.beatsPerBar).toBe(3);
  });

  // Source: the end of a track is there "so that an exact ending point may be specified" (RP-001, from
  // memory); that writers put it at the last note, unless told otherwise, is common practice.
  it.each([
    ['ends with its last note is whole', 0, 12],
    ['waits for its end is as long as that', 0.25, 8],
  ])('whose last bar %s', (_title, wait, length) => {
    const notes = [{ at: 0 }, { at: 1 }, { at: 2 }, { at: 3 }, { at: 4.5 }];
    const [, last = []] = signs(written(notes, { lasts: 0.25, wait }));
    expect(last).toEqual([`p-----p-----`.slice(0, length)]);
  });

  it('finds the swing of off-steps', () => {
    // Sixteenths whose off-steps come at 60 % of the pair: 0.3 of a quarter.
    const notes = [0, 0.3, 0.5, 0.8, 1, 1.3, 1.5, 1.8, 2].map((at) => ({ at }));
    const { tab } = tabOf(written(notes));
    expect(tab.patterns[0]).toMatchObject({ stepsPerQuarter: 4, share: 0.6 });
    expect(tab.misfits).toEqual([]);
  });

  it('takes a soft stroke 20 ms before another for the grace stroke of a flam', () => {
    const { tab } = tabOf(written([{ at: 0 }, { at: 0.96, velocity: 55 }, { at: 1 }]));
    const [line] = tab.patterns[0]?.lines ?? [];
    expect(line?.steps.map((step) => step?.flam)).toEqual([
      undefined,
      undefined,
      undefined,
      undefined,
      0.02,
      ...Array(7).fill(undefined),
    ]);
  });

  it('puts strokes of a hand on the nearest steps and lists by bar and beat what is far off', () => {
    const late = [0, 4, -6, 3, 8, -5, 2, 40, -3, 5, 1, -7];
    const notes = late.map((ms, index) => ({ at: Math.max(0, index / 2 + (ms * 2) / 1000) }));
    const { tab } = tabOf(written(notes));
    expect(tab.patterns[0]?.stepsPerQuarter).toBeLessThanOrEqual(4);
    expect(tab.misfits).toHaveLength(1);
    // The eighth stroke: 3.58 quarters from the start, in the second bar of three.
    expect(tab.misfits[0]).toMatchObject({ line: 'kick', bar: 2 });
    close(tab.misfits[0]?.beat, 1.58, {
      abs: 0.05,
      unit: 'beats',
      why: 'near enough to be found in the score',
    });
    close(tab.misfits[0]?.late, 0.04, { abs: 0.005, unit: 's', why: 'told to some milliseconds' });
    // Of the others the fifth is 8 ms late.
    close(tab.off, 0.008, { abs: 0.005, unit: 's', why: 'told to some milliseconds' });
  });
});

describe('a broken MIDI file is refused with the byte', () => {
  const TRACK = 14;
  it.each([
    ['nothing', new Uint8Array(0), 0, 'not a MIDI file'],
    ['text', new TextEncoder().encode('modules: {}'), 0, 'not a MIDI file'],
    ['a short header', changed(7, 2), 4, 'at least 6'],
    ['format 2', changed(9, 2), 8, 'format 2'],
    ['no tracks', changed(11, 0), 10, 'no tracks'],
    ['two tracks in format 0', changed(11, 2), 10, 'one track'],
    ['26 frames of film', changed(12, 0xe6, 40), 12, '26 are a second'],
    ['frames of film of no ticks', changed(12, 0xe7, 0), 12, '0 ticks each'],
    [
      'frames of film without a tempo',
      Uint8Array.from(changed(12, 0xe7, 40), (byte, at) => (at === TRACK + 10 ? 0x7f : byte)),
      12,
      '--tempo',
    ],
    ['a quarter of 0 ticks', changed(12, 0, 0), 12, '0 ticks'],
    ['fewer tracks than said', changed(9, 1, 0, 9), GOOD.length, '1 of the 9'],
    ['a track that is too long', changed(TRACK + 4, 0x7f), TRACK + 4, 'only'],
    ['an endless number', changed(TRACK + 8, 0xff, 0xff, 0xff, 0xff), TRACK + 8, 'four bytes'],
    ['a data byte first', changed(TRACK + 9, 0x40), TRACK + 9, 'none to repeat'],
    ['an event of the cable', changed(TRACK + 9, 0xf8), TRACK + 9, '0xF8'],
    ['too fast a tempo', changed(TRACK + 12, 0, 0, 1), TRACK + 9, 'faster'],
  ])('%s', (_title, bytes, byte, message) => {
    let caught: unknown;
    try {
      readMidi(bytes);
    } catch (error) {
      caught = error;
    }
    expect(caught).toBeInstanceOf(MidiReadError);
    expect((caught as MidiReadError).byte).toBe(byte);
    expect((caught as MidiReadError).message).toContain(message);
  });

  it('wherever it is cut off', () => {
    for (let length = 0; length < GOOD.length; length++)
      expect(() => readMidi(GOOD.slice(0, length))).toThrow(MidiReadError);
  });

  it('or read, but never anything else, whatever bytes are changed', () => {
    const change = fc.tuple(fc.nat(GOOD.length - 1), fc.nat(255));
    fc.assert(
      fc.property(fc.array(change, { minLength: 1, maxLength: 4 }), (changes) => {
        const bytes = GOOD.slice();
        for (const [at, value] of changes) bytes[at] = value;
        try {
          tabOf(bytes);
        } catch (error) {
          if (!(error instanceof MidiReadError || error instanceof TabError)) throw error;
          expect(error.message).not.toBe('');
        }
      }),
      runs(300),
    );
  });
});

// SMF 1.0 (RP-001, from memory): a reader passes over chunks of types that it does not know. What is no chunk, and
// tracks that the header does not count, may be music, so each is told with its byte.
describe('what a MIDI file holds beside the tracks of its header', () => {
  const remarksOf = (bytes: Uint8Array): readonly string[] =>
    midiMusic(readMidi(bytes), CHOICE).remarks;
  const joined = (...parts: readonly (readonly number[] | Uint8Array)[]): Uint8Array =>
    Uint8Array.from(parts.flatMap((part) => [...part]));
  const chunk = (type: string, ...data: readonly number[]): number[] => [
    ...new TextEncoder().encode(type),
    ...[0, 0, 0, data.length],
    ...data,
  ];
  const END = GOOD.length;

  it('is passed over where it is a chunk of another type, before a track or after all', () => {
    expect(remarksOf(joined(GOOD, chunk('XFIH', 1, 2, 3)))).toEqual([]);
    const between = joined(GOOD.slice(0, 14), chunk('XFKM', 1, 2), GOOD.slice(14));
    expect(remarksOf(between)).toEqual([]);
    expect(readMidi(between).notes).toEqual(readMidi(GOOD).notes);
  });

  it.each([
    ['three bytes', [1, 2, 3], `byte ${END}: 3 bytes after the last track are no chunk`],
    ['zeros', new Array(20).fill(0), `byte ${END}: 20 bytes after`],
    ['a chunk that is cut off', chunk('XFIH', 1, 2, 3).slice(0, -1), `byte ${END}: 10 bytes after`],
    [
      'junk behind a chunk',
      [...chunk('XFIH', 1), 7, 7],
      `byte ${END + 9}: 2 bytes after the last track`,
    ],
    ['a track too many', GOOD.slice(14), `byte ${END}: 1 track more than the 1`],
    [
      'tracks too many around a chunk',
      [...GOOD.slice(14), ...chunk('XFIH', 1), ...GOOD.slice(14)],
      `byte ${END}: 2 tracks more than the 1`,
    ],
  ])('is told with its byte: %s', (_, rest, words) => {
    const bytes = joined(GOOD, rest);
    const remarks = remarksOf(bytes);
    expect(remarks).toHaveLength(1);
    expect(remarks[0]).toContain(words);
    expect(readMidi(bytes).notes).toEqual(readMidi(GOOD).notes);
  });

  it('is told where events follow the end of a track within it', () => {
    const note = [0, 0x99, 40, 100];
    const bytes = joined(GOOD, note);
    bytes[21] = (bytes[21] as number) + note.length;
    expect(remarksOf(bytes)).toEqual([`byte ${END}: 4 bytes after the end of track 1, left out.`]);
  });

  it('is told or refused, whichever length in it is off', () => {
    // The second byte of each length, so that the chunk stays within the file or does not.
    for (const at of [7, 21])
      for (const off of [-5, -4, -2, -1, 1, 2, 4, 5]) {
        const bytes = GOOD.slice();
        bytes[at] = (bytes[at] as number) + off;
        let remarks: readonly string[] = [];
        try {
          remarks = remarksOf(bytes);
        } catch (error) {
          expect(error).toBeInstanceOf(MidiReadError);
          continue;
        }
        expect(remarks.length, `${off} at ${at}`).toBeGreaterThan(0);
      }
  });
});
