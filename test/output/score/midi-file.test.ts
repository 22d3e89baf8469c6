// MIDI files read back by the midi-file package, an independent reader, and by hand where it is lax.
// Source of the structure: Standard MIDI Files 1.0 (RP-001), from memory; times are sums of 60 / bpm.

import { type MidiData, type MidiEvent, parseMidi } from 'midi-file';
import { describe, expect, it } from 'vitest';
import { MidiError } from '../../../src/output/score/midi-bytes.ts';
import { midiFile, VELOCITY } from '../../../src/output/score/midi-file.ts';
import { notesOf } from '../../../src/output/score/midi-notes.ts';
import { strokes } from '../../../src/timing/edges.ts';
import { rhythmSettings } from '../../../src/timing/rhythm.ts';
import { songSeconds } from '../../../src/timing/song.ts';
import { close } from '../../close.ts';
import { patchFrom } from '../../patch-of.ts';

const OUT = '  out: { kind: output }\n';
const SONG = `title: Song
modules:
  drums:
    kind: rhythm
    tempo: 92 bpm
    swing: 58 %
    count-in: 1
    channels: [kick, snare, hat, thing]
    notes: { snare: 40 }
    gate: 50 %
    patterns:
      a: { kick: "X---x---X-x-x---", snare: "f---", hat: "x-?4x", thing: "x-------" }
      b: { from: a, tempo: 133.37 bpm, steps-per-quarter: 3, length: 9, hat: "xxxf--xxX", swing: 50 % }
    song: [a, { pattern: b, repeats: 2 }, a, { pattern: a, tempo: 60 bpm }]
${OUT}`;

interface Note {
  readonly tick: number;
  readonly off: number;
  readonly note: number;
  readonly velocity: number;
}

function read(text: string, seconds?: number): { midi: MidiData; division: number } {
  const patch = patchFrom(text);
  const [drums] = patch.modules;
  const all = songSeconds(rhythmSettings(drums?.settings ?? {}));
  const midi = parseMidi(midiFile(patch, seconds ?? all).bytes);
  return { midi, division: midi.header.ticksPerBeat as number };
}

function at(track: readonly MidiEvent[]): { tick: number; event: MidiEvent }[] {
  let tick = 0;
  return track.map((event) => {
    tick += event.deltaTime;
    return { tick, event };
  });
}

function notes(track: readonly MidiEvent[]): Note[] {
  const found: Note[] = [];
  const on = new Map<number, { tick: number; velocity: number }>();
  for (const { tick, event } of at(track)) {
    if (event.type === 'noteOn') on.set(event.noteNumber, { tick, velocity: event.velocity });
    if (event.type !== 'noteOff') continue;
    const start = on.get(event.noteNumber);
    if (start === undefined) throw new Error('a note ends that has not begun');
    found.push({ ...start, off: tick, note: event.noteNumber });
    on.delete(event.noteNumber);
  }
  if (on.size > 0) throw new Error('a note does not end');
  return found;
}

/** Seconds of a tick, by the file's own tempos alone. */
function clockOf({ midi, division }: ReturnType<typeof read>): (tick: number) => number {
  const tempos = at(midi.tracks[0] ?? []).flatMap(({ tick, event }) =>
    event.type === 'setTempo' ? [{ tick, micros: event.microsecondsPerBeat }] : [],
  );
  return (tick) =>
    tempos.reduce((sum, tempo, i) => {
      const to = Math.min(tick, tempos[i + 1]?.tick ?? tick);
      return to > tempo.tick ? sum + ((to - tempo.tick) / division) * tempo.micros * 1e-6 : sum;
    }, 0);
}

describe('the MIDI file', () => {
  const file = read(SONG);
  const { midi, division } = file;

  it('is of type 1: a track of tempos, then a named track a channel', () => {
    expect(midi.header.format).toBe(1);
    expect(midi.tracks).toHaveLength(5);
    const names = midi.tracks.map((track) =>
      track.flatMap((event) => (event.type === 'trackName' ? [event.text] : [])),
    );
    expect(names).toEqual([['Song'], ['kick'], ['snare'], ['hat'], ['thing']]);
    for (const track of midi.tracks) expect(track.at(-1)?.type).toBe('endOfTrack');
  });

  it('counts whole ticks for every straight step of every pattern', () => {
    expect(division % 4).toBe(0);
    expect(division % 3).toBe(0);
    expect(division).toBeGreaterThanOrEqual(960);
  });

  it('has 60 000 000 / tempo microseconds a quarter, at the first step of each pattern', () => {
    const tempos = at(midi.tracks[0] ?? []).flatMap(({ tick, event }) =>
      event.type === 'setTempo' ? [[tick / division, event.microsecondsPerBeat]] : [],
    );
    // A bar to count in, a pattern of four quarters, two of three, then four at 92 and four at 60.
    expect(tempos).toEqual([
      [0, Math.round(60e6 / 92)],
      [8, Math.round(60e6 / 133.37)],
      [14, Math.round(60e6 / 92)],
      [18, 1_000_000],
    ]);
    const [metre] = (midi.tracks[0] ?? []).filter((event) => event.type === 'timeSignature');
    // 24 MIDI clocks to a quarter note.
    expect(metre).toMatchObject({ numerator: 4, denominator: 4, metronome: 24, thirtyseconds: 8 });
  });

  it('plays every stroke when it is played, to half a tick, and for as long', () => {
    const patch = patchFrom(SONG);
    const settings = rhythmSettings(patch.modules[0]?.settings ?? {});
    const until = songSeconds(settings);
    const next = strokes(settings, {
      sampleRate: 48_000,
      seed: patch.seed,
      module: 'drums',
      until,
    });
    const played: number[][] = settings.channels.map(() => []);
    for (let stroke = next(); stroke !== undefined; stroke = next())
      played[stroke.channel]?.push(stroke.time);
    const clock = clockOf(file);
    const tick = (60 / 60 / division) * 1.01;
    // Half a microsecond in each of some twenty quarters.
    const rounding = 20 * 0.5e-6;
    played.forEach((times, channel) => {
      const found = notes(midi.tracks[channel + 1] ?? []);
      expect(found).toHaveLength(times.length);
      found.forEach(({ tick: on }, i) => {
        close(clock(on), times[i] as number, {
          abs: tick / 2 + rounding,
          unit: 's',
          why: 'half a tick, and rounding',
        });
      });
    });
  });

  it('swings as the pattern does: the off-step at 58 % of its pair', () => {
    const hat = notes(midi.tracks[3] ?? []);
    // Step 3 of the pattern is chance, 4 a ratchet of four that starts on the off-step.
    const start = 4 * division;
    const pair = division / 2;
    const ratchet = start + pair + 0.58 * pair;
    expect(hat.some(({ tick }) => Math.abs(tick - ratchet) <= 0.5)).toBe(true);
  });

  it('has the notes of the patch, those of General MIDI by name, and free ones', () => {
    const numbers = midi.tracks
      .slice(1)
      .map((track) => [...new Set(notes(track).map((n) => n.note))]);
    // General MIDI percussion: 36 bass drum 1, 42 closed hi-hat (from memory).
    expect(numbers).toEqual([[36], [40], [42], [60]]);
    const channels = midi.tracks
      .flat()
      .flatMap((event) => ('channel' in event ? [event.channel] : []));
    // MIDI channel 10, counted from 0.
    expect(new Set(channels)).toEqual(new Set([9]));
  });

  it('has velocities for accents, plain strokes and grace strokes', () => {
    const kick = notes(midi.tracks[1] ?? []).slice(0, 3);
    expect(kick.map(({ velocity }) => velocity)).toEqual([
      VELOCITY.accent,
      VELOCITY.plain,
      VELOCITY.accent,
    ]);
    const [grace, main] = notes(midi.tracks[2] ?? []);
    expect([grace?.velocity, main?.velocity]).toEqual([VELOCITY.grace, VELOCITY.plain]);
    expect(VELOCITY.grace).toBeLessThan(VELOCITY.plain);
    // 22 ms at 92 bpm.
    const apart = ((main?.tick ?? 0) - (grace?.tick ?? 0)) / division;
    close(apart, (0.022 * 92) / 60, {
      abs: 1.01 / division,
      unit: 'quarters',
      why: 'a tick, since both ends are rounded to one',
    });
  });

  it('has three strengths, a ghost stroke the softest', () => {
    const three = read(
      `modules: { drums: { kind: rhythm, channels: [hit], patterns: { a: { hit: "Xxg-" } } } }`,
    ).midi;
    const kick = notes(three.tracks[1] ?? []).map(({ velocity }) => velocity);
    expect(kick.slice(0, 3)).toEqual([VELOCITY.accent, VELOCITY.plain, VELOCITY.ghost]);
    expect(VELOCITY.ghost).toBeLessThan(VELOCITY.plain);
  });

  it('ends a note where the next stroke of its channel begins', () => {
    const joined = read(
      `modules:\n  drums: { kind: rhythm, channels: [a], gate: 300 %, patterns: { p: { a: "xxxx" } } }\n${OUT}`,
    );
    const [first, second] = notes(joined.midi.tracks[1] ?? []);
    expect(first?.off).toBe(second?.tick);
  });

  it('is exact for steps of every number a quarter, and for none', () => {
    for (const steps of [1, 5, 7, 64, 96]) {
      const one = read(
        `modules:\n  drums: { kind: rhythm, tempo: 999 bpm, gate: 10 %, channels: [a], patterns: { p: { steps-per-quarter: ${steps}, length: ${steps}, a: "x" } } }\n${OUT}`,
      );
      const ticks = notes(one.midi.tracks[1] ?? []).map(({ tick }) => tick);
      expect(ticks).toEqual(ticks.map((_, k) => (k * one.division) / steps));
      expect(ticks).toHaveLength(steps);
    }
  });

  it('writes long waits as numbers of several bytes', () => {
    const slow = read(
      `modules:\n  drums: { kind: rhythm, tempo: 4 bpm, channels: [a], patterns: { p: { length: 1024, a: "x---------------------------------------------------------------" } } }\n${OUT}`,
      16 * 1024,
    );
    const ticks = notes(slow.midi.tracks[1] ?? []).map(({ tick }) => tick);
    expect(ticks).toEqual(ticks.map((_, k) => k * 16 * slow.division));
  });

  it('refuses a tempo whose microseconds do not fit in three bytes, and a patch without a rhythm', () => {
    // 60 000 000 / 16 777 215 is 3.576 bpm.
    const slow = `modules:\n  drums: { kind: rhythm, tempo: 3.57 bpm, channels: [a], patterns: { p: { a: x } } }\n${OUT}`;
    expect(() => read(slow)).toThrow(MidiError);
    expect(() => read(slow.replace('3.57', '3.58'))).not.toThrow();
    expect(() => midiFile(patchFrom(`modules:\n${OUT}`), 1)).toThrow(MidiError);
  });
});

describe('a row of a step sequencer', () => {
  // Six eighths a bar and a half: C2, C2, G1, rest on Bb1, C2 and 0.26 V, 12 cents over Eb2.
  const text = (
    cables: string,
    rows = '[C2, C2, G1, Bb1, C2, 0.26 V]',
    song = '[p, p]',
  ) => `title: Rows
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [kick, again], clock: 2 per quarter, gate: 10 ms, patterns: { p: { kick: "x---x---x---x---", again: "---------------x" } }, song: ${song} }
  walk: { kind: step-sequencer, rows: { pitch: ${rows}, bright: [0 V, 1 V] }, gates: "xxx-xx" }
  tone: { kind: oscillator }
  shape: { kind: envelope }
  out: { kind: output }
cables:
  - drums.clock -> walk.clock
  - drums.again -> walk.reset
  - walk.bright -> out.right
  - tone.saw -> out.left
${cables}`;
  const GATED = '  - walk.pitch -> tone.pitch\n  - walk.gate -> shape.trigger\n';
  const rowsOf = (patch: string, seconds = 4) => {
    const made = midiFile(patchFrom(patch), seconds);
    const midi = parseMidi(made.bytes);
    const eighth = (midi.header.ticksPerBeat as number) / 2;
    const tracks = midi.tracks.slice(3);
    return {
      rows: made.rows,
      names: tracks.map((track) =>
        track.flatMap((event) => (event.type === 'trackName' ? [event.text] : [])),
      ),
      channels: tracks.map((track) => [
        ...new Set(track.flatMap((event) => ('channel' in event ? [event.channel] : []))),
      ]),
      notes: tracks.map((track) =>
        notes(track).map(({ tick, off, note }) => [tick / eighth, off / eighth, note]),
      ),
    };
  };

  // 0 V is C2, and MIDI's 60 is C4, middle C: so 36. One volt an octave.
  it('is a track of notes at one volt an octave, each to the next change or gate', () => {
    const { names, notes: found, channels, rows } = rowsOf(text(GATED));
    expect(names).toEqual([['walk.pitch']]);
    expect(channels).toEqual([[0]]);
    const bar = [
      [0, 1, 36],
      [1, 2, 36],
      // The fourth step has no gate: its change ends the note.
      [2, 3, 31],
      [4, 5, 36],
      [5, 6, 39],
      [6, 7, 36],
      [7, 8, 36],
    ];
    // The channel `again` resets it in time for every bar.
    expect(found).toEqual([
      [...bar, ...bar.map(([on = 0, off = 0, note]) => [on + 8, off + 8, note])],
    ]);
    expect(rows).toHaveLength(1);
    expect(rows[0]).toMatchObject({ jack: 'walk.pitch', notes: 14, rounded: 2, beyond: 0 });
    // 0.26 V are 312 cents.
    close(rows[0]?.mostCents, 12, { abs: 5e-7, unit: 'cents', why: 'rounding' });
  });

  it('has a note for each change where no plug is in the gate', () => {
    const { notes: found } = rowsOf(text('  - walk.pitch -> tone.pitch\n'), 2);
    expect(found).toEqual([
      [
        [0, 2, 36],
        [2, 3, 31],
        [3, 4, 34],
        [4, 5, 36],
        [5, 6, 39],
        [6, 8, 36],
      ],
    ]);
  });

  it('is followed through a multiple and a glide, and is none where no pitch follows it', () => {
    const split = text(
      `  - walk.pitch -> split.in\n  - split.out-1 -> tone.pitch\n  - split.out-2 -> out.right\n  - walk.gate -> shape.trigger\n`,
    )
      .replace('  - walk.bright -> out.right\n', '')
      .replace('  shape:', '  split: { kind: multiple }\n  shape:');
    expect(rowsOf(split).notes).toEqual(rowsOf(text(GATED)).notes);
    const glide = text(
      `  - walk.pitch -> lag.in\n  - lag.out -> tone.pitch\n  - walk.gate -> shape.trigger\n`,
    ).replace('  shape:', '  lag: { kind: slew, rise: 50 ms, fall: 50 ms }\n  shape:');
    expect(rowsOf(glide).notes).toEqual(rowsOf(text(GATED)).notes);
    expect(rowsOf(text('  - walk.gate -> shape.trigger\n')).notes).toEqual([]);
  });

  it('leaves out what MIDI has no note for, and says so', () => {
    const { notes: found, rows } = rowsOf(text(GATED, '[C2, 9 V]'), 2);
    expect(rows[0]).toMatchObject({ notes: 4, beyond: 3 });
    expect(new Set(found[0]?.map(([, , note]) => note))).toEqual(new Set([36]));
  });
});

describe('notes by name', () => {
  it('are those of the percussion map, each channel its own where no name tells', () => {
    const channels = ['Closed', 'open-hat', 'BassDrum', 'one', 'two', 'clap'].map((name) => ({
      name,
    }));
    expect(notesOf([...channels, { name: 'x', note: 61 }])).toEqual([42, 46, 36, 60, 62, 39, 61]);
  });

  it('end at the last number there is', () => {
    const many = Array.from({ length: 90 }, (_, i) => ({ name: `c${i}` }));
    expect(Math.max(...notesOf(many))).toBe(127);
  });
});
