/**
 * The shape that every kind of module shares. One definition a kind is the only place where its
 * jacks, settings, units, ranges, defaults and electrical facts are written: the parser, the JSON
 * Schema, the format reference, the checks, the engine and the page all read it.
 */

import type { InputFacts, OutputFacts } from './facts.ts';
import type { GateLaw } from './gates.ts';

/** The unit that a number setting must be written with, and the unit its value has once read. */
export type Quantity =
  | 'time' // s
  | 'frequency' // Hz
  | 'voltage' // V
  | 'percent' // a fraction: 70 % is 0.7
  | 'decibel' // dB
  | 'tempo' // quarter notes a minute (bpm)
  | 'interval' // semitones: 100 cents is 1
  | 'resistance' // ohm
  | 'number' // a plain number, such as q
  | 'count'; // a whole plain number

/** A number with a unit. `min`, `max` and `fallback` are in the quantity's own unit (see above). */
export interface NumberSpec {
  readonly type: Quantity;
  readonly min: number;
  readonly max: number;
  /** The value when the patch says nothing. */
  readonly fallback: number;
  readonly about: string;
  /**
   * Of a share that goes round in a loop: what one hears is how long it rings, as -1/ln|value| passages, so
   * that a scale for the hand gives 90, 99 and 100 % as much room as 0 to 90 %.
   */
  readonly rings?: true;
  /** For stages of an envelope: the stage time in time constants, so that `16 ms tau` is allowed. */
  readonly timeConstants?: number;
  /** The input whose volts move it by octaves, where one does. */
  readonly moved?: Moved;
  /** What of a recording tells it, where anything does: so its dial can be calibrated. */
  readonly toldBy?: ToldBy;
}

/**
 * A stage of an envelope, the corner of a filter, the level of a noise, a pitch, how often a gate comes and how
 * long it is, how far the pulses of a burst lie apart, how late a pulse is after its trigger, how often volts
 * step, which share of a sound passes, how long a glide takes, how fast a low-pass gate shuts.
 */
export type ToldBy =
  | 'attack'
  | 'decay'
  | 'sustain'
  | 'release'
  | 'cutoff'
  | 'q'
  | 'level'
  | 'frequency'
  | 'interval'
  | 'rate'
  | 'duty'
  | 'spacing'
  | 'late'
  | 'steps'
  | 'length'
  | 'share'
  | 'rise'
  | 'fall'
  | 'shutting';

/** How volts move a setting: it is doubled with each of them. */
export interface Moved {
  /** The jack. */
  readonly jack: string;
  /** Whether it is halved instead. */
  readonly halved?: true;
  /** The setting by which the volts are multiplied, if one is: 100 % is as it stands. */
  readonly amount?: string;
}

/** One word out of a few. */
export interface ChoiceSpec {
  readonly type: 'choice';
  readonly options: readonly string[];
  readonly fallback: string;
  readonly about: string;
}

/** `true` or `false`. */
export interface FlagSpec {
  readonly type: 'flag';
  readonly fallback: boolean;
  readonly about: string;
}

/** A time (`8 ms`) or a share of a step (`50 %`). */
export interface SpanSpec {
  readonly type: 'span';
  readonly fallback: Span;
  readonly about: string;
}

/** Pulses `per quarter` or `per step`. */
export interface RateSpec {
  readonly type: 'rate';
  readonly fallback: Rate;
  readonly about: string;
}

/**
 * The four settings that only a rhythm sequencer has; their values are in `score.ts`, those of
 * `notes` with the channels.
 */
export interface ScoreSpec {
  readonly type: 'channels' | 'patterns' | 'song' | 'notes';
  readonly about: string;
}

/**
 * Several values, in order. `pitch`: volts, written as volts or as notes (0 V is C2). `gate`: 1 on,
 * 0 off, written as tab. `number`: plain numbers.
 */
export interface RowSpec {
  readonly type: 'row';
  readonly unit: 'pitch' | 'gate' | 'number';
  /** What one value is called, such as `note`; `step`, or `number` of plain numbers, unless given. */
  readonly item?: string;
  /** Bounds of each value: V for `pitch`, 0 and 1 for `gate`. */
  readonly min: number;
  readonly max: number;
  /** Fewest and most values. */
  readonly shortest: number;
  readonly longest: number;
  readonly fallback: readonly number[];
  readonly about: string;
}

/** Rows that the patch names, each of which gives the module an output of that name. */
export interface RowsSpec {
  readonly type: 'rows';
  /** What each of them may be. */
  readonly row: RowSpec;
  /** Most rows; there may be none. */
  readonly most: number;
  readonly fallback: readonly Row[];
  readonly about: string;
}

/** A row by the name that the patch gives it. */
export interface Row {
  readonly name: string;
  readonly values: readonly number[];
}

/** A WAV file of one's own, by its path from the file that names it. It must be given. */
export interface RecordingSpec {
  readonly type: 'recording';
  /** What stands for it until there is one: silence. */
  readonly fallback: Recorded;
  readonly about: string;
}

/** The sound of a file, once read. */
export interface Recorded {
  /** From the patch's own folder, or as the patch is named. */
  readonly path: string;
  /** Hz. */
  readonly sampleRate: number;
  /** By channel, 1.0 being full scale. */
  readonly channels: readonly Float64Array[];
  /** What tells it from every other, for who compares settings as JSON. */
  toJSON(): string;
}

/** What a setting may be. */
export type SettingSpec =
  | NumberSpec
  | ChoiceSpec
  | FlagSpec
  | SpanSpec
  | RateSpec
  | RowSpec
  | RowsSpec
  | RecordingSpec
  | ScoreSpec;

export interface Span {
  readonly unit: 'seconds' | 'steps';
  readonly value: number;
}

export interface Rate {
  readonly count: number;
  readonly per: 'quarter' | 'step';
}

/** What a wire carries; a mismatch is a finding, never an error. */
export type Signal =
  | 'audio' // sound, about +-5 V
  | 'control' // a control voltage
  | 'pitch' // a control voltage at one volt an octave
  | 'gate' // a voltage trigger, gate or clock
  | 'switch'; // a switch trigger: a closure to ground

/** A jack that listens. */
export interface InputJack {
  readonly name: string;
  readonly direction: 'in';
  readonly signal: Signal;
  readonly about: string;
  readonly facts: InputFacts;
  /**
   * For a trigger input, what a rise of it does: it starts something, which is what it does unless
   * given; it sends something back to its beginning; it ends something; or the module passes the
   * gate on, so that what is behind it decides.
   */
  readonly rise?: 'starts' | 'resets' | 'ends' | 'passes';
  /** The setting that says how much of what comes in here goes on. */
  readonly level?: string;
}

/** A jack that drives what is plugged into it. */
export interface OutputJack {
  readonly name: string;
  readonly direction: 'out';
  readonly signal: Signal;
  readonly about: string;
  readonly facts: OutputFacts;
}

/** One of several jacks joined inside, as in a passive multiple. */
export interface ThroughJack {
  readonly name: string;
  readonly direction: 'through';
  readonly about: string;
}

/** A jack of any sort. */
export type Jack = InputJack | OutputJack | ThroughJack;

/** A wire, or whatever else is in the engine, by the name that the engine has for it. */
export type Handle = number;

/**
 * A circuit in JavaScript, for a kind that the engine has none of its own for. It runs beside the
 * others on the same wires, and may do all that they may; it costs more, since the engine calls it for
 * each block or, within a feedback cycle, for each sample.
 */
export interface OwnCircuit {
  /**
   * Works out the samples from `from` up to `to` of the block. However a block is split, it gives the same.
   * @param inputs volts at its input jacks, in the order of `jacks()`: a block each. One without a plug
   *   has its resting volts: 0 V, or the pull-up's.
   * @param outputs to be filled, for its output jacks: volts before the source resistance; for a switch
   *   1 is closed, 0 open.
   */
  process(
    from: number,
    to: number,
    inputs: readonly Float64Array[],
    outputs: readonly Float64Array[],
  ): void;
  /**
   * Whether the next `samples`, with each input at its latest volts, would leave its outputs and all that
   * it remembers as they are. The engine then need not run it. Asked only after it has run once. Absent: never.
   */
  rests?(samples: number): boolean;
  /** Lets `samples` go by that it was not run for, since it rests: for circuits that count them. */
  skip?(samples: number): void;
  /** Called between blocks: flushes numbers too small to matter, which would slow a processor down. */
  settle?(): void;
}

/** Inputs of which one at least must be driven. */
export interface Need {
  readonly inputs: readonly string[];
  /** What becomes of the module without: "never starts". */
  readonly otherwise: string;
  /** The output that needs them, where it is not the whole module. */
  readonly output?: string;
}

/** One change of one output of a rhythm sequencer, in order of `sample`. */
export interface Edge {
  /** Sample index, round(time x rate). */
  readonly sample: number;
  /** Index of the output among the module's output jacks. */
  readonly output: number;
  readonly volts: number;
}

/** Where a module's circuit is put: the wires at its jacks, and the engine that it is made in. */
export interface Site {
  /** Hz. */
  readonly sampleRate: number;
  /** The electrical facts of one of the module's own input jacks, as the rack has them. */
  facts(jack: string): InputFacts;
  /** Whether anything listens to one of its output jacks, or drives one of its inputs. */
  patched(jack: string): boolean;
  /** Whether sound reaches one of its input jacks, rather than control volts or gates. */
  sounds(jack: string): boolean;
  /** The wire at one of its input jacks. */
  input(jack: string): Handle;
  /** The wire that one of its output jacks drives. */
  output(jack: string): Handle;
  /** The same, or {@link NO_WIRE} if nobody listens: what nobody hears need not be worked out. */
  heard(jack: string): Handle;
  /** The comparator behind one of its trigger inputs. */
  trigger(jack: string): Handle;
  /** Four 32-bit seeds made from the patch's seed, the module's name and `purpose`. */
  seeds(purpose: string): readonly [number, number, number, number];
  /**
   * Makes a circuit by the function of that name in `src/circuits`, which takes what follows.
   * @returns the circuit, for `call`, where the function returns it.
   */
  make(circuit: string, ...values: readonly (Handle | number | boolean)[]): Handle;
  /** Puts samples into the engine, for a circuit that plays them. */
  samples(list: Float64Array): Handle;
  /** Calls another function of `src/circuits`, such as one that tells a circuit of one more input. */
  call(name: string, ...values: readonly (Handle | number | boolean)[]): void;
  /** Runs a circuit in JavaScript on the wires of all its jacks. */
  run(circuit: OwnCircuit): void;
  /** Lets a rhythm sequencer's circuit have the edges of the score. */
  play(rhythm: Handle): void;
}

/** Stands for a wire that does not exist. */
export const NO_WIRE: Handle = 0;

/** A setting that is right by itself and wrong beside the others. */
export interface Clash {
  readonly setting: string;
  /** What is wrong, and what would be right: "a time under 0.3 s". */
  readonly message: string;
  readonly expected: string;
}

/** An output that comes to `offset` and the sum of its terms, or to one of them at a time. */
export interface Passing {
  readonly output: string;
  /** V. */
  readonly offset: number;
  readonly terms: readonly { readonly input: string; readonly gain: number }[];
  /** Whether it is one of the terms at a time, as behind a switch. Absent: their sum. */
  readonly isOneOf?: true;
}

/** What files of earlier versions say, and what is written in its place now. */
export interface Former {
  /** The present names of jacks by their former ones. */
  readonly jacks?: { readonly [jack: string]: string };
  /** Jacks that it had whatever was set, and the setting that gives it one now, as a file writes it. */
  readonly usual?: { readonly [jack: string]: string };
  readonly settings?: readonly FormerSettings[];
}

/** Settings that were, and the one that says now what they said together. */
export interface FormerSettings {
  readonly names: readonly string[];
  /** The setting that is there now. */
  readonly now: string;
  /**
   * What a file writes in their place, each as `setting: value`.
   * @param words what it gives, by setting: one of the names at least, and any other.
   */
  write(words: ReadonlyMap<string, string>): readonly string[];
}

type ValueOf<S extends SettingSpec> = S extends ChoiceSpec
  ? S['options'][number]
  : S extends FlagSpec
    ? boolean
    : S extends SpanSpec
      ? Span
      : S extends RateSpec
        ? Rate
        : S extends RowSpec
          ? readonly number[]
          : S extends RowsSpec
            ? readonly Row[]
            : S extends RecordingSpec
              ? Recorded
              : S extends NumberSpec
                ? number
                : unknown;

/** The values of a kind's settings, once read, in the units of {@link Quantity}. */
export type Values<S extends Settings> = { readonly [K in keyof S]: ValueOf<S[K]> };
/** The settings of a kind, by name. */
export type Settings = { readonly [name: string]: SettingSpec };
/** Setting values of a module whose kind is not known at compile time. */
export type AnyValues = { readonly [name: string]: unknown };

/** What a unit of a kind has so many of, and a patch may ask for no more. */
export interface Size<V> {
  readonly about: string;
  /** No unit has more. */
  readonly most: number;
  /** The settings that ask for them. */
  readonly from: readonly string[];
  /** How many a module asks for. */
  of(values: V): number;
}

/** A kind of module: everything that Forehear knows of it. Tie one of your own together with `define`. */
export interface Definition<S extends Settings = Settings, V = AnyValues> {
  /** The word after `kind:`. */
  readonly kind: string;
  /** What it is and does, in a sentence or two, for the reference and for students. */
  readonly about: string;
  readonly settings: S;
  /** What a rack may say that a unit has so many of, by a word in the plural, such as `rows`. */
  readonly sizes?: { readonly [what: string]: Size<V> };
  /** The jacks, in order. Some kinds have more with some settings. */
  jacks(values: V): readonly Jack[];
  /**
   * `circuit`: runs. `score`: runs, fed with the edges of its patterns. `passive`: its through jacks
   * are one node. `output`: where the sound is taken, its inputs being left and right.
   */
  readonly role: 'circuit' | 'score' | 'passive' | 'output';
  /** The settings that the seed decides, as they come out with it; `create` goes by the same. */
  draws?(values: V, seeds: Site['seeds']): Partial<V>;
  /** Makes its circuit, in `src/circuits`; absent for passive and output kinds. */
  create?(values: V, site: Site): void;
  /**
   * For kinds whose outputs are plain sums of their inputs: the parts of each sum. Stems are traced
   * back through them.
   */
  sums?(
    values: V,
  ): readonly { readonly output: string; readonly input: string; readonly gain: number }[];
  /** What it cannot do without. Absent: nothing, since it makes something of nothing. */
  needs?(values: V): readonly Need[];
  /**
   * The inputs whose signal an output carries, scaled, added up or slowed down: sound stays sound and
   * a control voltage one. An output that is not in it makes a signal of its own.
   */
  readonly carries?: { readonly [output: string]: readonly string[] };
  /** The same where another input multiplies it, so that what comes out is a signal of its own. */
  readonly multiplies?: { readonly [output: string]: readonly string[] };
  /** Whether its outputs follow from its inputs at the same sample alone, and from nothing before. */
  readonly isInstant?: true;
  /** What of its settings cannot be together, each to be told where the setting stands. */
  clashes?(values: V): readonly Clash[];
  /** What an output makes of the gates that come in, in closed form. Absent: only playing tells. */
  gates?(output: string): GateLaw<V> | undefined;
  /** Whether its outputs are not one pulse for each pulse that comes in. */
  readonly recounts?: true;
  /** For what counts the clocks that it notices: after how many it starts again. */
  counts?(values: V): number;
  /**
   * How far it is true to the circuit that it stands for, with figures: where it parts from it as one could
   * hear or measure, and what it costs. For the reference; the module's header has the reasons.
   */
  readonly limits?: readonly string[];
  /** What it does to sound, as a lesson says it: `Filtered`. Absent: it goes by its kind. */
  readonly effect?: string;
  /**
   * For kinds that pass a level on in another way than by plain sums, such as with an offset, or
   * slowed down: what each output comes to while the inputs stay. An output that is not in it has
   * levels of its own.
   * @param isDriven whether anything drives an input.
   */
  passes?(values: V, isDriven: (input: string) => boolean): readonly Passing[];
  /** What it had in earlier versions of the file. */
  readonly former?: Former;
  /** The smallest patch that shows it at work: YAML text, rendered by a test. */
  readonly example: string;
}

/** Ties a definition's values to its settings' types, then forgets them for the index of kinds. */
export function define<const S extends Settings>(definition: Definition<S, Values<S>>): Definition {
  return definition as unknown as Definition;
}
