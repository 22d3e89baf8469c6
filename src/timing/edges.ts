/**
 * A rhythm module's settings -> every change of every one of its outputs, in order, for ever.
 *
 * Time advances by stretches of a few steps: each stretch's pulses go into a queue per output, and what
 * can no longer be preceded by anything leaves the queues as edges. So memory stays flat however
 * long the performance, and the first edges come at once.
 *
 * An accent output is set at each of its channel's strokes: to the accent level at an accented one, to the
 * ghost level at a ghost stroke, to the grace level at the grace stroke of a flam, to 0 V at any other, and
 * holds in between, as a sample-and-hold does, so that a tail stays accented to its end. `start` gives one
 * pulse at the first step; `run` is high from the start, of a count-in if there is one, to the end.
 */

import type { Edge } from '../modules/definition.ts';
import type { PatchModule } from '../patch/patch.ts';
import { Performance, type PerformanceOptions } from './performance.ts';
import type { Cause, Pulse, Queue } from './pulses.ts';
import { type RhythmSettings, rhythmSettings } from './rhythm.ts';

export interface TimedEdge extends Edge {
  /** s from the start of the performance; `sample` is this, rounded. */
  readonly time: number;
  readonly cause: Cause;
  /** Bar and step of the pattern, both from 1, of what caused it: a fall names its stroke's. */
  readonly bar: number;
  readonly step: number;
}

/** A stroke of a channel, whether or not its gate rises: see {@link Pulse}. */
export interface Stroke extends Pulse {
  /** Index into the channels. */
  readonly channel: number;
}

/**
 * Gives a function whose calls give the edges of all outputs, by sample and then by output. Outputs
 * count as the jacks of the kind do: a gate for each channel, then an accent for each, then clock,
 * run and start. An output starts at 0 V; the edges of all but an accent go up and down by turns.
 * @returns the function; it returns undefined once a performance with an `until` is over, or at once
 * where that is not above 0.
 * @throws RangeError for numbers that are not finite, and for a tempo or rate that is not positive.
 */
export function edges(
  settings: RhythmSettings,
  options: PerformanceOptions,
): () => TimedEdge | undefined {
  const performance = new Performance(settings, options);
  const outputs = new Outputs(settings);
  return inTurn(performance, () => outputs.take(performance));
}

/** The same of a rhythm module in a patch, whose `seed` is among the options. */
export function edgesOf(
  { name, settings }: PatchModule,
  options: Omit<PerformanceOptions, 'module'>,
): () => TimedEdge | undefined {
  return edges(rhythmSettings(settings), { ...options, module: name });
}

/**
 * Gives a function whose calls give the strokes of all channels, by sample and then by channel, those
 * included that no edge shows because the gate was still high. It ends as {@link edges} does.
 * @throws RangeError as {@link edges} does.
 */
export function strokes(
  settings: RhythmSettings,
  options: PerformanceOptions,
): () => Stroke | undefined {
  const performance = new Performance(settings, options);
  return inTurn(performance, () =>
    performance.channels
      .flatMap((queue, channel) =>
        queue.takeBefore(performance.horizon).map((pulse) => ({ ...pulse, channel })),
      )
      .sort((a, b) => a.sample - b.sample || a.channel - b.channel),
  );
}

/** Hands out the items of one batch after another until the performance is over. */
function inTurn<T>(performance: Performance, nextBatch: () => readonly T[]): () => T | undefined {
  let batch: readonly T[] = [];
  let next = 0;
  return () => {
    while (next === batch.length) {
      if (performance.over) return undefined;
      performance.advance();
      batch = nextBatch();
      next = 0;
    }
    return batch[next++];
  };
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
