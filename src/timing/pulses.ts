/**
 * Pulses: what a stroke, the clock, `run` and `start` have in common. A pulse is high from its first
 * sample to the one before its end. Pulses of one output that touch or overlap make one long one,
 * without a dip: a second stroke under a gate that is still high is not heard by anything that waits
 * for the gate to rise.
 */

import type { Edge } from '../modules/definition.ts';
import { nearestSample, type Split } from './fixed.ts';
import type { RhythmSettings } from './rhythm.ts';

/**
 * What a pulse is there for: `ghost` is a stroke softer than a plain one, `ratchet` any stroke of a step
 * with several, `grace` a flam's first.
 */
export type Cause = 'hit' | 'ghost' | 'grace' | 'ratchet' | 'clock' | 'run' | 'start';

export interface Pulse {
  readonly cause: Cause;
  /** Start and end, s from the start of the performance. */
  readonly time: number;
  readonly endTime: number;
  /** The same in samples; a pulse lasts one sample at least. */
  readonly sample: number;
  readonly end: number;
  readonly accent: boolean;
  /** The bar and the step of the pattern that it belongs to, both from 1. */
  readonly bar: number;
  readonly step: number;
}

/** Makes a pulse that starts at `whole + fraction` samples, both from the performance's start. */
export function pulseAt(
  sampleRate: number,
  whole: number,
  fraction: number,
  length: Split,
  cause: Cause,
  accent: boolean,
  bar: number,
  step: number,
): Pulse {
  const endWhole = whole + length.whole;
  const endFraction = fraction + length.fraction;
  const sample = nearestSample(whole, fraction);
  return {
    cause,
    time: (whole + fraction) / sampleRate,
    endTime: (endWhole + endFraction) / sampleRate,
    sample,
    end: Math.max(nearestSample(endWhole, endFraction), sample + 1),
    accent,
    bar,
    step,
  };
}

const NONE: readonly Pulse[] = [];

/** Pulses of one output that wait until nothing can come before them any more. */
export class Queue {
  private readonly waiting: Pulse[] = [];

  /** The sample at which the first of them starts; infinity if there is none. */
  get first(): number {
    return this.waiting[0]?.sample ?? Number.POSITIVE_INFINITY;
  }

  /** Adds a pulse behind those that start no later; quick when pulses come almost in order. */
  add(pulse: Pulse): void {
    const { waiting } = this;
    let at = waiting.length;
    while (at > 0 && (waiting[at - 1] as Pulse).sample > pulse.sample) at--;
    if (at === waiting.length) waiting.push(pulse);
    else waiting.splice(at, 0, pulse);
  }

  /** Takes the pulses that start before a sample, in order. */
  takeBefore(sample: number): readonly Pulse[] {
    const [first] = this.waiting;
    if (first === undefined || first.sample >= sample) return NONE;
    let count = 1;
    while (count < this.waiting.length && (this.waiting[count] as Pulse).sample < sample) count++;
    return this.waiting.splice(0, count);
  }
}

export interface TimedEdge extends Edge {
  /** s from the start of the performance; `sample` is this, rounded. */
  readonly time: number;
  readonly cause: Cause;
  /** Bar and step of the pattern, both from 1, of what caused it: a fall names its stroke's. */
  readonly bar: number;
  readonly step: number;
}

/** What plays: the pulses of each output, all those known that start before the horizon. */
export interface PlayedPulses {
  readonly channels: readonly Queue[];
  readonly clock: Queue;
  readonly run: Queue;
  readonly start: Queue;
  /** Sample. */
  readonly horizon: number;
  /** Bar and step, both from 1, at which it ends. */
  placeOfEnd(): StepPlace;
}

/** The outputs of a rhythm module, from pulses to edges. */
export class Outputs {
  private readonly gates: readonly Gate[];
  private readonly accents: readonly Accent[];
  private readonly clock: Gate;
  private readonly run: Gate;
  private readonly start: Gate;

  constructor(settings: RhythmSettings) {
    const { level, channels } = settings;
    const count = channels.length;
    this.gates = channels.map((_, channel) => new Gate(channel, level));
    this.accents = channels.map((_, channel) => new Accent(count + channel, settings));
    this.clock = new Gate(2 * count, level);
    this.run = new Gate(2 * count + 1, level);
    this.start = new Gate(2 * count + 2, level);
  }

  /** The sample at which the next of them falls, as far as is known; infinity if none is high. */
  get nextFall(): number {
    let next = Math.min(this.clock.end, this.run.end, this.start.end);
    for (const gate of this.gates) next = Math.min(next, gate.end);
    return next;
  }

  /** Lets `run` fall at a sample, if it is high. */
  stop(sample: number, sampleRate: number): void {
    this.run.endAt(sample, sample / sampleRate);
  }

  /** Takes the pulses before the performance's horizon and gives their edges, in order. */
  take(performance: PlayedPulses): readonly TimedEdge[] {
    const { horizon } = performance;
    const edges: TimedEdge[] = [];
    performance.channels.forEach((queue, channel) => {
      const pulses = queue.takeBefore(horizon);
      this.gates[channel]?.play(pulses, horizon, edges);
      this.accents[channel]?.play(pulses, edges);
    });
    this.clock.play(performance.clock.takeBefore(horizon), horizon, edges);
    this.start.play(performance.start.takeBefore(horizon), horizon, edges);
    this.run.play(performance.run.takeBefore(horizon), horizon, edges, performance.placeOfEnd());
    return edges.sort((a, b) => a.sample - b.sample || a.output - b.output);
  }
}

/** An output that is high while any of its pulses is. */
class Gate {
  private pulse: Pulse | undefined;
  private readonly output: number;
  private readonly level: number;

  constructor(output: number, level: number) {
    this.output = output;
    this.level = level;
  }

  /** The sample at which it falls; infinity while it is low. */
  get end(): number {
    return this.pulse?.end ?? Number.POSITIVE_INFINITY;
  }

  /** Ends the pulse that is on. */
  endAt(sample: number, time: number): void {
    if (this.pulse !== undefined) this.pulse = { ...this.pulse, end: sample, endTime: time };
  }

  /**
   * Takes the next pulses, in order of their starts.
   * @param before sample; no other pulse before it will come, so a fall before it is sure.
   * @param place of a fall that ends the performance; any other fall is its pulse's.
   */
  play(pulses: readonly Pulse[], before: number, edges: TimedEdge[], place?: StepPlace): void {
    for (const pulse of pulses) {
      if (this.pulse !== undefined && pulse.sample <= this.pulse.end) {
        if (pulse.end > this.pulse.end) this.pulse = pulse;
        continue;
      }
      this.fall(edges);
      this.pulse = pulse;
      edges.push(edge(pulse, this.output, this.level));
    }
    if (this.pulse !== undefined && this.pulse.end < before) this.fall(edges, place);
  }

  private fall(edges: TimedEdge[], place: StepPlace | undefined = this.pulse): void {
    if (this.pulse === undefined || place === undefined) return;
    const { cause, end: sample, endTime: time } = this.pulse;
    const { bar, step } = place;
    edges.push({ sample, output: this.output, volts: 0, time, cause, bar, step });
    this.pulse = undefined;
  }
}

type StepPlace = Pick<Pulse, 'bar' | 'step'>;

/** An output that holds what the last stroke set. */
class Accent {
  private volts = 0;
  private readonly output: number;
  private readonly accented: number;
  private readonly ghost: number;
  private readonly grace: number;

  constructor(output: number, settings: RhythmSettings) {
    this.output = output;
    this.accented = settings['accent-level'];
    this.ghost = settings['ghost-level'];
    this.grace = settings['grace-level'];
  }

  /** Takes strokes in order. Of those on one sample the strongest decides. */
  play(pulses: readonly Pulse[], edges: TimedEdge[]): void {
    for (let i = 0; i < pulses.length; i++) {
      let pulse = pulses[i] as Pulse;
      for (let next = pulses[i + 1]; next?.sample === pulse.sample; next = pulses[++i + 1])
        if (strength(next) > strength(pulse)) pulse = next;
      const volts = this.voltsOf(pulse);
      if (volts === this.volts) continue;
      this.volts = volts;
      edges.push(edge(pulse, this.output, volts));
    }
  }

  private voltsOf({ accent, cause }: Pulse): number {
    if (accent) return this.accented;
    if (cause === 'ghost') return this.ghost;
    return cause === 'grace' ? this.grace : 0;
  }
}

/** Accented strokes are the strongest, then plain ones, ghosts and grace strokes. */
function strength({ accent, cause }: Pulse): number {
  if (accent) return 3;
  if (cause === 'ghost') return 1;
  return cause === 'grace' ? 0 : 2;
}

function edge({ sample, time, cause, bar, step }: Pulse, output: number, volts: number): TimedEdge {
  return { sample, output, volts, time, cause, bar, step };
}
