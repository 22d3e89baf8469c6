/** The music of a MIDI file: which line each note belongs to, and its bars and tempos. */

import type { MidiContent, MidiNote } from './midi-content.ts';
import { MidiReadError } from './midi-reader.ts';
import type { LineName, Music, TabSection, TabStroke } from './music.ts';

export interface MidiChoice {
  /** Counted from 1; if not given, 10 if that has notes, otherwise all. */
  readonly channel?: number;
  /** The lowest velocity of an accent, and the highest of a ghost stroke. */
  readonly accent: number;
  readonly ghost: number;
}

/** Common names of notes by General MIDI Level 1's percussion key map (RP-003; from memory). */
const NAMES: { readonly [note: number]: string } = {
  35: 'low-kick',
  36: 'kick',
  37: 'side-stick',
  38: 'snare',
  39: 'clap',
  40: 'snare-2',
  41: 'low-floor-tom',
  42: 'closed-hat',
  43: 'floor-tom',
  44: 'pedal-hat',
  45: 'low-tom',
  46: 'open-hat',
  47: 'mid-tom',
  48: 'mid-tom-2',
  49: 'crash',
  50: 'high-tom',
  51: 'ride',
  52: 'cymbal',
  53: 'ride-bell',
  54: 'tambourine',
  55: 'splash',
  56: 'cowbell',
  57: 'crash-2',
  59: 'ride-2',
  60: 'high-bongo',
  61: 'low-bongo',
  62: 'muted-conga',
  63: 'open-conga',
  64: 'low-conga',
  70: 'maraca',
  75: 'clave',
  76: 'high-block',
  77: 'low-block',
  81: 'triangle',
};
/** What a patch accepts as a channel's name, and the words that it reserves. */
const NAME = /^[A-Za-z][A-Za-z0-9_-]{0,39}$/;
const KEPT = new Set([
  'clock',
  'run',
  'start',
  'tempo',
  'swing',
  'chance',
  'flam',
  'from',
  'steps-per-quarter',
  'length',
]);
const PERCUSSION = 10;
const MOST_LINES = 64;
/** The most sections: those of a song of ten hours. */
const MOST_SECTIONS = 20_000;
/** The most quarter notes of rests at the end: before more, the music ends with the bar of its last note. */
const MOST_RESTS = 256;
const USUAL_MICROS = 500_000;
const SLOWEST = 60_000_000;
/** A change of tempo at one of these parts of a quarter note starts a section. */
const PARTS = [16, 12, 5, 7, 9];
/** Quarter notes: a longer bar is written in pieces. */
const LONGEST_BAR = 8;
const PIECE = 4;

/** @throws MidiReadError for music that a rhythm cannot hold. */
export function midiMusic(content: MidiContent, choice: MidiChoice): Music {
  const { ticksPerQuarter } = content;
  const channel = choice.channel ?? (content.notes.some(isPercussion) ? PERCUSSION : undefined);
  const notes = content.notes.filter((note) => channel === undefined || note.channel === channel);
  if (notes.length === 0)
    throw new MidiReadError(
      0,
      choice.channel === undefined
        ? 'there are no notes in it.'
        : `no notes are on channel ${choice.channel}${elsewhere(content)}.`,
    );
  const remarks: string[] = [...content.remarks];
  const others = content.notes.length - notes.length;
  if (others > 0) remarks.push(`${others} notes on other channels than ${channel} were left out.`);
  const { lines, lineOf } = linesOf(notes, content.names);
  if (lines.length > MOST_LINES)
    throw new MidiReadError(
      0,
      `${lines.length} kinds of notes, and a rhythm has at most ${MOST_LINES} channels. Choose a channel with --channel.`,
    );
  const strokes = notes.map((note): TabStroke => {
    const { tick, velocity } = note;
    const soft = velocity <= choice.ghost ? 'ghost' : 'plain';
    return {
      at: tick / ticksPerQuarter,
      line: lineOf(note),
      strength: velocity >= choice.accent ? 'accent' : soft,
      loudness: velocity,
    };
  });
  const sections = sectionsOf(content, (notes.at(-1) as MidiNote).tick, remarks);
  const quarters = usualBar(content, (notes.at(-1) as MidiNote).tick);
  const beatsPerBar = Number.isInteger(quarters) && quarters <= 16 ? quarters : 4;
  return { lines, strokes, sections, beatsPerBar, tick: 1 / ticksPerQuarter, remarks };
}

/** Quarter notes in a bar for most of the music: its first bar may be a pick-up. */
function usualBar({ metres }: MidiContent, lastNote: number): number {
  const lasting = new Map<number, number>();
  const given = metres[0]?.tick === 0 ? metres : [{ tick: 0, quarters: 4 }, ...metres];
  for (const [n, { tick, quarters }] of given.entries()) {
    const end = Math.min(lastNote + 1, given[n + 1]?.tick ?? lastNote + 1);
    lasting.set(quarters, (lasting.get(quarters) ?? 0) + Math.max(0, end - tick));
  }
  const [usual] = [...lasting].reduce((most, one) => (one[1] > most[1] ? one : most));
  return usual;
}

/** Where they are instead: `: they are on 2, 10`. */
function elsewhere({ notes }: MidiContent): string {
  const channels = [...new Set(notes.map(({ channel }) => channel))].sort((a, b) => a - b);
  return channels.length === 0
    ? ', and on no other either'
    : `: they are on ${channels.join(', ')}`;
}

function isPercussion({ channel }: MidiNote): boolean {
  return channel === PERCUSSION;
}

function linesOf(notes: readonly MidiNote[], names: readonly string[]) {
  const keyOf = ({ track, channel, note }: MidiNote) => `${track} ${channel} ${note}`;
  const first = new Map<string, MidiNote>();
  const ofTrack = new Map<number, Set<string>>();
  for (const note of notes) {
    const key = keyOf(note);
    if (!first.has(key)) first.set(key, note);
    ofTrack.set(note.track, (ofTrack.get(note.track) ?? new Set()).add(key));
  }
  const keys = [...first.keys()].sort((a, b) => {
    const [one, other] = [first.get(a) as MidiNote, first.get(b) as MidiNote];
    return one.track - other.track || one.note - other.note || one.channel - other.channel;
  });
  const taken = new Set<string>();
  const lines = keys.map((key): LineName => {
    const { track, note } = first.get(key) as MidiNote;
    const named = ofTrack.get(track)?.size === 1 ? (names[track] ?? '') : '';
    const usual = NAMES[note] ?? `note-${note}`;
    const wanted = NAME.test(named) && !KEPT.has(named) ? named : usual;
    let name = wanted;
    for (let count = 2; taken.has(name) || taken.has(`${name}-accent`); count++)
      name = `${wanted.slice(0, 32)}-${count}`;
    taken.add(name);
    return { name, note };
  });
  const indices = new Map(keys.map((key, index) => [key, index]));
  return { lines, lineOf: (note: MidiNote) => indices.get(keyOf(note)) as number };
}

/** Bars, cut where the tempo or the part of the song changes. */
function sectionsOf(
  { ticksPerQuarter, tempos, metres, markers, end }: MidiContent,
  lastNote: number,
  remarks: string[],
): readonly TabSection[] {
  // A file that ends on a beat is as long as that, with rests at its end.
  const isEnd =
    isPart(end / ticksPerQuarter, ticksPerQuarter) && end - lastNote < MOST_RESTS * ticksPerQuarter;
  const rests = isEnd ? end : 0;
  const bars = barsTo(Math.max(lastNote + 1, rests, 1), ticksPerQuarter, metres, remarks);
  const lastBar = bars.at(-1) as BarTicks;
  const isGiven =
    end > lastNote && end < lastBar.end && isPart(end / ticksPerQuarter, ticksPerQuarter);
  const stop = isGiven ? end : lastBar.end;
  const changes = tempos.filter(({ tick }, index) => {
    const apart = Math.min(
      tick - (tempos[index - 1]?.tick ?? Number.NEGATIVE_INFINITY),
      (tempos[index + 1]?.tick ?? Number.POSITIVE_INFINITY) - tick,
    );
    return apart >= ticksPerQuarter && isPart(tick / ticksPerQuarter, ticksPerQuarter);
  });
  const cuts = new Set([...changes.map(({ tick }) => tick), ...markers]);
  const sections: TabSection[] = [];
  const secondsAt = clockOf(tempos, ticksPerQuarter);
  const inOrder = [...cuts].sort((a, b) => a - b);
  let next = 0;
  let tempo = 0;
  for (const [index, bar] of bars.entries()) {
    const edges = [bar.start];
    while (next < inOrder.length && (inOrder[next] as number) < bar.end) {
      const cut = inOrder[next++] as number;
      if (cut > bar.start && cut < stop) edges.push(cut);
    }
    const last = Math.min(bar.end, stop);
    edges.push(last);
    for (let n = 0; n + 1 < edges.length; n++) {
      for (const [from, to] of pieces(
        edges[n] as number,
        edges[n + 1] as number,
        ticksPerQuarter,
      )) {
        const length = (to - from) / ticksPerQuarter;
        const bpm = (60 * length) / (secondsAt(to) - secondsAt(from));
        while ((tempos[tempo]?.tick ?? Number.POSITIVE_INFINITY) <= from) tempo += 1;
        const given = tempos[tempo - 1]?.micros ?? USUAL_MICROS;
        const isSteady = (tempos[tempo]?.tick ?? Number.POSITIVE_INFINITY) >= to;
        if (sections.length === MOST_SECTIONS)
          throw new MidiReadError(
            0,
            `its bars and changes of tempo make more than ${MOST_SECTIONS} stretches up to bar ${index + 1}, which is more than a song here holds.`,
          );
        sections.push({
          start: from / ticksPerQuarter,
          end: to / ticksPerQuarter,
          bpm: isSteady ? plainTempo(given) : Number(bpm.toFixed(4)),
          bar: index + 1,
          within: (from - bar.start) / ticksPerQuarter,
        });
        if (!isSteady)
          remarks.push(
            `bar ${index + 1}: its changes of tempo are evened out to ${Number(bpm.toFixed(2))} bpm.`,
          );
      }
    }
  }
  return sections.filter(({ start, end: to }) => to > start);
}

interface BarTicks {
  readonly start: number;
  readonly end: number;
}

/** @param last a tick that is still within a bar. */
function barsTo(
  last: number,
  ticksPerQuarter: number,
  metres: MidiContent['metres'],
  remarks: string[],
): readonly BarTicks[] {
  const bars: BarTicks[] = [];
  let metre = 0;
  let quarters = 4;
  for (let start = 0; start < last; ) {
    while (metre < metres.length && (metres[metre] as { tick: number }).tick <= start)
      quarters = (metres[metre++] as { quarters: number }).quarters;
    let end = start + Math.max(1, Math.round(quarters * ticksPerQuarter));
    const change = metres[metre]?.tick;
    if (change !== undefined && change > start && change < end) {
      remarks.push(`bar ${bars.length + 1} is cut short by a new time signature.`);
      end = change;
    }
    bars.push({ start, end });
    start = end;
    if (bars.length > MOST_SECTIONS)
      throw new MidiReadError(
        0,
        `the notes reach past bar ${MOST_SECTIONS}, which is more than a song here holds.`,
      );
  }
  return bars;
}

function* pieces(from: number, to: number, ticksPerQuarter: number): Generator<[number, number]> {
  if (to - from <= LONGEST_BAR * ticksPerQuarter) {
    yield [from, to];
    return;
  }
  for (let at = from; at < to; at += PIECE * ticksPerQuarter)
    yield [at, Math.min(to, at + PIECE * ticksPerQuarter)];
}

function isPart(quarters: number, ticksPerQuarter: number): boolean {
  return PARTS.some(
    (part) =>
      Math.abs(quarters * part - Math.round(quarters * part)) * ticksPerQuarter <= part * 0.51,
  );
}

function clockOf(tempos: MidiContent['tempos'], ticksPerQuarter: number): (tick: number) => number {
  const starts: { tick: number; seconds: number; micros: number }[] = [
    { tick: 0, seconds: 0, micros: USUAL_MICROS },
  ];
  for (const { tick, micros } of tempos) {
    const before = starts.at(-1) as { tick: number; seconds: number; micros: number };
    const seconds = before.seconds + ((tick - before.tick) * before.micros) / ticksPerQuarter / 1e6;
    starts.push({ tick, seconds, micros });
  }
  return (tick) => {
    let low = 0;
    for (let high = starts.length - 1; low < high; ) {
      const middle = (low + high + 1) >> 1;
      if ((starts[middle] as { tick: number }).tick <= tick) low = middle;
      else high = middle - 1;
    }
    const { tick: from, seconds, micros } = starts[low] as (typeof starts)[number];
    return seconds + ((tick - from) * micros) / ticksPerQuarter / 1e6;
  };
}

/** The tempo in the fewest decimals that gives these microseconds. */
function plainTempo(micros: number): number {
  const bpm = SLOWEST / micros;
  for (let places = 0; places < 6; places++) {
    const plain = Number(bpm.toFixed(places));
    if (Math.round(SLOWEST / plain) === micros) return plain;
  }
  return Number(bpm.toFixed(6));
}
