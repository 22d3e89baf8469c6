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
import { strokes } from '../../timing/edges.ts';
import { toNumber } from '../../timing/fixed.ts';
import { microsecondsPerQuarter } from '../../timing/notes.ts';
import type { Pulse } from '../../timing/pulses.ts';
import { type RhythmSettings, rhythmSettings } from '../../timing/settings.ts';
import { sectionsOf, songOf } from '../../timing/song.ts';
import { notesOf } from './midi-notes.ts';

/** A patch that a MIDI file cannot hold; the message says why and what to do. */
export class MidiError extends Error {}

/** Velocity of a stroke, an accented one and a flam's grace stroke. Common practice, no source. */
export const VELOCITY = { plain: 90, accent: 127, grace: 55 } as const;

/** Ticks a quarter note, or a little more where that makes every straight step a whole tick. */
const TICKS = 960;
/** Fifteen bits. */
const MOST_TICKS = 32_767;
/** Hz; times are asked for in so many samples, far finer than a tick. */
const RATE = 192_000;
/** Counted from 0: MIDI channel 10 is for percussion (General MIDI Level 1; from memory). */
const PERCUSSION = 9;
const MOST_MICROSECONDS = 0xff_ffff;

/**
 * Makes the file.
 * @param seconds how much is played, from the start of the performance.
 * @throws MidiError for a tempo under 3.58 bpm.
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
  const bytes: number[] = [];
  chunk(bytes, 'MThd', [0, 1, ...word(tracks.length), ...word(tempos.ticks)]);
  for (const track of tracks) chunk(bytes, 'MTrk', track);
  return Uint8Array.from(bytes);
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

type Timed = readonly [tick: number, bytes: readonly number[]];

function tempoTrack(
  title: string,
  settings: RhythmSettings,
  { sections, tickAt }: TempoMap,
  seconds: number,
): number[] {
  // 24 MIDI clocks to a click of a metronome, 8 thirty-seconds to a quarter.
  const events: Timed[] = [
    [0, meta(0x03, text(title))],
    [0, meta(0x58, [settings['beats-per-bar'], 2, 24, 8])],
  ];
  let before = 0;
  let named = '';
  for (const { name, quarter, tick } of sections) {
    const micros = Math.round(microsecondsPerQuarter(60 / quarter));
    if (micros > MOST_MICROSECONDS)
      throw new MidiError(
        `a MIDI file holds no tempo under 3.58 bpm, and this is ${Number((60 / quarter).toFixed(3))} bpm. Double the tempo and the steps per quarter.`,
      );
    if (micros !== before) events.push([tick, meta(0x51, long(micros).slice(1))]);
    if (name !== named && name !== '') events.push([tick, meta(0x06, text(name))]);
    before = micros;
    named = name;
  }
  return track(events, tickAt(seconds));
}

function channelTracks(
  module: PatchModule,
  seed: string,
  tempos: TempoMap,
  until: number,
): number[][] {
  const settings = rhythmSettings(module.settings);
  const notes = notesOf(settings.channels);
  const played = settings.channels.map((): Pulse[] => []);
  const next = strokes(settings, { sampleRate: RATE, seed, module: module.name, until });
  for (let stroke = next(); stroke !== undefined; stroke = next())
    played[stroke.channel]?.push(stroke);
  return settings.channels.map(({ name }, channel) => {
    const note = notes[channel] as number;
    const pulses = played[channel] as Pulse[];
    const events: Timed[] = [[0, meta(0x03, text(name))]];
    pulses.forEach((pulse, index) => {
      const following = pulses[index + 1];
      const on = tempos.tickAt(pulse.time);
      const nextOn =
        following === undefined ? Number.POSITIVE_INFINITY : tempos.tickAt(following.time);
      // Two strokes within a tick are one note: the second would end the first before it starts.
      if (nextOn === on) return;
      const off = Math.min(Math.max(tempos.tickAt(pulse.endTime), on + 1), nextOn);
      events.push([on, [0x90 | PERCUSSION, note, velocity(pulse)]]);
      events.push([off, [0x80 | PERCUSSION, note, 0x40]]);
    });
    return track(events, tempos.tickAt(until));
  });
}

function velocity({ accent, cause }: Pulse): number {
  if (accent) return VELOCITY.accent;
  return cause === 'grace' ? VELOCITY.grace : VELOCITY.plain;
}

/** Events in order with the ticks between them, and the end of the track. */
function track(events: readonly Timed[], end: number): number[] {
  const bytes: number[] = [];
  let now = 0;
  for (const [tick, event] of events) {
    push(bytes, variable(tick - now));
    push(bytes, event);
    now = tick;
  }
  push(bytes, variable(Math.max(0, end - now)));
  push(bytes, meta(0x2f, []));
  return bytes;
}

function chunk(bytes: number[], type: string, content: readonly number[]): void {
  push(
    bytes,
    [...type].map((letter) => letter.charCodeAt(0)),
  );
  push(bytes, long(content.length));
  push(bytes, content);
}

function push(bytes: number[], more: readonly number[]): void {
  for (const byte of more) bytes.push(byte);
}

function meta(type: number, content: readonly number[]): number[] {
  return [0xff, type, ...variable(content.length), ...content];
}

function text(words: string): number[] {
  return [...new TextEncoder().encode(words)];
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
