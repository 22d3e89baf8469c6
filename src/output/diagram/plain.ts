/**
 * A plain layout, at once whatever the size, for figures that the library does not lay out in a sane
 * time: columns of blocks, each to the right of what drives it. A wire to the next column goes by a lane
 * between the two; any other by a rail below all blocks. None runs through a block.
 */

import type { BlockFigure, FigureWire } from './figures.ts';
import {
  blockSize,
  GAPS,
  jackHeight,
  PADDING_PX,
  type PlacedBlock,
  type PlacedFigure,
  type PlacedWire,
  placedBlock,
} from './layout.ts';
import { layersOf } from './room.ts';

/** Lays a figure out. */
export function plainlyPlaced(figure: BlockFigure): PlacedFigure {
  const layerOf = layersOf(figure);
  const columns: BlockFigure['blocks'][number][][] = [];
  for (const block of figure.blocks) {
    const layer = layerOf.get(block.id) ?? 0;
    while (columns.length <= layer) columns.push([]);
    columns[layer]?.push(block);
  }
  const lanes = lanesOf(figure, layerOf, columns.length);

  const placedOf = new Map<string, PlacedBlock>();
  const gapStarts: number[] = [PADDING_PX];
  let x = PADDING_PX + gapWidth(lanes.counts[0] ?? 0);
  let height = 0;
  for (const [layer, column] of columns.entries()) {
    let widest = 0;
    let y = PADDING_PX;
    for (const block of column) {
      const size = blockSize(block);
      placedOf.set(
        block.id,
        placedBlock(block, figure.part, { id: block.id, x, y, ...size, ...portsOf(block) }),
      );
      widest = Math.max(widest, size.width);
      y += size.height + GAPS.blocks;
    }
    height = Math.max(height, y);
    gapStarts.push(x + widest);
    x += widest + gapWidth(lanes.counts[layer + 1] ?? 0);
  }

  const laneX = (gap: number, lane: number): number =>
    (gapStarts[gap] as number) + GAPS.wireToBlock + lane * GAPS.wires;
  const wires = figure.wires.map((wire): PlacedWire => {
    const start = pointOf(placedOf.get(wire.from.block), 'out', wire.from.jack);
    const end = pointOf(placedOf.get(wire.to.block), 'in', wire.to.jack);
    const { leave, rail, arrive } = lanes.wayOf(wire);
    const out = laneX(leave.gap, leave.lane);
    if (rail === undefined || arrive === undefined)
      return { ...wire, points: [start, [out, start[1]], [out, end[1]], end] };
    const y = height + rail * GAPS.wires;
    const into = laneX(arrive.gap, arrive.lane);
    return { ...wire, points: [start, [out, start[1]], [out, y], [into, y], [into, end[1]], end] };
  });
  return {
    part: figure.part,
    width: x + PADDING_PX,
    height: height + lanes.rails * GAPS.wires + PADDING_PX,
    blocks: figure.blocks.map(({ id }) => placedOf.get(id) as PlacedBlock),
    wires,
    isPlain: true,
  };
}

interface PlainLane {
  /** Counted from the one left of all columns. */
  readonly gap: number;
  readonly lane: number;
}

interface WireWay {
  readonly leave: PlainLane;
  /** Absent for a wire to the next column. */
  readonly rail?: number;
  readonly arrive?: PlainLane;
}

/** Gives each output a lane and, if it needs one, a rail; each input that a rail comes to a lane. */
function lanesOf(
  { wires }: BlockFigure,
  layerOf: ReadonlyMap<string, number>,
  columns: number,
): {
  readonly counts: readonly number[];
  readonly rails: number;
  readonly wayOf: (wire: FigureWire) => WireWay;
} {
  const counts = new Array<number>(columns + 1).fill(0);
  const lanes = new Map<string, PlainLane>();
  const laneOf = (name: string, gap: number): PlainLane => {
    const lane = lanes.get(name) ?? { gap, lane: counts[gap] as number };
    if (!lanes.has(name)) counts[gap] = lane.lane + 1;
    lanes.set(name, lane);
    return lane;
  };
  const rails = new Map<string, number>();
  const ways = new Map<FigureWire, WireWay>();
  for (const wire of wires) {
    const { from, to } = wire;
    const [source, target] = [layerOf.get(from.block) ?? 0, layerOf.get(to.block) ?? 0];
    const output = `${from.block} ${from.jack}`;
    const leave = laneOf(`out ${output}`, source + 1);
    if (target === source + 1) {
      ways.set(wire, { leave });
      continue;
    }
    const rail = rails.get(output) ?? rails.size;
    rails.set(output, rail);
    ways.set(wire, { leave, rail, arrive: laneOf(`in ${to.block} ${to.jack}`, target) });
  }
  return { counts, rails: rails.size, wayOf: (wire) => ways.get(wire) as WireWay };
}

function gapWidth(lanes: number): number {
  return lanes === 0 ? 0 : 2 * GAPS.wireToBlock + lanes * GAPS.wires;
}

/** The jacks of a block as the library has them: inputs, then outputs, from its upper left corner. */
function portsOf(block: BlockFigure['blocks'][number]): {
  ports: { id: string; x: number; y: number }[];
} {
  const { width } = blockSize(block);
  const side = (jacks: readonly string[], x: number) =>
    jacks.map((jack, row) => ({ id: jack, x, y: jackHeight(block, row) }));
  return { ports: [...side(block.inputs, 0), ...side(block.outputs, width)] };
}

function pointOf(
  block: PlacedBlock | undefined,
  side: 'in' | 'out',
  name: string,
): readonly [number, number] {
  const jack = block?.jacks.find((one) => one.side === side && one.name === name);
  return [jack?.x ?? 0, jack?.y ?? 0];
}
