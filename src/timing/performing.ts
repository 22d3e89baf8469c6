/**
 * How the engine plays a patch's rhythm sequencers: in their own time, or in that of the pulses they get.
 *
 * One that follows pulses listens at `clock-in`, `run-in` and `reset-in` with the comparators of the
 * jacks, and hands what it plays to the rhythm's circuit within the same sample. So its edges depend on
 * the volts on the wires, in a feedback cycle too.
 */

import type { InputJack, OwnCircuit } from '../modules/definition.ts';
import { type TriggerInput, triggerInput } from '../modules/dsp/trigger-input.ts';
import type { Patch, PatchModule } from '../patch/patch.ts';
import { edgesOf, type TimedEdge } from './edges.ts';
import { FOLLOWED, isFollowing } from './followed.ts';
import { Following, type FollowingOptions } from './following.ts';
import type { Pulse } from './pulses.ts';
import { rhythmSettings } from './settings.ts';

/** What rhythm sequencers that follow pulses are played with. */
export interface FollowingPlay {
  /** When they stop, s; never unless given. */
  readonly until?: number;
  /** Told each edge as it is played. */
  readonly onEdge?: (module: PatchModule, edge: TimedEdge) => void;
  /** Told each stroke of a channel as it starts. */
  readonly onStroke?: (module: PatchModule, stroke: Pulse, channel: number) => void;
  /** Told each step as its pulse comes, as {@link FollowingOptions} says. */
  readonly onStep?: (module: PatchModule, sample: number, bar: number, step: number) => void;
}

export interface PerformingOptions extends FollowingPlay {
  /** Hz. */
  readonly sampleRate: number;
  /** When the performance stops, s. */
  readonly until: number;
  /** As for a performance. */
  readonly round?: number | undefined;
}

/** What a renderer is told of a performance. */
export interface Performing {
  /** The edges of a rhythm with a time of its own; of one that follows pulses, none. */
  readonly edgesOf: (module: PatchModule) => () => TimedEdge | undefined;
  readonly following: FollowingPlay;
}

/**
 * Gives a renderer's options for a performance of a patch.
 */
export function performing(patch: Patch, options: PerformingOptions): Performing {
  const { sampleRate, round, ...following } = options;
  const { until } = following;
  return {
    following,
    edgesOf: (module: PatchModule): (() => TimedEdge | undefined) => {
      if (isFollowing(patch, module)) return () => undefined;
      return edgesOf(module, { sampleRate, seed: patch.seed, until, round });
    },
  };
}

export interface FollowedOptions extends Omit<FollowingOptions, 'module'> {
  /** Whether a plug is in `run-in`; without one pulses always count. */
  readonly hasRun: boolean;
  /** Takes the edges, in order, each no later than the end of the samples that are worked out. */
  readonly send: (edge: TimedEdge) => void;
}

/** Makes the circuit that listens; its inputs are the wires of {@link FOLLOWED}, it has no outputs. */
export function followedRhythm(module: PatchModule, options: FollowedOptions): OwnCircuit {
  const { sampleRate, hasRun, send } = options;
  const following = new Following(rhythmSettings(module.settings), {
    ...options,
    module: module.name,
  });
  const [clock, run, reset] = FOLLOWED.map((name) => {
    const jack = module.jacks.find((one): one is InputJack => one.name === name);
    if (jack === undefined) throw new Error(`${module.name} has no input ${name}`);
    return triggerInput(jack.facts, sampleRate);
  }) as [TriggerInput, TriggerInput, TriggerInput];
  if (hasRun) following.stop(0);
  /** Samples played. */
  let position = 0;
  return {
    process: (from, to, inputs) => {
      const [clocks, runs, resets] = inputs as [Float64Array, Float64Array, Float64Array];
      const edges: TimedEdge[] = [];
      for (let i = from; i < to; i++, position++) {
        clock.run(clocks[i] as number);
        run.run(runs[i] as number);
        reset.run(resets[i] as number);
        if (hasRun && run.rose) following.go();
        if (hasRun && run.fell) following.stop(position);
        if (reset.rose) following.reset(position);
        if (clock.rose) following.pulse(position);
        if (following.next <= position)
          for (const edge of following.take(position)) edges.push(edge);
      }
      // Not before: what takes them may move the memory that the wires are in.
      for (const edge of edges) send(edge);
    },
    rests: (samples) =>
      clock.rests && run.rests && reset.rests && following.next >= position + samples,
    skip: (samples) => {
      position += samples;
    },
  };
}
