/**
 * Which phase an envelope is in, told from outside: from its output's volts and its triggers, by the same rules
 * as the circuit. A phase that begins between two samples is seen at the one after it, and so is the decay
 * after an attack of zero length. `rest` is under 1 % of the peak, which nobody hears; the circuit falls on for
 * a while.
 */

import type { Course } from '../modules/definition.ts';

export type Phase = 'attack' | 'decay' | 'sustain' | 'release' | 'cut' | 'rest';

/** What the envelope's trigger inputs say at a sample. */
export interface Triggered {
  readonly on: boolean;
  readonly rose: boolean;
  readonly fell: boolean;
}

/** Share of the peak. */
const NOTHING = 0.01;
/** Share of the peak within which it counts as reached. */
const NEAR = 1e-9;

export class Phases {
  phase: Phase = 'rest';
  private readonly gated: boolean;
  private readonly peak: number;
  /** Samples. */
  private readonly decay: number;
  private decayed = 0;
  private before = 0;

  /**
   * @param peak V of its peak at the jack, under the load of what is plugged into it.
   */
  constructor({ gated, decay }: Course, peak: number, sampleRate: number) {
    this.gated = gated;
    this.peak = peak;
    this.decay = decay * sampleRate;
  }

  /**
   * Takes a sample.
   * @returns whether another phase, or the same one again, begins at it.
   */
  take(volts: number, trigger: Triggered, cut: Triggered): boolean {
    const next = this.next(volts, trigger, cut);
    this.before = volts;
    if (next === undefined) return false;
    if (next === 'decay') this.decayed = 0;
    this.phase = next;
    return true;
  }

  private next(volts: number, trigger: Triggered, cut: Triggered): Phase | undefined {
    const { phase, peak, gated } = this;
    if (phase === 'decay') this.decayed += 1;
    if (cut.on) {
      if (cut.rose && phase !== 'rest') return 'cut';
    } else if (trigger.rose) return 'attack';
    else if (trigger.fell && phase !== 'cut' && phase !== 'rest' && (gated || phase === 'sustain'))
      return 'release';
    if (phase === 'attack' && (volts < this.before || volts >= peak * (1 - NEAR))) return 'decay';
    if (phase === 'decay' && this.decayed >= this.decay) return trigger.on ? 'sustain' : 'release';
    if ((phase === 'release' || phase === 'cut') && volts < NOTHING * peak) return 'rest';
    return undefined;
  }
}
