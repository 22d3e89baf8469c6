/**
 * How much room a block diagram takes, guessed before it is laid out, so that its place can be kept and
 * nothing below moves when it comes. As in the layout, a block stands in the layer after those that it
 * gets its signals from, and one with more wires out than in as near as it can to where these lead.
 */

import { largest, smallest } from '../../modules/dsp/extremes.ts';
import type { BlockFigure } from './figures.ts';
import { blockSize, GAPS, PADDING_PX, type PixelSize } from './layout.ts';

/** Share of the wires between two layers that take a lane of their own; chosen by measuring the examples. */
const LANES = 0.35;
/** Height that a wire takes on its way past a layer, px; chosen likewise. */
const PASSING_PX = 22;

/** Layers between a block's neighbours from which on it floats; chosen likewise. */
const FLOATING = 4;

/** Guesses the size of a figure. */
export function roomFor(figure: BlockFigure): PixelSize {
  const layerOf = layersOf(figure);
  const all = Array.from({ length: largest(layerOf.values(), 0) + 1 }, () => ({
    width: 0,
    height: -GAPS.blocks,
    /** Outputs whose wires leave for the next layer. */
    leaving: new Set<string>(),
  }));
  for (const block of figure.blocks) {
    const layer = all[layerOf.get(block.id) as number];
    if (layer === undefined) continue;
    const { width, height } = blockSize(block);
    layer.width = Math.max(layer.width, width);
    layer.height += height + GAPS.blocks;
  }
  for (const { from, to } of figure.wires) {
    const ends = [from, to].map(({ block }) => layerOf.get(block) as number);
    const [first, last] = [smallest(ends), largest(ends)];
    all.slice(first, last).forEach((layer, index) => {
      layer.leaving.add(`${from.block} ${from.jack}`);
      if (index > 0) layer.height += PASSING_PX;
    });
  }
  const between = all
    .slice(0, -1)
    .map(({ leaving }) =>
      Math.max(GAPS.layers, 2 * GAPS.wireToBlock + LANES * (leaving.size - 1) * GAPS.wires),
    );
  const sum = (lengths: readonly number[]): number => lengths.reduce((one, more) => one + more, 0);
  return {
    width: sum([...all.map(({ width }) => width), ...between]) + 2 * PADDING_PX,
    height:
      largest(
        all.map(({ height }) => height),
        0,
      ) +
      2 * PADDING_PX,
  };
}

/** The layer of each block, from 0 at the left. */
export function layersOf({ part, blocks, wires }: BlockFigure): ReadonlyMap<string, number> {
  const before = new Map(blocks.map(({ id }) => [id, new Set<string>()]));
  const after = new Map(blocks.map(({ id }) => [id, new Set<string>()]));
  for (const { from, to } of wires) {
    if (from.block === to.block) continue;
    before.get(to.block)?.add(from.block);
    after.get(from.block)?.add(to.block);
  }
  const layerOf = new Map<string, number>();
  const left = new Set(before.keys());
  while (left.size > 0) {
    const sources = (id: string): readonly string[] => [...(before.get(id) ?? [])];
    // Where all that is left goes in circles, the first of the file begins.
    const [first] = left;
    const next =
      [...left].find((id) => sources(id).every((source) => !left.has(source))) ?? (first as string);
    left.delete(next);
    layerOf.set(
      next,
      largest(
        sources(next).map((id) => layerOf.get(id) ?? -1),
        -1,
      ) + 1,
    );
  }
  for (const [id, layer] of [...layerOf].toReversed()) {
    const targets = [...(after.get(id) ?? [])]
      .map((target) => layerOf.get(target) as number)
      .filter((target) => target > layer);
    if (targets.length > (before.get(id)?.size ?? 0)) layerOf.set(id, smallest(targets) - 1);
  }
  // In a part's figure the wires from outside take the room that floating would save.
  if (part === '') for (const id of layerOf.keys()) float(id, layerOf, before, after);
  return layerOf;
}

type Neighbours = ReadonlyMap<string, ReadonlySet<string>>;

/** Moves a block between two others that are far apart to the layer with the fewest blocks. */
function float(
  id: string,
  layerOf: Map<string, number>,
  before: Neighbours,
  after: Neighbours,
): void {
  const [source, ...sources] = before.get(id) ?? [];
  const [target, ...targets] = after.get(id) ?? [];
  if (source === undefined || target === undefined || sources.length + targets.length > 0) return;
  const [from, to] = [layerOf.get(source) as number, layerOf.get(target) as number];
  if (to - from >= FLOATING) layerOf.set(id, emptiest(layerOf, from + 1, to));
}

/** The layer with the fewest blocks, from one up to before another. */
function emptiest(layerOf: ReadonlyMap<string, number>, from: number, to: number): number {
  const crowd = new Array<number>(to).fill(0);
  for (const layer of layerOf.values()) if (layer < to) crowd[layer] = (crowd[layer] ?? 0) + 1;
  let best = from;
  for (let layer = from; layer < to; layer++)
    if ((crowd[layer] as number) < (crowd[best] as number)) best = layer;
  return best;
}
