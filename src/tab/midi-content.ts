/** The contents of a MIDI file that a rhythm needs. */

export interface MidiNote {
  /** From the start of the file. */
  readonly tick: number;
  /** Counted from 1. */
  readonly channel: number;
  /** 0 to 127. */
  readonly note: number;
  /** 1 to 127. */
  readonly velocity: number;
  /** Counted from 0. */
  readonly track: number;
}

export interface MidiTempo {
  readonly tick: number;
  /** Microseconds a quarter note. */
  readonly micros: number;
}

export interface MidiMetre {
  readonly tick: number;
  /** Quarter notes in a bar. */
  readonly quarters: number;
}

export interface MidiContent {
  /** Ticks of a quarter note. */
  readonly ticksPerQuarter: number;
  /** By time. */
  readonly notes: readonly MidiNote[];
  readonly tempos: readonly MidiTempo[];
  readonly metres: readonly MidiMetre[];
  /** The ticks of markers, such as a new part of a song. */
  readonly markers: readonly number[];
  /** By track; empty for a track without a name. */
  readonly names: readonly string[];
  /** Where the last track ends that waits for its end; 0 where all of them end with their last event. */
  readonly end: number;
  /** Whether its time is frames of film, so that a tempo may be given for it. */
  readonly isFilm: boolean;
  /** What in the file was not read, with the byte where it begins; each is a sentence. */
  readonly remarks: readonly string[];
}
