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
   * For a share that is fed back in a loop: what one hears is how long it rings, as -1/ln|value| passages,
   * so that a slider gives 90, 99 and 100 % as much room as 0 to 90 %.
   */
  readonly rings?: true;
  /** For stages of an envelope: the stage time in time constants, so that `16 ms tau` is allowed. */
  readonly timeConstants?: number;
  /** The input whose volts move it by octaves, where one does. */
  readonly moved?: Moved;
  /** What to measure in a recording to find the value, where that is possible, so its dial can be calibrated. */
  readonly toldBy?: ToldBy;
  /** The input of which it is the level, or how far its volts move something: without a plug there it changes nothing. */
  readonly input?: string;
  /** Whether it makes a sound what it is, so that a fit moves it unasked. */
  readonly tone?: Tone;
}

/** How a setting makes a sound what it is: as its colour, its pitch, or the time that it rings. */
export interface Tone {
  readonly as: 'colour' | 'pitch' | 'ringing';
  /** The output that has it, where the others do not. */
  readonly output?: string;
  /** The highest value that a fit tries unasked, in the setting's own unit. */
  readonly most?: number;
}

/**
 * What a recording can tell about a setting: a stage of an envelope, the corner of a filter, the level of a
 * noise, a pitch, how often a gate comes and how long it is, the spacing of the pulses of a burst, the delay of
 * a pulse after its trigger, how often volts step, what share of a sound passes, how long a glide takes, how
 * fast a low-pass gate shuts.
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
  /** The setting by which the volts are multiplied, if one is: at 100 % they are unchanged. */
  readonly amount?: string;
  /** The highest frequency that they can move it to, as a share of the sample rate. */
  readonly highest?: number;
}

/** One word out of a few. */
export interface ChoiceSpec {
  readonly type: 'choice';
  readonly options: readonly string[];
  readonly fallback: string;
  readonly about: string;
  /** For a choice of `voltage` and `switch`: the input whose type of trigger it is. */
  readonly fires?: string;
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
 * The four settings that only a rhythm sequencer has; the values of `notes` are with the channels.
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
  /** What is played until a file is given: silence. */
  readonly fallback: Recorded;
  readonly about: string;
}

/** The sound of a file, once read. */
export interface Recorded {
  /** Path from the patch's own folder, or written the way the patch's path is. */
  readonly path: string;
  /** Hz. */
  readonly sampleRate: number;
  /** By channel, 1.0 being full scale. */
  readonly channels: readonly Float64Array[];
  /** Identifies it among all recordings, for code that compares settings as JSON. */
  toJSON(): string;
}

/** All types of settings. */
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
   * For a trigger input, the effect of a rise: it starts something, which is the case unless given; it sends
   * something back to its beginning; it ends something; or the module passes the gate on, so that the modules
   * after it decide.
   */
  readonly rise?: 'starts' | 'resets' | 'ends' | 'passes';
  /** Whether a score with a plug here has its time from it, so that its own tempo only says what to expect. */
  readonly leads?: true;
  /** The setting for how much of this input's signal is passed on. */
  readonly level?: string;
}

/** A jack that drives what is plugged into it. */
export interface OutputJack {
  readonly name: string;
  readonly direction: 'out';
  readonly signal: Signal;
  readonly about: string;
  readonly facts: OutputFacts;
  /** For noise, its colour: the same power in every hertz, in every octave, or half in each octave up. */
  readonly noise?: 'white' | 'pink' | 'red';
  /** For a filter of two poles, what it leaves of its input around the cutoff. */
  readonly response?: 'low' | 'band' | 'high' | 'notch';
}

/** One of several jacks joined inside, as in a passive multiple. */
export interface ThroughJack {
  readonly name: string;
  readonly direction: 'through';
  readonly about: string;
}

/** A jack of any sort. */
export type Jack = InputJack | OutputJack | ThroughJack;

/** The engine's reference to a wire, or to anything else in it. */
export type Handle = number;

/**
 * A circuit in JavaScript, for a kind that the engine itself has no circuit for. It runs beside the others on
 * the same wires, and may do all that they may; it costs more, since the engine calls it for each block or,
 * within a feedback cycle, for each sample.
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
  /** Skips `samples` for which it was not run, since it rests: for circuits that count samples. */
  skip?(samples: number): void;
  /** Called between blocks: flushes numbers too small to matter, which would slow a processor down. */
  settle?(): void;
}

/** Inputs of which one at least must be driven. */
export interface Need {
  readonly inputs: readonly string[];
  /** What the module does without them: "never starts". */
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
  /** The same, or {@link NO_WIRE} if nothing listens: an output that nothing hears need not be worked out. */
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
  /** Gives the edges of the score to a rhythm sequencer's circuit. */
  play(rhythm: Handle): void;
}

/** Stands for a wire that does not exist. */
export const NO_WIRE: Handle = 0;

/** A setting that is valid by itself but contradicts the others. */
export interface Clash {
  readonly setting: string;
  /** What is wrong, and what would be right: "a time under 0.3 s". */
  readonly message: string;
  readonly expected: string;
}

/** A part of an output that is a plain sum of inputs. */
export interface SumPart {
  readonly output: string;
  readonly input: string;
  readonly gain: number;
}

/** Sums whose gains follow volts. */
export interface MovedSums {
  /** The input whose volts move them. */
  readonly by: string;
  at(volts: number): readonly SumPart[];
}

/** An output whose volts are `offset` plus the sum of its terms, or plus one of them at a time. */
export interface Passing {
  readonly output: string;
  /** V. */
  readonly offset: number;
  readonly terms: readonly { readonly input: string; readonly gain: number }[];
  /** Whether it carries one of the terms at a time, as after a switch. Absent: their sum. */
  readonly isOneOf?: true;
}

/** Where the volts of an input make a module go on as they rise. */
export interface Crossed {
  readonly input: string;
  /** V. */
  readonly on: number;
  /** The input whose volts are added to these. */
  readonly moved: string;
  /** The setting that moves them. */
  readonly setting: string;
}

/** Names in files of earlier versions, and what is written in their place now. */
export interface Former {
  /** The present names of jacks by their former ones. */
  readonly jacks?: { readonly [jack: string]: string };
  /** Jacks that it used to have whatever was set, and the setting that now gives it each, as a file writes it. */
  readonly usual?: { readonly [jack: string]: string };
  readonly settings?: readonly FormerSettings[];
}

/** Former settings, and the present one that replaces them together. */
export interface FormerSettings {
  readonly names: readonly string[];
  /** The present setting. */
  readonly now: string;
  /**
   * Gives the lines that a file gets in their place, each as `setting: value`.
   * @param words the file's values by setting: of at least one of `names`, and of any other setting.
   */
  write(words: ReadonlyMap<string, string>): readonly string[];
}

/** The course of an envelope: in an attack to its peak, a decay to its sustain level, and a release. V and s. */
export interface Course {
  readonly peak: number;
  readonly sustain: number;
  readonly attack: number;
  readonly decay: number;
  readonly release: number;
  /** Whether all stages are straight lines, rather than those of a capacitor. */
  readonly linear: boolean;
  /** Whether the end of the trigger starts the release; otherwise attack and decay run to their end. */
  readonly gated: boolean;
  /** Time constants in an attack, toward 1.5 x the peak, and in a fall. */
  readonly attackConstants: number;
  readonly fallConstants: number;
}

/** How loud something comes through at a steady voltage: by its law, and no louder than it can. */
export interface Opened {
  readonly law: number;
  readonly gain: number;
  /** V at which it is as loud as it comes in. */
  readonly unity: number;
}

/** The time by which a module delays, as volts move it. */
export interface Delayed {
  /** s, the longest that it holds. */
  readonly longest: number;
  /** Samples, the shortest. */
  readonly shortest: number;
  /**
   * s that so many volts at an input ask for, with 0 V at the others; negative where they ask for less than 0 s.
   * By input.
   */
  readonly asked: { readonly [input: string]: (volts: number) => number };
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

/** A number that a unit of a kind is limited to, such as its channels; a patch may not ask for more. */
export interface Size<V> {
  readonly about: string;
  /** The highest number of any unit. */
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
  /**
   * What it is called besides, in small letters with hyphens: short forms and other words of the trade (common
   * practice, no source). They are no names in a file; who writes one is told the kind.
   */
  readonly alsoCalled?: readonly string[];
  /** What it is and does, in a sentence or two, for the reference and for students. */
  readonly about: string;
  readonly settings: S;
  /** The numbers that a rack may state for a unit, by a word in the plural, such as `rows`. */
  readonly sizes?: { readonly [what: string]: Size<V> };
  /** The setting for how many jacks it has, of which each is as good as any other. */
  readonly grows?: string;
  /** The jacks, in order. Some kinds have more with some settings. */
  jacks(values: V): readonly Jack[];
  /**
   * `circuit`: runs. `score`: runs, fed with the edges of its patterns. `passive`: its through jacks
   * are one node. `output`: where the sound is taken, its inputs being left and right.
   */
  readonly role: 'circuit' | 'score' | 'passive' | 'output';
  /** Whether its circuit draws from the seed, so that two that are set alike are not the same. */
  readonly isSeeded?: true;
  /** The settings that the seed decides, with the values it gives; `create` uses the same. */
  draws?(values: V, seeds: Site['seeds']): Partial<V>;
  /** Makes its circuit, in `src/circuits`; absent for passive and output kinds. */
  create?(values: V, site: Site): void;
  /**
   * For kinds whose outputs are plain sums of their inputs: the parts of each sum. Stems are traced
   * back through them.
   */
  sums?(values: V): readonly SumPart[];
  /**
   * For kinds whose outputs are such sums too, with gains that the volts at one input move at once: that input, and
   * the parts at a voltage there. Stems are traced back through them as well.
   */
  moves?(values: V): MovedSums;
  /** The inputs it cannot do without. Absent: none, since it makes a signal by itself. */
  needs?(values: V): readonly Need[];
  /**
   * The inputs whose signal an output carries, scaled, added up or slowed down: sound stays sound and a control
   * voltage stays one. An output that is not listed makes a signal of its own.
   */
  readonly carries?: { readonly [output: string]: readonly string[] };
  /** The same where another input multiplies it, so that what comes out is a signal of its own. */
  readonly multiplies?: { readonly [output: string]: readonly string[] };
  /**
   * The inputs that the outputs are in proportion to, beside what other inputs add, up to the supply rails: what
   * comes in twice as far comes out twice as far, though not at the same moment.
   */
  readonly scales?: readonly string[];
  /** Whether its outputs follow from its inputs at the same sample alone, and from nothing before. */
  readonly isInstant?: true;
  /** For envelopes, whose `out` follows this course from each rise at `trigger`, until a `cut`. */
  course?(values: V): Course;
  /** For what a steady voltage at `control` opens: how far. */
  opened?(values: V, volts: number): Opened;
  /** Whether what is opened follows those volts at a pace of its own. */
  readonly lags?: true;
  /** For what delays by a time that volts move. */
  delayed?(values: V): Delayed;
  /**
   * The input that is heard without the module too, fuller or brighter, since its outputs only leave parts of it
   * out.
   */
  readonly filters?: string;
  /** For what compares one input with a voltage. */
  crossed?(values: V): Crossed;
  /** Settings that contradict each other; each is reported at the line of the setting. */
  clashes?(values: V): readonly Clash[];
  /** How an output's gates follow from the gates that come in, in closed form. Absent: only playing can tell. */
  gates?(output: string): GateLaw<V> | undefined;
  /** Whether its outputs are not one pulse for each pulse that comes in. */
  readonly recounts?: true;
  /** For kinds that count the clocks they notice: after how many they start again. */
  counts?(values: V): number;
  /**
   * How closely it models the circuit that it stands for, with figures: audible or measurable differences, and
   * what it costs. For the reference; the module's header has the reasons.
   */
  readonly limits?: readonly string[];
  /** What it does to sound, as a lesson says it: `Filtered`. Absent: the name of its kind. */
  readonly effect?: string;
  /**
   * For kinds that pass a level on in another way than by plain sums, such as with an offset, or slowed down:
   * the level of each output while the inputs stay. An output that is not listed has levels of its own.
   * @param isDriven whether anything drives an input.
   */
  passes?(values: V, isDriven: (input: string) => boolean): readonly Passing[];
  /** Its names in earlier versions of the file format. */
  readonly former?: Former;
  /** The smallest patch that shows it at work: YAML text, rendered by a test. */
  readonly example: string;
}

/** Ties a definition's values to its settings' types, then drops the types for the index of kinds. */
export function define<const S extends Settings>(definition: Definition<S, Values<S>>): Definition {
  return definition as unknown as Definition;
}
