/**
 * What the sequencers play as a Standard MIDI File of type 1: a track with the tempos, the metre and the
 * patterns' names, then a track a channel of the rhythms, then a track for each row of a step sequencer
 * that a pitch follows. Times are those that are played: swing, flams, ratchets and chance are in
 * them, to half a tick.
 *
 * Source: Standard MIDI Files 1.0 (RP-001) and MIDI 1.0: chunks, variable-length numbers, note on and
 * off, Set Tempo, Time Signature with 24 MIDI clocks a quarter note (from memory).
 * A rhythm that follows pulses has its notes where it plays them. Where all do, the tempo is the one that the
 * first is set to, or the mean of its pulses where that is a hundredth off.
 *
 * Deviation: a tempo is whole microseconds a quarter note in the file, so that it is up to half a
 * microsecond a quarter off. That adds up to 3.6 ms in an hour at 120 bpm; so before it comes to a quarter of a
 * millisecond, a pattern takes the next whole number on the other side. Strokes whose gates join are notes of
 * their own, each ended by the next.
 */

import { type Prepared, prepared } from '../../engine/prepared.ts';
import { jackName, type Patch, type PatchModule } from '../../patch/patch.ts';
import { type Stroke, strokes } from '../../timing/edges.ts';
import { toNumber } from '../../timing/fixed.ts';
import { microsecondsPerQuarter } from '../../timing/notes.ts';
import type { Pulse } from '../../timing/pulses.ts';
import {
  isFollowing,
  type RhythmSettings,
  rhythmSettings,
  tempoLeaders,
} from '../../timing/rhythm.ts';
import { sectionsOf, songOf } from '../../timing/song.ts';
import { type HeardNotes, type HeardRow, heardNotes } from './heard-notes.ts';
import { atHeardTempo } from './heard-tempo.ts';
import { chunk, long, MidiError, meta, Track, textBytes, word } from './midi-bytes.ts';
import { AS_USUAL, chosenNotes, type MidiChoices } from './midi-choices.ts';
import type { PitchRow } from './row-notes.ts';

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
  /** The channels of the rhythms that have a track. */
  readonly strokes: readonly WrittenStrokes[];
  /** The rows that have a track of their own, and what of them the notes of MIDI cannot say. */
  readonly rows: readonly WrittenRow[];
}

export interface WrittenStrokes {
  /** The gate of the channel. */
  readonly jack: string;
  readonly note: number;
  /** MIDI, from 1. */
  readonly channel: number;
  /** Strokes that have one. */
  readonly notes: number;
}

export interface WrittenRow {
  /** The output that gives the pitch. */
  readonly jack: string;
  /** MIDI, from 1. */
  readonly channel: number;
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
 * @param choices of notes and channels, by names that the patch has.
 * @param heard what only playing tells, if that was played already: for so many seconds.
 * @throws MidiError for a tempo under 3.58 bpm, and for more than 128 MB.
 */
export function midiFile(
  of: Patch | Prepared,
  seconds: number,
  choices: MidiChoices = AS_USUAL,
  heard?: HeardNotes,
): MidiFile {
  const whole = prepared(of);
  const { patch } = whole;
  const rhythms = patch.modules.filter(({ definition }) => definition.role === 'score');
  // The tempos are those of a rhythm with a time of its own, if there is one.
  const [first] = tempoLeaders(patch);
  if (first === undefined) throw new MidiError('The patch has no rhythm sequencer.');
  const notes = heard ?? heardNotes(whole, seconds);
  const settings = isFollowing(patch, first)
    ? settingsHeard(first, notes)
    : rhythmSettings(first.settings);
  const tempos = tempoMap(settings, seconds);
  const strokesOf = rhythms.flatMap((module) =>
    channelTracks(module, patch.seed, tempos, seconds, choices, notes.strokes.get(module.name)),
  );
  const used = new Set(strokesOf.map(({ written }) => written.channel - 1));
  const rows = rowTracks(notes.rows, tempos, seconds, { choices, used });
  const tracks = [
    tempoTrack(patch.title, settings, tempos, seconds),
    ...strokesOf.map(({ track }) => track),
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
  return {
    bytes: file,
    strokes: strokesOf.map(({ written }) => written),
    rows: rows.map(({ written }) => written),
  };
}

/** Share by which pulses may be off the tempo that is set and be meant as that. */
const OFF_TEMPO = 0.01;

/** The settings of a rhythm that follows pulses, at the tempo that these make. */
function settingsHeard({ name, settings }: PatchModule, { clock }: HeardNotes) {
  const own = rhythmSettings(settings);
  const heard = atHeardTempo(name, own, clock);
  const { bpm = own.tempo } = heard.tempo;
  return Math.abs(bpm / own.tempo - 1) > OFF_TEMPO ? heard.settings : own;
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

/** s by which a file's own clock may be off before its tempo is corrected. */
const DRIFT = 0.25e-3;

/**
 * Gives each section's tempo in the file, whole microseconds a quarter note: the nearest or, where the clock
 * of the file would be too far off by the next section, the one that brings it back.
 */
function wholeTempos({ sections, ticks }: TempoMap): readonly number[] {
  let clock = 0;
  return sections.map(({ quarter, tick }, index) => {
    const exact = microsecondsPerQuarter(60 / quarter);
    const next = sections[index + 1];
    if (next === undefined) return Math.round(exact);
    const quarters = (next.tick - tick) / ticks;
    const off = (micros: number): number => Math.abs(clock + quarters * micros * 1e-6 - next.start);
    const [low, high] = [Math.floor(exact), Math.ceil(exact)];
    const best = off(low) < off(high) ? low : high;
    const micros = off(Math.round(exact)) <= DRIFT ? Math.round(exact) : best;
    clock += quarters * micros * 1e-6;
    return micros;
  });
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
  tempos: TempoMap,
  seconds: number,
): Uint8Array {
  const { sections, tickAt } = tempos;
  const whole = wholeTempos(tempos);
  const track = new Track();
  track.add(0, meta(0x03, textBytes(title)));
  // 24 MIDI clocks to a click of a metronome, 8 thirty-seconds to a quarter.
  track.add(0, meta(0x58, [settings['beats-per-bar'], 2, 24, 8]));
  let before = 0;
  let named = '';
  for (const [index, { name, quarter, tick }] of sections.entries()) {
    const micros = whole[index] as number;
    if (micros > MOST_MICROSECONDS)
      throw new MidiError(
        `a MIDI file holds no tempo under 3.58 bpm, and this is ${Number((60 / quarter).toFixed(3))} bpm. Double the tempo and the steps per quarter.`,
      );
    if (micros !== before) track.add(tick, meta(0x51, long(micros).slice(1)));
    if (name !== named && name !== '') track.add(tick, meta(0x06, textBytes(name)));
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
  choices: MidiChoices,
  heard: readonly Stroke[] | undefined,
): readonly { readonly track: Uint8Array; readonly written: WrittenStrokes }[] {
  const settings = rhythmSettings(module.settings);
  const notes = chosenNotes(module, choices.notes);
  const channels = settings.channels.map(({ name }, channel) => {
    const track = new Track();
    track.add(0, meta(0x03, textBytes(name)));
    const jack = jackName({ module: module.name, jack: name });
    return {
      jack,
      track,
      note: notes[channel] as number,
      on: (choices.channels.get(jack) ?? PERCUSSION + 1) - 1,
      isWritten: !choices.without.has(jack),
      waiting: undefined as Pulse | undefined,
      written: 0,
    };
  });
  // A note is written once the next is known, which may end it.
  const write = (channel: (typeof channels)[number], following: Pulse | undefined): void => {
    const { track, note, on: midi, isWritten, waiting: pulse } = channel;
    channel.waiting = following;
    if (pulse === undefined || !isWritten) return;
    const on = tickAt(pulse.time);
    const nextOn = following === undefined ? Number.POSITIVE_INFINITY : tickAt(following.time);
    // Two strokes within a tick are one note: the second would end the first before it starts.
    if (nextOn === on) return;
    const off = Math.min(Math.max(tickAt(pulse.endTime), on + 1), nextOn);
    track.add(on, [0x90 | midi, note, velocity(pulse)]);
    track.add(off, [0x80 | midi, note, 0x40]);
    channel.written++;
  };
  const played = heard?.values();
  const next =
    played === undefined
      ? strokes(settings, { sampleRate: RATE, seed, module: module.name, until })
      : () => played.next().value as Stroke | undefined;
  for (let stroke = next(); stroke !== undefined; stroke = next())
    write(channels[stroke.channel] as (typeof channels)[number], stroke);
  return channels
    .filter(({ isWritten }) => isWritten)
    .map((channel) => {
      write(channel, undefined);
      const { jack, note, on, written: notes } = channel;
      return {
        track: channel.track.end(tickAt(until)),
        written: { jack, note, channel: on + 1, notes },
      };
    });
}

function velocity({ accent, cause }: Pulse): number {
  if (accent) return VELOCITY.accent;
  if (cause === 'ghost') return VELOCITY.ghost;
  return cause === 'grace' ? VELOCITY.grace : VELOCITY.plain;
}

/** MIDI channels that rows have in turn, counted from 0. */
const CHANNELS = Array.from({ length: 16 }, (_, channel) => channel).filter(
  (channel) => channel !== PERCUSSION,
);
/** The note of 0 V, C2: MIDI calls middle C, two octaves higher, 60. */
const NOTE_AT_ZERO = 36;
const HIGHEST_NOTE = 127;
/** Cents: pitches that are off by less count as notes. */
const IN_TUNE = 0.05;

function rowTracks(
  heard: readonly HeardRow[],
  { tickAt }: TempoMap,
  seconds: number,
  { choices, used }: { readonly choices: MidiChoices; readonly used: ReadonlySet<number> },
): readonly { readonly track: Uint8Array; readonly written: WrittenRow }[] {
  const free = CHANNELS.filter((channel) => !used.has(channel));
  const inTurn = free.length === 0 ? CHANNELS : free;
  // Counted before any is left out, so that the others keep their channels.
  return heard
    .map(({ row, notes }, index) => {
      const chosen = choices.channels.get(jackName(row.jack));
      const usual = inTurn[index % inTurn.length] as number;
      return { notes, track: new RowTrack(row, chosen === undefined ? usual : chosen - 1) };
    })
    .filter(({ track }) => !choices.without.has(jackName(track.row.jack)))
    .map(({ notes, track }) => {
      for (const { volts, start, end } of notes) track.add(volts, tickAt(start), tickAt(end));
      return track.end(tickAt(seconds));
    });
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

  /** @param channel of MIDI, counted from 0. */
  constructor(row: PitchRow, channel: number) {
    this.row = row;
    this.channel = channel;
    this.track.add(0, meta(0x03, textBytes(jackName(row.jack))));
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
    const channel = this.channel + 1;
    return {
      track: this.track.end(tick),
      written: { jack, channel, notes, rounded, mostCents, beyond },
    };
  }
}
