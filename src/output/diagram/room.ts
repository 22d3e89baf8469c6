/**
 * How much room a block diagram takes, guessed before it is laid out, so that its place can be kept and
 * nothing below moves when it comes. As in the layout, a block stands in the layer after those that it
 * gets its signals from, and one with more wires out than in as near as it can to where these lead.
 */

import type { BlockFigure } from './figures.ts';
import { GAPS, PADDING_PX, type Size, sizeOf } from './layout.ts';

/** Share of the wires between two layers that take a lane of their own; chosen by measuring the examples. */
const LANES = 0.35;
/** Height that a wire takes on its way past a layer, px; chosen likewise. */
const PASSING_PX = 11;

/** Guesses the size of a figure. */
export function roomFor(figure: BlockFigure): Size {
  const layerOf = layers(figure);
  const all = Array.from({ length: Math.max(...layerOf.values(), 0) + 1 }, () => ({
    width: 0,
    height: -GAPS.blocks,
    /** Outputs whose wires leave for the next layer. */
    leaving: new Set<string>(),
  }));
  for (const block of figure.blocks) {
    const layer = all[layerOf.get(block.id) as number];
    if (layer === undefined) continue;
    const { width, height } = sizeOf(block);
    layer.width = Math.max(layer.width, width);
    layer.height += height + GAPS.blocks;
  }
  for (const { from, to } of figure.wires) {
    const ends = [from, to].map(({ block }) => layerOf.get(block) as number);
    const [first, last] = [Math.min(...ends), Math.max(...ends)];
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
    height: Math.max(...all.map(({ height }) => height), 0) + 2 * PADDING_PX,
  };
}

/** The layer of each block, from 0 at the left. */
function layers({ blocks, wires }: BlockFigure): ReadonlyMap<string, number> {
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
    layerOf.set(next, Math.max(-1, ...sources(next).map((id) => layerOf.get(id) ?? -1)) + 1);
  }
  for (const [id, layer] of [...layerOf].toReversed()) {
    const targets = [...(after.get(id) ?? [])]
      .map((target) => layerOf.get(target) as number)
      .filter((target) => target > layer);
    if (targets.length > (before.get(id)?.size ?? 0)) layerOf.set(id, Math.min(...targets) - 1);
  }
  return layerOf;
}
