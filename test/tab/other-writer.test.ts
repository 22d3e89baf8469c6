// MIDI files by an independent writer (midi-file), of every form that one may have: the strokes that come out,
// played by a rhythm, are at the times that the file's own tempos give, worked out here in plain sums.
// Source of the forms: Standard MIDI Files 1.0 (RP-001), from memory.

import fc from 'fast-check';
import { type MidiData, type MidiEvent, writeMidi } from 'midi-file';
import { describe, expect, it } from 'vitest';
import { KINDS } from '../../src/modules/kinds.ts';
import { readPatch } from '../../src/patch/read.ts';
import { fragment } from '../../src/tab/fragment.ts';
import { midiMusic } from '../../src/tab/midi-music.ts';
import { MidiReadError, readMidi } from '../../src/tab/midi-reader.ts';
import { TabError, transcribe } from '../../src/tab/transcribe.ts';
import { rhythmSettings } from '../../src/timing/rhythm.ts';
import { songSeconds } from '../../src/timing/song.ts';
import { close } from '../close.ts';
import { runs } from '../runs.ts';
import { played } from './played.ts';

interface Hit {
  readonly bar: number;
  /** Sixteenths. */
  readonly step: number;
  readonly note: 36 | 38 | 42;
  readonly velocity: 30 | 90 | 127;
}

/** What a tick is: so many a quarter note, or parts of a frame of film. */
type Division = { readonly quarter: number } | { readonly frames: number; readonly parts: number };

const hit: fc.Arbitrary<Hit> = fc.record({
  bar: fc.nat(3),
  step: fc.nat(15),
  note: fc.constantFrom(36, 38, 42),
  velocity: fc.constantFrom(30, 90, 127),
});
const song = fc.record({
  hits: fc.uniqueArray(hit, {
    minLength: 3,
    maxLength: 24,
    selector: ({ bar, step, note }) => `${bar} ${step} ${note}`,
  }),
  /** By bar, bpm. */
  tempos: fc.array(fc.integer({ min: 50, max: 220 }), { minLength: 4, maxLength: 4 }),
  format: fc.constantFrom<0 | 1>(0, 1),
  running: fc.boolean(),
  channel: fc.constantFrom(1, 3, 10, 16),
  /** A tune on another channel. */
  others: fc.boolean(),
  division: fc.constantFrom<Division>(
    { quarter: 96 },
    { quarter: 480 },
    { quarter: 1000 },
    { frames: 24, parts: 80 },
    { frames: 25, parts: 40 },
    { frames: 29, parts: 100 },
    { frames: 30, parts: 80 },
  ),
});

const NAMES = { 36: 'kick', 38: 'snare', 42: 'closed-hat' };
const STRENGTHS = { 30: 'ghost', 90: 'plain', 127: 'accent' };

/** Events of a track by their ticks, as the writer wants them. */
function track(events: readonly (readonly [tick: number, event: MidiEvent])[]): MidiEvent[] {
  let now = 0;
  const sorted = events.toSorted(([a], [b]) => a - b);
  return [
    ...sorted.map(([tick, event]): MidiEvent => {
      const deltaTime = tick - now;
      now = tick;
      return { ...event, deltaTime };
    }),
    { deltaTime: 0, type: 'endOfTrack' },
  ];
}

describe('a file by another writer', () => {
  it('is played at its own times, whatever its format, its tempos and its channels', () => {
    fc.assert(
      fc.property(song, ({ hits, tempos, format, running, channel, others, division }) => {
        const micros = tempos.map((bpm) => Math.round(60e6 / bpm));
        const quarters = micros.map((one) => one / 1e6);
        /** s, of a sixteenth of a bar. */
        const secondsAt = (bar: number, step: number): number =>
          quarters.slice(0, bar).reduce((sum, one) => sum + 4 * one, 0) +
          (step * (quarters[bar] as number)) / 4;
        // 29 frames are those of drop-frame time code: 30 in 1.001 s.
        const rate =
          'frames' in division
            ? (division.frames === 29 ? 30 / 1.001 : division.frames) * division.parts
            : 0;
        const tickAt = (bar: number, step: number): number =>
          'quarter' in division
            ? (4 * bar + step / 4) * division.quarter
            : Math.round(secondsAt(bar, step) * rate);
        const on = (of: number, noteNumber: number, velocity: number): MidiEvent => ({
          deltaTime: 0,
          type: 'noteOn',
          channel: of - 1,
          noteNumber,
          velocity,
        });
        const conductor = micros.map((microsecondsPerBeat, bar) => {
          const event: MidiEvent = { deltaTime: 0, type: 'setTempo', microsecondsPerBeat };
          return [tickAt(bar, 0), event] as const;
        });
        const drums = hits.map(
          ({ bar, step, note, velocity }) =>
            [tickAt(bar, step), on(channel, note, velocity)] as const,
        );
        const tune = others ? [[tickAt(1, 3), on(channel === 3 ? 5 : 3, 60, 100)] as const] : [];
        const tracks =
          format === 0
            ? [track([...conductor, ...drums, ...tune])]
            : [conductor, drums, tune].map(track);
        const header: MidiData['header'] = {
          format,
          numTracks: tracks.length,
          ...('quarter' in division
            ? { ticksPerBeat: division.quarter }
            : { framesPerSecond: division.frames, ticksPerFrame: division.parts }),
        };
        const bytes = Uint8Array.from(writeMidi({ header, tracks }, { running }));

        const music = midiMusic(readMidi(bytes), { accent: 112, ghost: 50, channel });
        const tab = transcribe(music);
        expect(tab.misfits).toEqual([]);
        expect(tab.uneven).toEqual([]);
        const { lines, beatsPerBar } = music;
        const text = fragment({ tab, lines, beatsPerBar, source: 'song.mid', module: 'drums' });
        const { patch, problems } = readPatch(`${text}  out: { kind: output }\n`, {
          file: 'song.yaml',
          kinds: KINDS,
        });
        if (patch === undefined) throw new Error(problems.map(({ message }) => message).join('\n'));
        const wanted = hits
          .map(({ bar, step, note, velocity }) => ({
            channel: NAMES[note],
            time: secondsAt(bar, step),
            strength: STRENGTHS[velocity],
          }))
          .sort((a, b) =>
            a.channel < b.channel ? -1 : a.channel > b.channel ? 1 : a.time - b.time,
          );
        const heard = played(patch, songSeconds(rhythmSettings(patch.modules[0]?.settings ?? {})));
        expect(heard.map(({ channel, strength }) => [channel, strength])).toEqual(
          wanted.map(({ channel, strength }) => [channel, strength]),
        );
        for (const [index, { time }] of wanted.entries())
          close(heard[index]?.time ?? Number.NaN, time, {
            abs: 0.001,
            unit: 's',
            why: 'a tick of film is up to 1 ms, and a tempo is written in six decimals',
          });
      }),
      runs(40),
    );
  });
});

/** Events of any size: bars of a 64th to 255 quarters, tempos of 4 to 999 bpm, far apart or together. */
const event: fc.Arbitrary<MidiEvent> = fc
  .tuple(
    fc.oneof(fc.constantFrom(0, 1, 24, 96), fc.nat(400), fc.nat(2 ** 14), fc.nat(2 ** 20)),
    fc.oneof(
      {
        weight: 4,
        arbitrary: fc.tuple(fc.constant<'noteOn'>('noteOn'), fc.integer({ min: 30, max: 60 })),
      },
      fc.tuple(fc.constant<'setTempo'>('setTempo'), fc.integer({ min: 60_061, max: 2 ** 24 - 1 })),
      fc.tuple(fc.constant<'timeSignature'>('timeSignature'), fc.integer({ min: 1, max: 255 })),
      fc.tuple(fc.constant<'marker'>('marker'), fc.nat(3)),
      fc.tuple(fc.constant<'trackName'>('trackName'), fc.nat(3)),
    ),
  )
  .map(([deltaTime, [type, value]]): MidiEvent => {
    if (type === 'noteOn')
      return {
        deltaTime,
        type,
        channel: value % 3 === 0 ? 9 : 1,
        noteNumber: value,
        velocity: value,
      };
    if (type === 'setTempo') return { deltaTime, type, microsecondsPerBeat: value };
    if (type === 'timeSignature')
      return {
        deltaTime,
        type,
        numerator: value,
        denominator: 2 ** (value % 7),
        metronome: 24,
        thirtyseconds: 8,
      };
    return { deltaTime, type, text: ['', 'clock', 'a\u0001b', 'x'.repeat(50)][value] as string };
  });
const change = fc.record({
  at: fc.nat(),
  byte: fc.nat(255),
  how: fc.constantFrom('is', 'in', 'out'),
});

describe('a file of any content, with some bytes of it changed, put in or left out', () => {
  it('gives tab that a patch takes, or is refused with what is wrong', () => {
    fc.assert(
      fc.property(
        fc.array(fc.array(event, { maxLength: 25 }), { minLength: 1, maxLength: 3 }),
        fc.constantFrom(1, 24, 96, 960, 32_767),
        fc.array(change, { maxLength: 3 }),
        (events, ticksPerBeat, changes) => {
          const tracks = events.map((own): MidiEvent[] => [
            ...own,
            { deltaTime: 0, type: 'endOfTrack' },
          ]);
          const header = { format: 1 as const, numTracks: tracks.length, ticksPerBeat };
          const bytes: number[] = writeMidi({ header, tracks });
          for (const { at, byte, how } of changes)
            bytes.splice(at % bytes.length, how === 'in' ? 0 : 1, ...(how === 'out' ? [] : [byte]));
          try {
            const music = midiMusic(readMidi(Uint8Array.from(bytes), 120), {
              accent: 112,
              ghost: 50,
            });
            const { lines, beatsPerBar } = music;
            const tab = transcribe(music);
            const text = fragment({ tab, lines, beatsPerBar, source: 'any.mid', module: 'drums' });
            const { problems } = readPatch(text, { file: 'any.yaml', kinds: KINDS });
            expect(problems.map(({ message }) => message)).toEqual([]);
          } catch (error) {
            if (error instanceof TabError) return;
            if (!(error instanceof MidiReadError)) throw error;
            // What is wrong with the whole of it has no place in it.
            expect(error.message).toMatch(error.byte === 0 ? /^[a-z].*\.$/ : /^byte \d+: ./);
          }
        },
      ),
      runs(25),
    );
  });
});

it('says on which channels there are notes, where the one that is asked for has none', () => {
  const track: MidiEvent[] = [12, 2, 12].flatMap((channel) => [
    { deltaTime: 0, type: 'noteOn', channel, noteNumber: 36, velocity: 90 } as const,
    { deltaTime: 24, type: 'noteOff', channel, noteNumber: 36, velocity: 0 } as const,
  ]);
  track.push({ deltaTime: 0, type: 'endOfTrack' });
  const header = { format: 0 as const, numTracks: 1, ticksPerBeat: 96 };
  const content = readMidi(Uint8Array.from(writeMidi({ header, tracks: [track] })));
  // Files count channels from 0, people from 1.
  expect(() => midiMusic(content, { accent: 112, ghost: 50, channel: 10 })).toThrow(
    'no notes are on channel 10: they are on 3, 13.',
  );
});

it('says what is shorter than any step, and how it is written', () => {
  const note = { type: 'noteOn', channel: 9, noteNumber: 36, velocity: 90 } as const;
  const bar = {
    type: 'timeSignature',
    numerator: 4,
    denominator: 4,
    metronome: 24,
    thirtyseconds: 8,
  } as const;
  const events: MidiEvent[] = [
    { deltaTime: 0, ...note },
    { deltaTime: 3, ...bar },
    { deltaTime: 960, ...note },
    { deltaTime: 0, type: 'endOfTrack' },
  ];
  const header = { format: 0 as const, numTracks: 1, ticksPerBeat: 960 };
  const bytes = Uint8Array.from(writeMidi({ header, tracks: [events] }));
  // 3 of 960 ticks; a pattern has at most 96 steps a quarter note.
  expect(transcribe(midiMusic(readMidi(bytes), { accent: 112, ghost: 50 })).uneven).toEqual([
    'bar 1: 0.00313 quarter notes of it are no whole steps, and are written as 0.0104: what follows comes that much later.',
  ]);
});
