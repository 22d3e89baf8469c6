/**
 * Electrical facts of jacks: the values a jack has unless its kind or the owner's rack says
 * otherwise. All volts are to ground.
 */

/** An output: an ideal voltage behind a resistance, or a closure to ground. */
export type OutputFacts = VoltageOutput | SwitchOutput;

/** What an output that gives volts can do. */
export interface VoltageOutput {
  readonly type: 'voltage';
  /** V, the lowest it gives in ordinary use; for a gate, its level at rest. */
  readonly low: number;
  /** V, the highest it gives in ordinary use; for a gate, its level when on. */
  readonly high: number;
  /**
   * V, either side of ground, that it gives at most: where it is driven harder than is usual, rings or has rare peaks.
   * Absent for one that never leaves `low` to `high`.
   */
  readonly most?: number;
  /** Source resistance, ohm; 0 for an output that holds its voltage whatever the load. */
  readonly ohms: number;
  readonly doubt?: Doubt;
  readonly stage?: OutputStage;
}

/** Open at rest; closed it is a resistance to `saturation` volts. */
export interface SwitchOutput {
  readonly type: 'switch';
  /** V across the closed switch at no current. */
  readonly saturation: number;
  /** Resistance when closed, ohm; never 0. */
  readonly ohms: number;
  readonly doubt?: Doubt;
  readonly stage?: OutputStage;
}

/**
 * By how much measured facts may be off, each in its own unit and either way. A fact that is not listed is
 * off by the general tolerance that is asked for.
 */
export type Doubt = Readonly<Partial<Record<DoubtfulFact, number>>>;

/** A fact that a rack may say is off by up to a share. */
export type DoubtfulFact =
  | 'ohms'
  | 'low'
  | 'high'
  | 'saturation'
  | 'rest'
  | 'on'
  | 'off'
  | 'shortest'
  | 'rise'
  | 'width';

/**
 * What stands between a circuit and its output jack, so that the jack gives what its owner measured:
 *
 *   level = low + (v - from.low) (high - low) / (from.high - from.low)
 *   y(t + dt) = level + (y(t) - level) exp(-dt / tau),  tau = rise / ln 9
 *
 * With a width, the level is `high` for so long from each rise of v through the middle, and `low` otherwise.
 *
 * Source: the rise of one resistance and capacitance from 10 to 90 % takes ln 9 = 2.197 time constants.
 */
export interface OutputStage {
  /** V of the circuit that become `low` and `high` at the jack; 0 and 1 for a switch. */
  readonly from: { readonly low: number; readonly high: number };
  /** From 10 to 90 % of the step, s, and so long from 90 to 10 %; 0 for at once. */
  readonly rise: number;
  /** How long a pulse lasts, s; 0 for as long as the circuit makes it. */
  readonly width: number;
  /** Whether the rack gives the high level in volts, which no setting then moves. */
  readonly isFixed: boolean;
  /** Whether its low level is scaled with its high level, which is in doubt, since it is not stated by itself. */
  readonly isScaled?: true;
}

/** An input: a resistance to ground or, for a switch trigger, to a pull-up voltage. */
export interface InputFacts {
  /** Resistance to `rest`, ohm; never 0. */
  readonly ohms: number;
  /** V that the input rests at with no plug: 0, or the pull-up's voltage. */
  readonly rest: number;
  /** V that must not be exceeded, either side of ground. */
  readonly safe: number;
  readonly doubt?: Doubt;
  /** For inputs that respond to a trigger. */
  readonly trigger?: TriggerFacts;
}

/** What an input makes a trigger of: the levels that it fires and is ready again at, and the shortest pulse. */
export interface TriggerFacts {
  /** `voltage` fires above `on`; `switch` fires when pulled under `on`. */
  readonly type: 'voltage' | 'switch';
  /** V. */
  readonly on: number;
  /** V at which it is ready to fire again: below `on` for `voltage`, above it for `switch`. */
  readonly off: number;
  /**
   * Shortest pulse it notices, s. The input answers when the pulse has lasted this long, so it is
   * also the input's delay; 0 answers at once.
   */
  readonly shortest: number;
}

/** 1 kohm: short-circuit proof output. Source: common practice, no source. */
const OUTPUT_OHMS = 1000;
/** Source: common practice, no source. */
const INPUT_OHMS = 100_000;
/** The supply rails that most cabinets run on. Source: common practice, no source. */
export const RAIL_VOLTS = 12;

/** Voltage output. Audio swings about ground by 5 V either way unless `low` and `high` say otherwise. */
export function volts(low: number, high: number, ohms = OUTPUT_OHMS): VoltageOutput {
  return { type: 'voltage', low, high, ohms };
}

/** Voltage output whose levels are only the usual ones: it ends at the supply rails. */
export function usualVolts(low: number, high: number): VoltageOutput {
  return { ...volts(low, high), most: RAIL_VOLTS };
}

/**
 * Pitch output. Held by feedback from the jack itself, since 1 kohm into one 100 kohm input would
 * flatten the pitch by 11.9 cents a volt (Millman's theorem; see test/reference S-net-15).
 */
export function pitchVolts(low: number, high: number): VoltageOutput {
  return volts(low, high, 0);
}

/** Closure to ground through a transistor that is on: 50 ohm. Source: common practice, no source. */
export function closure(): SwitchOutput {
  return { type: 'switch', saturation: 0, ohms: 50 };
}

/** Input for audio or a control voltage. */
export function plain(): InputFacts {
  return { ohms: INPUT_OHMS, rest: 0, safe: RAIL_VOLTS };
}

/**
 * Voltage trigger, gate or clock input: on at 2.5 V, off at 1.5 V. Source: common practice, no source.
 * @param shortest shortest pulse noticed, s.
 */
export function voltageTrigger(shortest = 0.001): InputFacts {
  return { ...plain(), trigger: { type: 'voltage', on: 2.5, off: 1.5, shortest } };
}

/**
 * Switch trigger input: pulled up to 5 V by 10 kohm, fires under 0.8 V, ready again above 2.0 V (the
 * input levels of TTL logic: JEDEC JESD8C, low at most 0.8 V, high at least 2.0 V; from memory).
 * @param shortest shortest pulse noticed, s.
 */
export function switchTrigger(shortest = 0.001): InputFacts {
  return {
    ohms: 10_000,
    rest: 5,
    safe: RAIL_VOLTS,
    trigger: { type: 'switch', on: 0.8, off: 2, shortest },
  };
}
