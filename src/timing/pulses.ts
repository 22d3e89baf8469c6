/**
 * Pulses: what a stroke, the clock, `run` and `start` have in common. A pulse is high from its first
 * sample to the one before its end. Pulses of one output that touch or overlap make one long one,
 * without a dip: a second stroke under a gate that is still high is not heard by anything that waits
 * for the gate to rise.
 */

import { nearestSample, type Split } from './fixed.ts';

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
