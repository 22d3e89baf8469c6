/** A way out of a rack that is short, as data that scripts can rely on. */

import type { Action, Cost } from './move.ts';

/** One step of a way out. */
export interface WayOutStep {
  readonly action: Action;
  /** The modules that are changed or free after it; then, of a share, the one that does their work. */
  readonly modules: readonly string[];
  readonly text: string;
  /** What it costs, in words; `null` where it costs nothing that is heard. */
  readonly cost: string | null;
}

/** A way out of a rack that is short. */
export interface WayOut {
  /**
   * `cheapest`: with what there is. `one-more`: with one module more. `leave-out`: without a voice.
   * `part`: nothing helps the whole patch, and this helps what the finding is about.
   */
  readonly way: 'cheapest' | 'one-more' | 'leave-out' | 'part';
  /** The kind of module to get; `null` where none is. */
  readonly get: string | null;
  readonly steps: readonly WayOutStep[];
  /** Once through the song, in hits. */
  readonly cost: Cost;
}
