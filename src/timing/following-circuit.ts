/**
 * The circuit of a rhythm sequencer that follows pulses. It listens at `clock-in`, `run-in` and `reset-in`
 * with the comparators of the jacks, and hands what it plays to the rhythm's own circuit within the same
 * sample. So its edges depend on the volts on the wires, in a feedback cycle too.
 */

import type { InputJack, OwnCircuit } from '../modules/definition.ts';
import { type TriggerInput, triggerInput } from '../modules/dsp/trigger-input.ts';
import type { PatchModule } from '../patch/patch.ts';
import { Following, type FollowingOptions } from './following.ts';
import type { TimedEdge } from './pulses.ts';
import { FOLLOWED, rhythmSettings } from './rhythm.ts';

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
