// Which notes, which MIDI channels and which tracks a MIDI file has, read back by the midi-file package.

import { type MidiData, parseMidi } from 'midi-file';
import { describe, expect, it } from 'vitest';
import { midiChoices, sameNotes } from '../../../src/cli/reports/midi-choices.ts';
import { midiFile } from '../../../src/output/score/midi-file.ts';
import { patchFrom } from '../../patch-of.ts';

const MELODY = patchFrom(`title: Melody
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [kick, snare, hat], patterns: { p: { kick: "x---x---", snare: "--X-", hat: "xgxf" } } }
  walk: { kind: step-sequencer, rows: { pitch: [0 V, 1 V], high: [2 V, 3 V] } }
  tone: { kind: oscillator }
  other: { kind: oscillator }
  out: { kind: output }
cables:
  - drums.clock -> walk.clock
  - walk.pitch -> tone.pitch
  - walk.high -> other.pitch
  - tone.saw -> out.left
  - other.saw -> out.right
`);

interface Found {
  readonly name: string;
  readonly notes: readonly number[];
  /** From 1. */
  readonly channels: readonly number[];
}

function tracksOf(midi: MidiData): readonly Found[] {
  return midi.tracks.slice(1).map((track) => {
    const on = track.flatMap((event) => (event.type === 'noteOn' ? [event] : []));
    const [name = ''] = track.flatMap((event) => (event.type === 'trackName' ? [event.text] : []));
    // Every note ends, on its own channel.
    const off = track.flatMap((event) => (event.type === 'noteOff' ? [event] : []));
    expect(off.map(({ noteNumber, channel }) => [noteNumber, channel])).toEqual(
      on.map(({ noteNumber, channel }) => [noteNumber, channel]),
    );
    return {
      name,
      notes: [...new Set(on.map(({ noteNumber }) => noteNumber))].sort((a, b) => a - b),
      channels: [...new Set(on.map(({ channel }) => channel + 1))],
    };
  });
}

function made(words: Parameters<typeof midiChoices>[1] = {}): readonly Found[] {
  return tracksOf(parseMidi(midiFile(MELODY, 4, midiChoices(MELODY, words)).bytes));
}

describe('the notes of a MIDI file', () => {
  it('are as usual where nothing is chosen: percussion on 10, each row on a track and a channel', () => {
    // General MIDI Level 1: kick 36, snare 38, closed hat 42. 0 V is C2, 36; an octave is 12.
    expect(made()).toEqual([
      { name: 'kick', notes: [36], channels: [10] },
      { name: 'snare', notes: [38], channels: [10] },
      { name: 'hat', notes: [42], channels: [10] },
      { name: 'walk.pitch', notes: [36, 48], channels: [1] },
      { name: 'walk.high', notes: [60, 72], channels: [2] },
    ]);
  });

  it('are those chosen, by a name or a whole name', () => {
    const found = made({
      note: ['snare=38', 'drums.hat=0'],
      channel: ['snare=1', 'walk.high=16'],
      without: ['drums.kick'],
    });
    expect(found).toEqual([
      { name: 'snare', notes: [38], channels: [1] },
      { name: 'hat', notes: [0], channels: [10] },
      // Channel 1 is the snare's now.
      { name: 'walk.pitch', notes: [36, 48], channels: [2] },
      { name: 'walk.high', notes: [60, 72], channels: [16] },
    ]);
  });

  it('of a row that is left out go, and the others keep their channels', () => {
    expect(made({ without: ['walk.pitch', 'kick', 'snare', 'hat'] })).toEqual([
      { name: 'walk.high', notes: [60, 72], channels: [2] },
    ]);
  });

  it.each([
    [{ note: ['kick=35'], without: ['drums.kick'] }, /leaves out drums\.kick, and --note chooses/],
    [{ channel: ['walk.high=2'], without: ['walk.high'] }, /and --channel chooses for it/],
    [
      { without: ['kick', 'snare', 'hat', 'walk.pitch', 'walk.high'] },
      /all channels and rows are left out/,
    ],
    [{ note: ['kcik=36'] }, /--note kcik: there is no such channel\. Did you mean kick\?/],
    [{ note: ['kick=128'] }, /a whole number from 0 to 127/],
    [{ note: ['kick'] }, /a whole number from 0 to 127/],
    [{ note: ['kick=-1'] }, /a whole number from 0 to 127/],
    [{ note: ['walk.pitch=40'] }, /no such channel/],
    [{ channel: ['kick=0'] }, /a whole number from 1 to 16/],
    [{ channel: ['kick=17'] }, /a whole number from 1 to 16/],
    [{ channel: ['walk.bright=3'] }, /no such channel or row/],
    [{ without: ['drums'] }, /no such channel or row/],
    [{ note: ['kick=36', 'drums.kick=37'] }, /drums\.kick is there twice/],
  ])('are refused for %j', (words, message) => {
    expect(() => midiChoices(MELODY, words)).toThrow(message);
  });

  it('are asked for by the whole name where two rhythms have it', () => {
    const two = patchFrom(`modules:
  a: { kind: rhythm, channels: [kick], patterns: { p: { kick: x } } }
  b: { kind: rhythm, channels: [kick], patterns: { p: { kick: x } } }
  out: { kind: output }
`);
    expect(() => midiChoices(two, { note: ['kick=40'] })).toThrow(/a\.kick or b\.kick/);
    expect([...midiChoices(two, { note: ['b.kick=40'] }).notes]).toEqual([['b.kick', 40]]);
  });
});

describe('notes that cannot be told apart', () => {
  it('are told of, on one MIDI channel alone', () => {
    const [kick, tom] = [
      { jack: 'drums.kick', note: 36, channel: 10 },
      { jack: 'drums.tom', note: 36, channel: 10 },
    ] as const;
    expect(sameNotes([kick, tom])).toEqual([
      expect.stringMatching(/^drums\.kick and drums\.tom are both note 36 on channel 10: /),
    ]);
    expect(sameNotes([kick, { ...tom, channel: 9 }])).toEqual([]);
    expect(sameNotes([kick, { ...tom, note: 45 }])).toEqual([]);
  });
});
