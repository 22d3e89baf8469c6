/** Music to be written as drum tab: strokes on lines, over bars and tempos. */

export interface TabStroke {
  /** Quarter notes from the start. */
  readonly at: number;
  /** Index into the lines. */
  readonly line: number;
  readonly strength: 'plain' | 'accent' | 'ghost';
  /** 1 to 127, or anything that is larger for a louder stroke. */
  readonly loudness: number;
  /** Of one of several equal strokes that follow one another evenly and too quickly for steps: quarter notes. */
  readonly apart?: number;
}

export interface LineName {
  readonly name: string;
  /** Number of its note in a MIDI file. */
  readonly note?: number;
}

/** From one change of tempo, bar or part to the next. */
export interface TabSection {
  /** Quarter notes from the start. */
  readonly start: number;
  readonly end: number;
  /** Quarter notes a minute. */
  readonly bpm: number;
  /** Counted from 1. */
  readonly bar: number;
  /** Quarter notes from the start of the bar. */
  readonly within: number;
}

export interface Music {
  readonly lines: readonly LineName[];
  /** By time. */
  readonly strokes: readonly TabStroke[];
  readonly sections: readonly TabSection[];
  readonly beatsPerBar: number;
  /** How exactly the times are known, quarter notes; undefined for music played by hand. */
  readonly tick?: number;
  /** What could not be taken over as it is, in words. */
  readonly remarks: readonly string[];
}
