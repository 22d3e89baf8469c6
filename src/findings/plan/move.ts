/** One thing that can be done about a rack that is short, and what it costs. */

import type { Patch } from '../../patch/patch.ts';

/** The samples of the gate of each hit, by the sample of its stroke; 0 where that is not known. */
export type Hits = ReadonlyMap<number, number>;

/** How what is heard differs from what is written, in hits once through the song. */
export interface Cost {
  /** Hits that are not heard at all. */
  readonly lostHits: number;
  /** Hits that are heard where none is written. */
  readonly addedHits: number;
  /** Hits that come as written and sound different: without their accent, their filter, their own shape. */
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

export interface PlanMove {
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
  /** Modules that it takes out, or plugs past. */
  readonly touches: ReadonlySet<string>;
  /** Modules whose trigger it changes. */
  readonly sets: ReadonlySet<string>;
  /** Modules that get other hits by it. */
  readonly rehits: ReadonlySet<string>;
  /** Modules that must be there for it. */
  readonly keeps: ReadonlySet<string>;
  /** Modules that must get the hits that they get. */
  readonly hears: ReadonlySet<string>;
  /** Kinds of module that it may free. */
  readonly frees: ReadonlySet<string>;
  /** Undefined where it cannot be done to this patch. */
  readonly change: (patch: Patch) => Patch | undefined;
  /** Of one after which a module no longer gets some of its hits: those that it gets instead. */
  readonly plays?: { readonly module: string; readonly instead: Hits };
  /** What it costs by the hits that voices still have; absent where it costs the same whichever these are. */
  readonly price?: (kept: (voice: Sounding) => Hits) => Price;
  /** Of one that takes another's noise: what it costs depends on which modules have it already as well. */
  readonly joins?: Joining;
}

type Price = Pick<PlanMove, 'cost' | 'costText'>;

/** A voice: its modules, and its hits as they are written. */
export interface Sounding {
  readonly modules: ReadonlySet<string>;
  readonly hits: Hits | undefined;
}

/** Voices that come to a noise of others. */
export interface Joining {
  readonly source: string;
  /** Whether it is as loud as their own. */
  readonly isAlike: boolean;
  /** Those that have it, and those that come. */
  readonly own: readonly Sounding[];
  readonly coming: readonly Sounding[];
  /** What it costs. @param there the hits of all that have it by then. @param coming those of the others. */
  readonly price: (there: readonly Hits[], coming: readonly Hits[]) => Price;
}

/** The moves with what each costs beside the others, in the order given. */
export function priced(moves: readonly PlanMove[]): readonly PlanMove[] {
  const there = new Map<string, readonly Hits[]>();
  const prices = new Map<PlanMove, Price>();
  const changed = moves.flatMap(({ plays }) => plays ?? []);
  const kept = ({ modules, hits = new Map() }: Sounding): Hits => {
    const own = changed.filter(({ module }) => modules.has(module));
    return own.length === 0
      ? hits
      : new Map([...hits].filter(([sample]) => own.every(({ instead }) => instead.has(sample))));
  };
  // Those that it is as loud for as their own come first: one of them sounds as written.
  const joining = moves.filter(({ joins }) => joins !== undefined);
  for (const move of joining.toSorted(
    (a, b) => Number(b.joins?.isAlike) - Number(a.joins?.isAlike),
  )) {
    const { source, own, coming, price } = move.joins as Joining;
    const before = there.get(source) ?? own.map(kept);
    const hits = coming.map(kept);
    there.set(source, [...before, ...hits]);
    prices.set(move, price(before, hits));
  }
  for (const move of moves) if (move.price !== undefined) prices.set(move, move.price(kept));
  return moves.map((move) => ({ ...move, ...prices.get(move) }));
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

/** Names for a move that has none of a sort. */
export const NONE: ReadonlySet<string> = new Set();

/** Whether two can be done together; {@link priced} says what they then cost. */
export function goTogether(one: PlanMove, other: PlanMove): boolean {
  const meet = (a: ReadonlySet<string>, b: ReadonlySet<string>): boolean => {
    for (const name of a) if (b.has(name)) return true;
    return false;
  };
  const isHindered = (a: PlanMove, b: PlanMove): boolean =>
    meet(a.touches, b.keeps) ||
    meet(a.touches, b.sets) ||
    meet(a.rehits, b.touches) ||
    meet(a.rehits, b.hears);
  return !(
    meet(one.touches, other.touches) ||
    meet(one.sets, other.sets) ||
    meet(one.rehits, other.rehits) ||
    isHindered(one, other) ||
    isHindered(other, one)
  );
}
