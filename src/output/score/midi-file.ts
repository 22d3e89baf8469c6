/**
 * What the sequencers play as a Standard MIDI File of type 1: a track with the tempos, the metre and the
 * patterns' names, then a track a channel of the rhythms, then a track for each row of a step sequencer
 * that a pitch follows. Times are those that are played: swing, flams, ratchets and chance are in
 * them, to half a tick.
 *
 * Source: Standard MIDI Files 1.0 (RP-001) and MIDI 1.0: chunks, variable-length numbers, note on and
 * off, Set Tempo, Time Signature with 24 MIDI clocks a quarter note (from memory).
 * Deviation: a tempo is whole microseconds a quarter note in the file, so that it is up to half a
 * microsecond a quarter off, 1 ms an hour at 120 bpm. Strokes whose gates join are notes of their
 * own, each ended by the next.
 */

import { type Prepared, prepared } from '../../engine/prepared.ts';
import { jackName, type Patch, type PatchModule } from '../../patch/patch.ts';
import { strokes } from '../../timing/edges.ts';
import { toNumber } from '../../timing/fixed.ts';
import { microsecondsPerQuarter } from '../../timing/notes.ts';
import type { Pulse } from '../../timing/pulses.ts';
import { type RhythmSettings, rhythmSettings } from '../../timing/settings.ts';
import { sectionsOf, songOf } from '../../timing/song.ts';
import { chunk, long, MidiError, meta, Track, text, word } from './midi-bytes.ts';
import { notesOf } from './midi-notes.ts';
import { type PitchRow, pitchRows, playRows } from './row-notes.ts';

/** Velocity of a stroke by its strength. Common practice, no source. */
export const VELOCITY = { plain: 90, accent: 127, ghost: 45, grace: 55 } as const;

/** Ticks a quarter note, or a little more where that makes every straight step a whole tick. */
const TICKS = 960;
/** Fifteen bits. */
const MOST_TICKS = 32_767;
/** Hz; times are asked for in so many samples, far finer than a tick. */
const RATE = 192_000;
/** Counted from 0: MIDI channel 10 is for percussion (General MIDI Level 1; from memory). */
const PERCUSSION = 9;
const MOST_MICROSECONDS = 0xff_ffff;

export interface MidiFile {
  readonly bytes: Uint8Array;
  /** The rows that have a track of their own, and what of them the notes of MIDI cannot say. */
  readonly rows: readonly WrittenRow[];
}

export interface WrittenRow {
  /** The output that gives the pitch. */
  readonly jack: string;
  readonly notes: number;
  /** Notes that lie between two of MIDI's and were moved to the nearer, and by how many cents at most. */
  readonly rounded: number;
  readonly mostCents: number;
  /** Notes lower or higher than MIDI has any, which are left out. */
  readonly beyond: number;
}

/**
 * Makes the file.
 * @param seconds how much is played, from the start of the performance.
 * @throws MidiError for a tempo under 3.58 bpm, and for more than 128 MB.
 */
export function midiFile(of: Patch | Prepared, seconds: number): MidiFile {
  const whole = prepared(of);
  const { patch } = whole;
  const rhythms = patch.modules.filter(({ definition }) => definition.role === 'score');
  const [first] = rhythms;
  if (first === undefined) throw new MidiError('The patch has no rhythm sequencer.');
  const settings = rhythmSettings(first.settings);
  const tempos = tempoMap(settings, seconds);
  const rows = rowTracks(whole, tempos, seconds);
  const tracks = [
    tempoTrack(patch.title, settings, tempos, seconds),
    ...rhythms.flatMap((module) => channelTracks(module, patch.seed, tempos, seconds)),
    ...rows.map(({ track }) => track),
  ];
  const head = Uint8Array.from([0, 1, ...word(tracks.length), ...word(tempos.ticks)]);
  const chunks = [chunk('MThd', head), ...tracks.map((track) => chunk('MTrk', track))].flat();
  const file = new Uint8Array(chunks.reduce((sum, { length }) => sum + length, 0));
  let at = 0;
  for (const bytes of chunks) {
    file.set(bytes, at);
    at += bytes.length;
  }
  return { bytes: file, rows: rows.map(({ written }) => written) };
}

interface TempoMap {
  /** A quarter note. */
  readonly ticks: number;
  readonly sections: readonly TempoSection[];
  tickAt(seconds: number): number;
}

interface TempoSection {
  readonly name: string;
  /** s. */
  readonly start: number;
  readonly quarter: number;
  readonly tick: number;
}

function tempoMap(settings: RhythmSettings, seconds: number): TempoMap {
  const song = songOf(settings, 1);
  const parts = Number(song.partsPerQuarter);
  const exact = Math.ceil(TICKS / parts) * parts;
  const ticks = exact <= MOST_TICKS ? exact : TICKS;
  const sections: TempoSection[] = [];
  let part = 0;
  for (const { groove, start } of sectionsOf(song)) {
    const from = toNumber(start);
    if (from >= seconds - 1e-9 && sections.length > 0) break;
    const { name, length, stepsPerQuarter } = groove.pattern;
    const quarter = toNumber(groove.quarter);
    sections.push({ name, start: from, quarter, tick: Math.round((part * ticks) / parts) });
    part += (length * parts) / stepsPerQuarter;
  }
  const bare = { name: '', start: 0, quarter: 60 / settings.tempo, tick: 0 };
  const known = sections.length > 0 ? sections : [bare];
  return {
    ticks,
    sections: known,
    tickAt: (time) => {
      let low = 0;
      for (let high = known.length - 1; low < high; ) {
        const middle = (low + high + 1) >> 1;
        if ((known[middle] as TempoSection).start <= time) low = middle;
        else high = middle - 1;
      }
      const { start, quarter, tick } = known[low] as TempoSection;
      return Math.max(0, Math.round(tick + ((time - start) / quarter) * ticks));
    },
  };
}

function tempoTrack(
  title: string,
  settings: RhythmSettings,
  { sections, tickAt }: TempoMap,
  seconds: number,
): Uint8Array {
  const track = new Track();
  track.add(0, meta(0x03, text(title)));
  // 24 MIDI clocks to a click of a metronome, 8 thirty-seconds to a quarter.
  track.add(0, meta(0x58, [settings['beats-per-bar'], 2, 24, 8]));
  let before = 0;
  let named = '';
  for (const { name, quarter, tick } of sections) {
    const micros = Math.round(microsecondsPerQuarter(60 / quarter));
    if (micros > MOST_MICROSECONDS)
      throw new MidiError(
        `a MIDI file holds no tempo under 3.58 bpm, and this is ${Number((60 / quarter).toFixed(3))} bpm. Double the tempo and the steps per quarter.`,
      );
    if (micros !== before) track.add(tick, meta(0x51, long(micros).slice(1)));
    if (name !== named && name !== '') track.add(tick, meta(0x06, text(name)));
    before = micros;
    named = name;
  }
  return track.end(tickAt(seconds));
}

function channelTracks(
  module: PatchModule,
  seed: string,
  { tickAt }: TempoMap,
  until: number,
): Uint8Array[] {
  const settings = rhythmSettings(module.settings);
  const notes = notesOf(settings.channels);
  const channels = settings.channels.map(({ name }, channel) => {
    const track = new Track();
    track.add(0, meta(0x03, text(name)));
    return { track, note: notes[channel] as number, waiting: undefined as Pulse | undefined };
  });
  // A note is written once the next is known, which may end it.
  const write = (channel: (typeof channels)[number], following: Pulse | undefined): void => {
    const { track, note, waiting: pulse } = channel;
    channel.waiting = following;
    if (pulse === undefined) return;
    const on = tickAt(pulse.time);
    const nextOn = following === undefined ? Number.POSITIVE_INFINITY : tickAt(following.time);
    // Two strokes within a tick are one note: the second would end the first before it starts.
    if (nextOn === on) return;
    const off = Math.min(Math.max(tickAt(pulse.endTime), on + 1), nextOn);
    track.add(on, [0x90 | PERCUSSION, note, velocity(pulse)]);
    track.add(off, [0x80 | PERCUSSION, note, 0x40]);
  };
  const next = strokes(settings, { sampleRate: RATE, seed, module: module.name, until });
  for (let stroke = next(); stroke !== undefined; stroke = next())
    write(channels[stroke.channel] as (typeof channels)[number], stroke);
  return channels.map((channel) => {
    write(channel, undefined);
    return channel.track.end(tickAt(until));
  });
}

function velocity({ accent, cause }: Pulse): number {
  if (accent) return VELOCITY.accent;
  if (cause === 'ghost') return VELOCITY.ghost;
  return cause === 'grace' ? VELOCITY.grace : VELOCITY.plain;
}

/** MIDI channels of the rows, in turn: all but that of the percussion. */
const ROW_CHANNELS = Array.from({ length: 16 }, (_, channel) => channel).filter(
  (channel) => channel !== PERCUSSION,
);
/** The note of 0 V, C2: MIDI calls middle C, two octaves higher, 60. */
const NOTE_AT_ZERO = 36;
const HIGHEST_NOTE = 127;
/** Cents: what is less off is a note. */
const IN_TUNE = 0.05;

function rowTracks(
  of: Prepared,
  { tickAt }: TempoMap,
  seconds: number,
): readonly { readonly track: Uint8Array; readonly written: WrittenRow }[] {
  const rows = pitchRows(of).map((row, index) => new RowTrack(row, index));
  playRows(
    of,
    rows.map(({ row }) => row),
    seconds,
    (index, { volts, start, end }) =>
      (rows[index] as RowTrack).add(volts, tickAt(start), tickAt(end)),
  );
  return rows.map((row) => row.end(tickAt(seconds)));
}

/** A row as a track of notes, one after the other. */
class RowTrack {
  readonly row: PitchRow;
  private readonly track = new Track();
  private readonly channel: number;
  private notes = 0;
  private rounded = 0;
  private mostCents = 0;
  private beyond = 0;

  constructor(row: PitchRow, index: number) {
    this.row = row;
    this.channel = ROW_CHANNELS[index % ROW_CHANNELS.length] as number;
    this.track.add(0, meta(0x03, text(jackName(row.jack))));
  }

  /** @param on and `off` in ticks. */
  add(volts: number, on: number, off: number): void {
    const exact = NOTE_AT_ZERO + 12 * volts;
    const note = Math.round(exact);
    if (note < 0 || note > HIGHEST_NOTE) {
      this.beyond += 1;
      return;
    }
    this.notes += 1;
    const cents = 100 * Math.abs(exact - note);
    if (cents > IN_TUNE) {
      this.rounded += 1;
      this.mostCents = Math.max(this.mostCents, cents);
    }
    this.track.add(on, [0x90 | this.channel, note, VELOCITY.plain]);
    this.track.add(Math.max(off, on), [0x80 | this.channel, note, 0x40]);
  }

  end(tick: number): { readonly track: Uint8Array; readonly written: WrittenRow } {
    const { notes, rounded, mostCents, beyond } = this;
    const jack = jackName(this.row.jack);
    return { track: this.track.end(tick), written: { jack, notes, rounded, mostCents, beyond } };
  }
}
