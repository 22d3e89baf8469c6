/**
 * What the rhythm sequencers play as a Standard MIDI File of type 1: a track with the tempos, the
 * metre and the patterns' names, then a track a channel. Times are those that are played: swing,
 * flams, ratchets and chance are in them, to half a tick.
 *
 * Source: Standard MIDI Files 1.0 (RP-001) and MIDI 1.0: chunks, variable-length numbers, note on and
 * off, Set Tempo, Time Signature with 24 MIDI clocks a quarter note (from memory).
 * Deviation: a tempo is whole microseconds a quarter note in the file, so that it is up to half a
 * microsecond a quarter off, 1 ms an hour at 120 bpm. Strokes whose gates join are notes of their
 * own, each ended by the next.
 */

import type { Patch, PatchModule } from '../../patch/patch.ts';
import { inOneLine } from '../../patch/text/printable.ts';
import { strokes } from '../../timing/edges.ts';
import { toNumber } from '../../timing/fixed.ts';
import { microsecondsPerQuarter } from '../../timing/notes.ts';
import type { Pulse } from '../../timing/pulses.ts';
import { type RhythmSettings, rhythmSettings } from '../../timing/settings.ts';
import { sectionsOf, songOf } from '../../timing/song.ts';
import { notesOf } from './midi-notes.ts';

/** A patch that a MIDI file cannot hold; the message says why and what to do. */
export class MidiError extends Error {}

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
/** Of the whole file: some ten million strokes. */
const MOST_BYTES = 128 * 1024 * 1024;

/**
 * Makes the file.
 * @param seconds how much is played, from the start of the performance.
 * @throws MidiError for a tempo under 3.58 bpm, and for more than 128 MB.
 */
export function midiFile(patch: Patch, seconds: number): Uint8Array {
  const rhythms = patch.modules.filter(({ definition }) => definition.role === 'score');
  const [first] = rhythms;
  if (first === undefined) throw new MidiError('The patch has no rhythm sequencer.');
  const settings = rhythmSettings(first.settings);
  const tempos = tempoMap(settings, seconds);
  const tracks = [
    tempoTrack(patch.title, settings, tempos, seconds),
    ...rhythms.flatMap((module) => channelTracks(module, patch.seed, tempos, seconds)),
  ];
  const head = Uint8Array.from([0, 1, ...word(tracks.length), ...word(tempos.ticks)]);
  const chunks = [chunk('MThd', head), ...tracks.map((track) => chunk('MTrk', track))].flat();
  const file = new Uint8Array(chunks.reduce((sum, { length }) => sum + length, 0));
  let at = 0;
  for (const bytes of chunks) {
    file.set(bytes, at);
    at += bytes.length;
  }
  return file;
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

/** A track as it is written: its bytes, and nothing kept of what is in them. */
class Track {
  private bytes = new Uint8Array(1024);
  private length = 0;
  private now = 0;

  /** @param tick not before that of the event added last. */
  add(tick: number, event: readonly number[]): void {
    this.push(variable(tick - this.now));
    this.push(event);
    this.now = tick;
  }

  /** Ends the track. @returns its bytes. */
  end(tick: number): Uint8Array {
    this.push(variable(Math.max(0, tick - this.now)));
    this.push(meta(0x2f, []));
    return this.bytes.subarray(0, this.length);
  }

  private push(more: readonly number[]): void {
    if (this.length + more.length > MOST_BYTES)
      throw new MidiError(
        `that is more than the ${MOST_BYTES / 2 ** 20} MB that a MIDI file here takes at most. Ask for fewer --bars or --seconds.`,
      );
    if (this.length + more.length > this.bytes.length) {
      const bytes = new Uint8Array(2 * (this.length + more.length));
      bytes.set(this.bytes);
      this.bytes = bytes;
    }
    for (const byte of more) this.bytes[this.length++] = byte;
  }
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

function chunk(type: string, content: Uint8Array): readonly Uint8Array[] {
  return [Uint8Array.from([...new TextEncoder().encode(type), ...long(content.length)]), content];
}

function meta(type: number, content: readonly number[]): number[] {
  return [0xff, type, ...variable(content.length), ...content];
}

function text(words: string): number[] {
  return [...new TextEncoder().encode(inOneLine(words))];
}

function word(value: number): number[] {
  return [(value >> 8) & 0xff, value & 0xff];
}

function long(value: number): number[] {
  return [(value >>> 24) & 0xff, (value >> 16) & 0xff, ...word(value)];
}

/** Seven bits a byte, the highest first, all but the last with the top bit set. */
function variable(value: number): number[] {
  const bytes = [value & 0x7f];
  for (let rest = Math.floor(value / 128); rest > 0; rest = Math.floor(rest / 128))
    bytes.unshift((rest & 0x7f) | 0x80);
  return bytes;
}
