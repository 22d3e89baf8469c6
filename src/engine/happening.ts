/** What can happen on the wires. */

import type { Cause } from '../timing/pulses.ts';
import type { Phase } from './phases.ts';

/** One edge, trigger, step or phase. */
export interface Happening {
  /** The nearest sample, from 0. */
  readonly sample: number;
  /** s; of what a rhythm sends the exact time, which `sample` is the nearest sample to. */
  readonly time: number;
  /** `module.jack`. */
  readonly jack: string;
  readonly edge: Change;
  /** V at the jack from then on. */
  readonly volts: number;
  /** Bar and step of the stroke or clock pulse that it comes from; absent where it comes from none. */
  readonly bar?: number;
  readonly step?: number;
  readonly cause?: Cause;
  /** s since that stroke or clock pulse, for what a trigger input notices. */
  readonly latency?: number;
  /** Where a follower stands, from 1. */
  readonly position?: number;
}

/**
 * `rise`, `fall`: of a rhythm's gates; `level`: of its accents. `on`, `off`: an input notices.
 * `step`: a follower goes on. The others are phases of an envelope.
 */
export type Change = 'rise' | 'fall' | 'level' | 'on' | 'off' | 'step' | Phase;
