/** One thing that can be done about a rack that is short, and what it costs. */

import type { Patch } from '../../patch/patch.ts';

/** What is heard otherwise than written, in hits once through the song. */
export interface Cost {
  /** Hits that are not heard at all. */
  readonly lostHits: number;
  /** Hits where none is written. */
  readonly addedHits: number;
  /** Hits that come as written and sound otherwise: without their accent, their filter, their own shape. */
  readonly alteredHits: number;
  /** The outputs of the voices that are silent. */
  readonly silentVoices: readonly string[];
}

export const FREE: Cost = { lostHits: 0, addedHits: 0, alteredHits: 0, silentVoices: [] };

export type Action =
  /** An envelope fired by voltage in place of one that a switch fires, or the other way round. */
  | 'trigger-by-voltage'
  | 'trigger-by-switch'
  /** One module does the work of two. */
  | 'share'
  /** A cable goes past a module. */
  | 'bypass'
  | 'leave-out';

export interface Move {
  readonly action: Action;
  /** What to do, as the beginning of a sentence without a capital; a patch may be told by its units. */
  readonly text: string;
  /** What it costs, in words; undefined where it costs nothing. */
  readonly costText: string | undefined;
  readonly cost: Cost;
  /** Of what costs the same, what is nearer to what is written is to be preferred; 0 unless given. */
  readonly farness?: number;
  /** The module that is free after it, or changed by it; then the one that does its work, where one does. */
  readonly modules: readonly string[];
  /** Modules that it changes or takes out, or whose hits it changes. */
  readonly touches: ReadonlySet<string>;
  /** Modules that must stay as they are for it. */
  readonly keeps: ReadonlySet<string>;
  /** Kinds of module that it may free. */
  readonly frees: ReadonlySet<string>;
  /** Undefined where it cannot be done to this patch. */
  readonly change: (patch: Patch) => Patch | undefined;
}

export function sumOf(costs: readonly Cost[]): Cost {
  return costs.reduce(
    (sum, cost) => ({
      lostHits: sum.lostHits + cost.lostHits,
      addedHits: sum.addedHits + cost.addedHits,
      alteredHits: sum.alteredHits + cost.alteredHits,
      silentVoices: [...sum.silentVoices, ...cost.silentVoices],
    }),
    FREE,
  );
}

export function isFree({ lostHits, addedHits, alteredHits, silentVoices }: Cost): boolean {
  return lostHits + addedHits + alteredHits + silentVoices.length === 0;
}

/** Whether two can be done together, each costing what it costs alone. */
export function goTogether(one: Move, other: Move): boolean {
  for (const name of one.touches)
    if (other.touches.has(name) || other.keeps.has(name)) return false;
  for (const name of one.keeps) if (other.touches.has(name)) return false;
  return true;
}
