/**
 * What modules make of the gates that they get, in closed form: the arithmetic of the kinds
 * themselves, on pulses instead of samples. Kinds that are not here are played instead.
 */

import type { AnyValues } from '../../modules/definition.ts';
import { MOST_IN_FLIGHT } from '../../modules/delay.ts';
import { pulseSamples } from '../../modules/dsp/pulse-timer.ts';
import { RATE } from './played.ts';
import { type Pulse, stretched, union } from './pulses.ts';

export interface Passing {
  /** The inputs that decide an output's pulses; one without a driver is off. */
  inputs(output: string): readonly string[];
  /**
   * The output's pulses, from those that its inputs notice, in the same order.
   * @returns undefined where they cannot be told from these.
   */
  pulses(
    output: string,
    settings: AnyValues,
    noticed: readonly (readonly Pulse[])[],
  ): readonly Pulse[] | undefined;
}

/** By kind. */
export const PASSING: { readonly [kind: string]: Passing | undefined } = {
  'trigger-converter': {
    inputs: (output) => [output === 'switch-out' ? 'voltage-in' : 'switch-in'],
    pulses: (_output, _settings, [gate = []]) => gate,
  },

  pulse: {
    inputs: () => ['trigger'],
    pulses: (_output, { length, retrigger }, [triggers = []]) =>
      stretched(triggers, pulseSamples(length as number, RATE), retrigger === true),
  },

  delay: {
    inputs: () => ['trigger'],
    pulses(_output, { time, length }, [triggers = []]) {
      const late = Math.round((time as number) * RATE);
      const crowded = triggers.some(({ start }, i) => {
        const ahead = triggers[i + MOST_IN_FLIGHT];
        return ahead !== undefined && ahead.start <= start + late;
      });
      if (crowded) return undefined;
      const moved = triggers.map(({ start, end }) => ({ start: start + late, end: end + late }));
      return stretched(moved, pulseSamples(length as number, RATE), true);
    },
  },

  logic: {
    inputs: (output) => (output === 'not' ? ['a'] : ['a', 'b']),
    pulses(output, _settings, [a = [], b = []]) {
      switch (output) {
        case 'or':
          return union([a, b]);
        case 'and':
          return where(a, b, (inA, inB) => inA && inB);
        case 'exclusive':
          return where(a, b, (inA, inB) => inA !== inB);
        default:
          return where(a, b, (inA) => !inA);
      }
    },
  },

  'clock-divider': {
    inputs: () => ['clock', 'reset'],
    pulses(output, { divide }, [clocks = [], resets = []]) {
      const each =
        output === 'divided' ? (divide as number) : Number(/^by-(\d+)$/.exec(output)?.[1]);
      // A multiplier goes by the time between clocks.
      if (Number.isNaN(each)) return undefined;
      let count = 0;
      let next = 0;
      return clocks.filter(({ start }) => {
        for (; (resets[next]?.start ?? Number.POSITIVE_INFINITY) <= start; next++) count = 0;
        count += 1;
        return (count - 1) % each === 0;
      });
    },
  },
};

/** The stretches in which a condition of two gates is true, from sample 0 on. */
function where(
  a: readonly Pulse[],
  b: readonly Pulse[],
  isOn: (inA: boolean, inB: boolean) => boolean,
): readonly Pulse[] {
  const edges = [...changes(a, 0), ...changes(b, 1)].sort((x, y) => x.sample - y.sample);
  const made: { start: number; end: number }[] = [];
  const on: [boolean, boolean] = [false, false];
  let was = isOn(false, false);
  if (was) made.push({ start: 0, end: Number.POSITIVE_INFINITY });
  for (let i = 0; i < edges.length; ) {
    const { sample } = edges[i] as Change;
    for (; edges[i]?.sample === sample; i++) on[edges[i]?.gate as 0 | 1] = edges[i]?.on === true;
    const now = isOn(on[0], on[1]);
    if (now && !was) made.push({ start: sample, end: Number.POSITIVE_INFINITY });
    else if (!now && was) (made.at(-1) as { end: number }).end = sample;
    was = now;
  }
  // What a change at sample 0 ended has not been.
  return made.filter(({ start, end }) => end > start);
}

interface Change {
  readonly sample: number;
  readonly gate: 0 | 1;
  readonly on: boolean;
}

function changes(pulses: readonly Pulse[], gate: 0 | 1): Change[] {
  return pulses.flatMap(({ start, end }) => [
    { sample: start, gate, on: true },
    ...(end < Number.POSITIVE_INFINITY ? [{ sample: end, gate, on: false }] : []),
  ]);
}
