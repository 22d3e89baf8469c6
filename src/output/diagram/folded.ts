/**
 * Lays a figure that is wider than a page out in rows under one another, as a text breaks into lines, so
 * that its letters need not shrink. It is cut between layers of blocks, and each row is laid out by
 * itself. An output whose wires go to other rows leaves its row at the right, runs back under it, then
 * down or up at the left of all rows, and comes in at the left of those that it goes to.
 *
 * Method: of all ways to cut, one with the fewest rows, and of these the one with the least height.
 */

import { largest, smallest } from '../../modules/dsp/extremes.ts';
import type { Block, BlockFigure, FigureWire } from './figures.ts';
import {
  GAPS,
  PADDING_PX,
  type PixelSize,
  type PlacedBlock,
  type PlacedFigure,
  type PlacedWire,
  placed,
} from './layout.ts';
import { type Cut, rowsOf } from './rows.ts';

/** How wide a figure may be before it is folded, px: its smallest letters are 7 pt on A4 paper then. */
export const FOLD_PX = 764;

/** How tall a row may be, px: a page of A4 paper, at the size that {@link FOLD_PX} gives. */
const PAGE_PX = 1130;

/** From the blocks of a row to the nearest wire around it, px. */
const MARGIN_PX = 11;

/** Share of a row's width that blocks take beside the wires that turn; chosen by measuring the examples. */
const FILLED = 0.9;
/** Share of a figure's height that one of its rows has, with the wires under it; chosen likewise. */
const LOWER = 0.95;

/** How often a figure is folded, each time narrower, until it is narrow enough. */
const TRIALS = 3;

type BendPoints = PlacedWire['points'];
type BendPoint = BendPoints[number];

/** Places the blocks and wires of a figure, folded if it is too wide. */
export async function placedInRows(
  figure: BlockFigure,
  width: number = FOLD_PX,
): Promise<PlacedFigure> {
  const whole = await placed(figure);
  if (whole.width <= width) return whole;
  let narrowest = whole;
  // How wide a row comes out is a guess until it is laid out.
  let aim = width;
  for (let trial = 0; trial < TRIALS && narrowest.width > width; trial++) {
    const laid = await placedBy(rowOfBlocks(whole, aim), figure);
    if (laid === undefined) break;
    if (laid.width < narrowest.width && tallestRow(laid) <= PAGE_PX) narrowest = laid;
    aim *= Math.min(0.95, width / laid.width);
  }
  return narrowest;
}

/** How much room a figure takes once it is folded, by what it takes in one row. */
export function foldedRoom({ width, height }: PixelSize): PixelSize {
  if (width <= FOLD_PX) return { width, height };
  const rows = Math.ceil(width / (FOLD_PX * FILLED));
  return { width: FOLD_PX, height: rows * height * LOWER };
}

function tallestRow({ breaks = [], height }: PlacedFigure): number {
  const ends = [0, ...breaks, height];
  return largest(ends.slice(1).map((end, row) => end - (ends[row] as number)));
}

/** Nothing if all is in one row. */
async function placedBy(
  rowOf: ReadonlyMap<string, number>,
  figure: BlockFigure,
): Promise<PlacedFigure | undefined> {
  const count = largest(rowOf.values(), 0) + 1;
  if (count < 2) return undefined;
  const rows: PlacedFigure[] = [];
  const nets = netsBetween(figure, rowOf);
  for (let row = 0; row < count; row++)
    rows.push(await placed(rowFigure(figure, row, rowOf, nets)));
  return joined(figure, rows, rowOf, nets);
}

/** The row of each block. */
function rowOfBlocks({ blocks, wires }: PlacedFigure, width: number): ReadonlyMap<string, number> {
  const layers: PlacedBlock[][] = [];
  let right = Number.NEGATIVE_INFINITY;
  for (const block of blocks.toSorted((a, b) => a.x - b.x)) {
    if (block.x > right) layers.push([]);
    layers.at(-1)?.push(block);
    right = Math.max(right, block.x + block.width);
  }
  const layerOf = new Map(
    layers.flatMap((layer, index) => layer.map(({ id }) => [id, index] as const)),
  );
  const cuts = layers.map((layer, index): Cut => {
    const crossing = wires.filter(({ from, to }) => {
      const [a, b] = [from, to].map(({ block }) => layerOf.get(block) as number);
      return (a as number) < index !== (b as number) < index;
    });
    return {
      x: smallest(layer.map(({ x }) => x)),
      wires: new Set(crossing.map(outputOf)).size,
      height: layer.reduce((sum, { height }) => sum + height + GAPS.blocks, 0),
    };
  });
  const rows = rowsOf(cuts, right, width);
  return new Map([...layerOf].map(([id, layer]) => [id, rows[layer] as number]));
}

/** An output whose wires go to other rows than its own. */
interface RowNet {
  readonly name: string;
  readonly from: FigureWire['from'];
  readonly sort: FigureWire['sort'];
  readonly row: number;
  readonly targets: ReadonlySet<number>;
}

function outputOf({ from }: FigureWire): string {
  return JSON.stringify([from.block, from.jack]);
}

function netsBetween(
  { wires }: BlockFigure,
  rowOf: ReadonlyMap<string, number>,
): ReadonlyMap<string, RowNet> {
  const nets = new Map<string, RowNet & { targets: Set<number> }>();
  for (const wire of wires) {
    const [row, target] = [rowOf.get(wire.from.block), rowOf.get(wire.to.block)];
    if (row === undefined || target === undefined || row === target) continue;
    const name = outputOf(wire);
    const net = nets.get(name) ?? {
      name,
      from: wire.from,
      sort: wire.sort,
      row,
      targets: new Set(),
    };
    net.targets.add(target);
    nets.set(name, net);
  }
  return nets;
}

/** Where a wire leaves a row, or comes into it. */
const LEAVING = 'leaves';
const COMING = 'comes';

function turn(side: typeof LEAVING | typeof COMING, name: string): Block {
  const [inputs, outputs] = side === LEAVING ? [[side], []] : [[], [side]];
  // No name of a module has a space.
  return { id: `${side} ${name}`, type: 'turn', name: '', kind: '', inputs, outputs };
}

function turnEnd(side: typeof LEAVING | typeof COMING, name: string): FigureWire['from'] {
  return { block: `${side} ${name}`, jack: side };
}

/** A row as a figure of its own, with turns where wires leave it and come in. */
function rowFigure(
  { part, blocks, wires }: BlockFigure,
  row: number,
  rowOf: ReadonlyMap<string, number>,
  nets: ReadonlyMap<string, RowNet>,
): BlockFigure {
  const leaving = [...nets.values()].filter((net) => net.row === row);
  const coming = [...nets.values()].filter(({ targets }) => targets.has(row));
  return {
    part,
    blocks: [
      ...blocks.filter(({ id }) => rowOf.get(id) === row),
      ...leaving.map(({ name }) => turn(LEAVING, name)),
      ...coming.map(({ name }) => turn(COMING, name)),
    ],
    wires: [
      ...wires.flatMap((wire) => {
        if (rowOf.get(wire.to.block) !== row) return [];
        const isOwn = rowOf.get(wire.from.block) === row;
        return [isOwn ? wire : { ...wire, from: turnEnd(COMING, outputOf(wire)) }];
      }),
      ...leaving.map(({ name, from, sort }) => ({ from, sort, to: turnEnd(LEAVING, name) })),
    ],
  };
}

function joined(
  figure: BlockFigure,
  rows: readonly PlacedFigure[],
  rowOf: ReadonlyMap<string, number>,
  nets: ReadonlyMap<string, RowNet>,
): PlacedFigure {
  const turnAt = (row: number, side: typeof LEAVING | typeof COMING, name: string): BendPoint => {
    const block = rows[row]?.blocks.find(({ id }) => id === turnEnd(side, name).block);
    const [jack] = block?.jacks ?? [];
    return [jack?.x ?? 0, jack?.y ?? 0];
  };
  // Under each row run the wires that leave it: the highest goes outermost, and so lowest.
  const leavingOf = rows.map((_, row) =>
    [...nets.values()]
      .filter((net) => net.row === row)
      .toSorted((a, b) => turnAt(row, LEAVING, b.name)[1] - turnAt(row, LEAVING, a.name)[1]),
  );
  const tops: number[] = [];
  let y = 0;
  for (const [row, { height }] of rows.entries()) {
    tops.push(y);
    const under = leavingOf[row]?.length ?? 0;
    y += height + (row < rows.length - 1 || under > 0 ? 2 * MARGIN_PX : 0) + under * GAPS.wires;
  }
  const bottoms = rows.map(({ height }, row) => (tops[row] as number) + height + MARGIN_PX);

  const tracks = [...nets.values()].map((net): NetTrack => {
    const place = leavingOf[net.row]?.indexOf(net) ?? 0;
    const rail = (bottoms[net.row] as number) + place * GAPS.wires;
    const entries = [...net.targets].map(
      (row): RowEntry => ({ row, y: (tops[row] as number) + turnAt(row, COMING, net.name)[1] }),
    );
    return { net, place, rail, entries };
  });
  const lanes = lanesOf(tracks);
  const left = MARGIN_PX + (largest(lanes.values(), -1) + 1) * GAPS.wires;
  const moved = ([x, y]: BendPoint, row: number): BendPoint => [
    x + left,
    y + (tops[row] as number),
  ];

  const ways = new Map(
    tracks.map(({ net, place, rail, entries }) => {
      const { width } = rows[net.row] as PlacedFigure;
      const exit = moved(turnAt(net.row, LEAVING, net.name), net.row);
      const right = left + width + place * GAPS.wires;
      const lane = left - MARGIN_PX - (lanes.get(net.name) as number) * GAPS.wires;
      const down: BendPoints = [exit, [right, exit[1]], [right, rail], [lane, rail]];
      const wayTo = (row: number): BendPoints => {
        const entry = entries.find((one) => one.row === row)?.y ?? 0;
        return [...down, [lane, entry]];
      };
      return [net.name, wayTo] as const;
    }),
  );
  const pieces = rows.map(
    ({ wires }) =>
      new Map(wires.map((wire) => [`${outputOf(wire)} ${inputOf(wire)}`, wire.points])),
  );
  const pieceOf = (row: number, from: FigureWire['from'], to: FigureWire['to']): BendPoints => {
    const key = `${JSON.stringify([from.block, from.jack])} ${JSON.stringify([to.block, to.jack])}`;
    return (pieces[row]?.get(key) ?? []).map((point) => moved(point, row));
  };
  const wires = figure.wires.map((wire): PlacedWire => {
    const [row, target] = [wire.from, wire.to].map(({ block }) => rowOf.get(block) as number) as [
      number,
      number,
    ];
    if (row === target) return { ...wire, points: pieceOf(row, wire.from, wire.to) };
    const name = outputOf(wire);
    return {
      ...wire,
      points: withoutStops([
        ...pieceOf(row, wire.from, turnEnd(LEAVING, name)),
        ...(ways.get(name)?.(target) ?? []),
        ...pieceOf(target, turnEnd(COMING, name), wire.to),
      ]),
    };
  });
  const placedOf = new Map(
    rows.flatMap(({ blocks }, row) =>
      blocks.map((block) => [block.id, shifted(block, left, tops[row] as number)] as const),
    ),
  );
  const ends = wires.flatMap(({ points }) => points.map(([x]) => x));
  return {
    part: figure.part,
    width: largest([...rows.map(({ width }) => left + width), ...ends], 0) + PADDING_PX,
    height: y,
    breaks: bottoms.slice(0, -1).map((bottom) => bottom - MARGIN_PX / 2),
    blocks: figure.blocks.map(({ id }) => placedOf.get(id) as PlacedBlock),
    wires,
  };
}

function inputOf({ to }: FigureWire): string {
  return JSON.stringify([to.block, to.jack]);
}

function shifted(block: PlacedBlock, x: number, y: number): PlacedBlock {
  return {
    ...block,
    x: block.x + x,
    y: block.y + y,
    jacks: block.jacks.map((jack) => ({ ...jack, x: jack.x + x, y: jack.y + y })),
  };
}

interface RowEntry {
  readonly row: number;
  readonly y: number;
}

/** The way of a net around the rows. */
interface NetTrack {
  readonly net: RowNet;
  /** From the innermost at the right of its row, and from the highest under it. */
  readonly place: number;
  readonly rail: number;
  readonly entries: readonly RowEntry[];
}

/** The lanes at the left, from the innermost: whoever has the shortest way takes the innermost that is free. */
function lanesOf(tracks: readonly NetTrack[]): ReadonlyMap<string, number> {
  const spans = tracks
    .map(({ net, rail, entries }) => {
      const all = [rail, ...entries.map(({ y }) => y)];
      return { name: net.name, low: smallest(all), high: largest(all) };
    })
    .toSorted((a, b) => a.high - a.low - (b.high - b.low));
  const taken: (typeof spans)[] = [];
  const lanes = new Map<string, number>();
  for (const span of spans) {
    const isFree = (lane: typeof spans): boolean =>
      lane.every(({ low, high }) => span.low > high + GAPS.wires || span.high < low - GAPS.wires);
    let lane = taken.findIndex(isFree);
    if (lane < 0) lane = taken.push([]) - 1;
    taken[lane]?.push(span);
    lanes.set(span.name, lane);
  }
  return lanes;
}

/** Without points that lie on the line between their neighbours. */
function withoutStops(points: readonly BendPoint[]): BendPoints {
  const kept: BendPoint[] = [];
  for (const [index, point] of points.entries()) {
    const before = kept.at(-1);
    const after = points[index + 1];
    if (before !== undefined && before[0] === point[0] && before[1] === point[1]) continue;
    const isStop =
      before !== undefined &&
      after !== undefined &&
      ((before[0] === point[0] && point[0] === after[0]) ||
        (before[1] === point[1] && point[1] === after[1]));
    if (!isStop) kept.push(point);
  }
  return kept;
}
