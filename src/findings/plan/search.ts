/**
 * The cheapest set of moves that brings a patch onto a rack: the cheapest set so far is tried first, and grows
 * by each move that may free what is still lacking (uniform-cost search). Every set that brings the patch onto
 * the rack has such a move in it, so the first set found is the cheapest.
 *
 * Source: uniform-cost search is Dijkstra's algorithm, "A note on two problems in connexion with
 * graphs" (1959), from memory.
 */

import type { Patch } from '../../patch/patch.ts';
import { type Cost, goTogether, type PlanMove, priced, sumOf } from './move.ts';
import { CABLES, type Shortage, total } from './shortage.ts';

/** Sets of moves that are tried at most. */
const ENOUGH = 1500;
/** Sets that are made at most, by the modules of the patch: what each costs grows with these. */
const MOST_WORK = 100_000;

export interface WayFound {
  /** In the order in which they were offered. */
  readonly moves: readonly PlanMove[];
  readonly cost: Cost;
  /** The patch with all of them, off its rack. */
  readonly patch: Patch;
}

interface SearchNode {
  readonly chosen: readonly number[];
  readonly patch: Patch;
  readonly cost: Cost;
  readonly farness: number;
}

/**
 * Finds it, and after it the next; none has all the moves of one before it. Ends where there are no more,
 * or none was found among so many.
 * @param patch off its rack.
 * @param lackOf what is lacking for a patch.
 * @param isGood whether a patch that fits also does what it should.
 */
export function* waysByCost(
  patch: Patch,
  lackOf: (patch: Patch) => Shortage,
  moves: readonly PlanMove[],
  isGood: (patch: Patch) => boolean,
): Generator<WayFound> {
  const open: SearchNode[] = [{ chosen: [], patch, cost: sumOf([]), farness: 0 }];
  const seen = new Set<string>();
  const most = MOST_WORK / patch.modules.length;
  const together = (chosen: readonly number[]): readonly PlanMove[] =>
    priced(chosen.map((index) => moves[index] as PlanMove));
  const freesCables = moves.map(
    (_, index) => (applied(patch, [index], moves)?.cables.length ?? Infinity) < patch.cables.length,
  );
  for (let tried = 0; tried < ENOUGH && seen.size < most; tried++) {
    const node = takeCheapest(open);
    if (node === undefined) return;
    const shortage = lackOf(node.patch);
    if (total(shortage) === 0) {
      if (isGood(node.patch)) yield { ...node, moves: together(node.chosen) };
      continue;
    }
    const isOpen = (index: number): boolean =>
      node.chosen.every(
        (one) => one !== index && goTogether(moves[one] as PlanMove, moves[index] as PlanMove),
      );
    const candidates = moves.map((_, index) => index).filter(isOpen);
    // Of all that is lacking, what the fewest moves help: nothing need be tried where none does.
    const [next = []] = [...shortage.keys()]
      .map((kind) =>
        candidates.filter((index) =>
          kind === CABLES ? freesCables[index] : moves[index]?.frees.has(kind),
        ),
      )
      .sort((x, y) => x.length - y.length);
    next.forEach((index) => {
      const chosen = [...node.chosen, index].sort((a, b) => a - b);
      const key = chosen.join();
      if (seen.has(key)) return;
      seen.add(key);
      const changed = applied(patch, chosen, moves);
      if (changed === undefined) return;
      open.push({
        chosen,
        patch: changed,
        cost: sumOf(together(chosen).map(({ cost }) => cost)),
        farness: chosen.reduce((sum, one) => sum + (moves[one]?.farness ?? 0), 0),
      });
    });
  }
}

/** All of the moves in their order, so that a set gives one patch however it came together. */
function applied(
  patch: Patch,
  chosen: readonly number[],
  moves: readonly PlanMove[],
): Patch | undefined {
  let now: Patch | undefined = patch;
  for (const index of chosen) now = now && moves[index]?.change(now);
  return now;
}

/**
 * Which of two costs less: first by hits that are lost or too many, then by those that sound otherwise,
 * then by how far these are from what is written, then by how much is to be done.
 */
function compare(a: SearchNode, b: SearchNode): number {
  return (
    a.cost.lostHits + a.cost.addedHits - b.cost.lostHits - b.cost.addedHits ||
    a.cost.alteredHits - b.cost.alteredHits ||
    a.farness - b.farness ||
    a.chosen.length - b.chosen.length
  );
}

/** The first of the cheapest. */
function takeCheapest(open: SearchNode[]): SearchNode | undefined {
  let best = 0;
  for (let i = 1; i < open.length; i++)
    if (compare(open[i] as SearchNode, open[best] as SearchNode) < 0) best = i;
  return open.splice(best, 1)[0];
}
