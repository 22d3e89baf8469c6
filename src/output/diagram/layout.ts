/**
 * Lays block diagrams out: layers from left to right, wires at right angles, by the Eclipse Layout
 * Kernel. Its random choices have a fixed seed, so a figure always comes out the same.
 */

import { createRequire } from 'node:module';
import type { ElkExtendedEdge, ElkNode, ElkPort } from 'elkjs/lib/elk-api.js';
import { largest } from '../../modules/dsp/extremes.ts';
import { FONT_PX } from '../chart/chart-svg.ts';
import { widthOf } from '../chart/letters.ts';
import type { Block, BlockFigure, FigureWire } from './figures.ts';

/** px. */
export interface PixelSize {
  readonly width: number;
  readonly height: number;
}

export interface PlacedBlock extends Block, PixelSize {
  readonly x: number;
  readonly y: number;
  readonly jacks: readonly PlacedJack[];
}

export interface PlacedJack {
  readonly name: string;
  /** Its name in the patch: `hats.shape.out`. */
  readonly whole: string;
  readonly side: 'in' | 'out';
  /** Of the figure, px. */
  readonly x: number;
  readonly y: number;
}

export interface PlacedWire extends FigureWire {
  readonly points: readonly (readonly [x: number, y: number])[];
}

export interface PlacedFigure extends PixelSize {
  /** As in {@link BlockFigure}. */
  readonly part: string;
  readonly blocks: readonly PlacedBlock[];
  readonly wires: readonly PlacedWire[];
  /** Heights at which it may be cut in two, between rows of blocks; none unless it is folded. */
  readonly breaks?: readonly number[];
  /** Whether it has the plain layout, since the usual one took too long. */
  readonly isPlain?: true;
}

/** Places the blocks and wires of a figure. */
export type PlaceFigure = (figure: BlockFigure) => Promise<PlacedFigure>;

/** Room above a block's jacks for its name and kind, px. */
const HEAD_PX = 32;
/** Height of a jack: large enough for a pointer, small enough for a large figure to be readable on paper. */
export const ROW_PX = 17;
const FOOT_PX = 4;
const END_PX = 20;
/** Size of the letters of jacks and kinds, px. */
export const SMALL_PX = 10.5;
/** Between the names of two jacks in one row and the block's edges, all together. */
export const NAME_ROOM_PX = 20;

/** How wide a jack's name is, px. */
export function nameWidth(name: string): number {
  return widthOf(name, SMALL_PX);
}

/** Between what is drawn, px. */
export const GAPS = { layers: 24, blocks: 9, wireToBlock: 9, wires: 7 };
/** Around a figure, px. */
export const PADDING_PX = 2;

const OPTIONS = {
  'elk.algorithm': 'layered',
  'elk.direction': 'RIGHT',
  'elk.edgeRouting': 'ORTHOGONAL',
  'elk.randomSeed': '1',
  'elk.layered.nodePlacement.strategy': 'NETWORK_SIMPLEX',
  'elk.layered.spacing.nodeNodeBetweenLayers': String(GAPS.layers),
  'elk.layered.spacing.edgeNodeBetweenLayers': String(GAPS.wireToBlock),
  'elk.layered.spacing.edgeEdgeBetweenLayers': String(GAPS.wires),
  'elk.spacing.nodeNode': String(GAPS.blocks),
  'elk.spacing.edgeNode': String(GAPS.wireToBlock),
  'elk.spacing.edgeEdge': String(GAPS.wires),
  'elk.spacing.componentComponent': '22',
  'elk.padding': `[top=${PADDING_PX},left=${PADDING_PX},bottom=${PADDING_PX},right=${PADDING_PX}]`,
};

/** Places the blocks and wires of a figure with a library, which may take minutes for some hundred. */
export async function placed(figure: BlockFigure): Promise<PlacedFigure> {
  // Not bundled, since all commands would then start with its megabyte and a half.
  const { default: Elk } = createRequire(import.meta.url)('elkjs/lib/elk.bundled.js') as {
    readonly default: typeof import('elkjs/lib/elk-api.js').default;
  };
  const elk = new Elk();
  // The first time finds the order of jacks that has the fewest crossings; then they get their rows.
  const ordered = inOrder(figure, await elk.layout(graphOf(figure, 'FIXED_SIDE')));
  const graph = await elk.layout(graphOf(ordered, 'FIXED_POS'));
  return {
    part: figure.part,
    width: graph.width ?? 0,
    height: graph.height ?? 0,
    blocks: ordered.blocks.map((block, index) =>
      placedBlock(block, figure.part, graph.children?.[index]),
    ),
    wires: figure.wires.map((wire, index) => ({ ...wire, points: pointsOf(graph.edges?.[index]) })),
  };
}

/** The figure with each block's jacks from top to bottom as they were laid out. */
function inOrder(figure: BlockFigure, { children = [] }: ElkNode): BlockFigure {
  const blocks = figure.blocks.map((block, index) => {
    const ports = children[index]?.ports ?? [];
    const sorted = (jacks: readonly string[], first: number): string[] =>
      jacks
        .map((jack, at) => ({ jack, y: ports[first + at]?.y ?? 0 }))
        .toSorted((a, b) => a.y - b.y)
        .map(({ jack }) => jack);
    const { inputs, outputs } = block;
    return { ...block, inputs: sorted(inputs, 0), outputs: sorted(outputs, inputs.length) };
  });
  return { ...figure, blocks };
}

/** Blocks and jacks go by number, whatever they are called. */
function graphOf(
  { blocks, wires }: BlockFigure,
  portConstraints: 'FIXED_SIDE' | 'FIXED_POS',
): ElkNode {
  const numbers = new Map(blocks.map(({ id }, index) => [id, index]));
  const jackId = (id: string, side: 'inputs' | 'outputs', jack: string): string => {
    const number = numbers.get(id) as number;
    return `${number}/${side}/${blocks[number]?.[side].indexOf(jack)}`;
  };
  return {
    id: 'figure',
    layoutOptions: {
      ...OPTIONS,
      // Put side by side, parts of a row would stand in the way of each other's wires to other rows.
      ...(blocks.some(({ type }) => type === 'turn') && {
        'elk.separateConnectedComponents': 'false',
      }),
    },
    children: blocks.map((block, index): ElkNode => {
      const { width, height } = blockSize(block);
      const ports = (side: 'inputs' | 'outputs'): ElkPort[] =>
        block[side].map((jack, row) => ({
          id: jackId(block.id, side, jack),
          x: side === 'inputs' ? 0 : width,
          y: jackHeight(block, row),
          width: 0,
          height: 0,
          layoutOptions: { 'elk.port.side': side === 'inputs' ? 'WEST' : 'EAST' },
        }));
      return {
        id: String(index),
        width,
        height,
        layoutOptions: {
          'elk.portConstraints': portConstraints,
          ...(block.type === 'turn' && {
            'elk.layered.layering.layerConstraint': block.inputs.length > 0 ? 'LAST' : 'FIRST',
          }),
        },
        ports: [...ports('inputs'), ...ports('outputs')],
      };
    }),
    edges: wires.map(
      ({ from, to }, index): ElkExtendedEdge => ({
        id: `wire ${index}`,
        sources: [jackId(from.block, 'outputs', from.jack)],
        targets: [jackId(to.block, 'inputs', to.jack)],
      }),
    ),
  };
}

/** How far below its block's top the jack in a row is, px. */
export function jackHeight({ type }: Block, row: number): number {
  if (type === 'turn') return 0;
  return type === 'end' ? END_PX / 2 : HEAD_PX + Math.floor((row + 0.5) * ROW_PX);
}

/** How large a block is drawn, px. */
export function blockSize({ type, name, kind, inputs, outputs }: Block): PixelSize {
  if (type === 'turn') return { width: 1, height: 1 };
  if (type === 'end') return { width: nameWidth(name) + 16, height: END_PX };
  const widest = (jacks: readonly string[]): number => largest(jacks.map(nameWidth), 0);
  const width = Math.max(
    52,
    widthOf(name, FONT_PX, true) + 10,
    nameWidth(kind) + 10,
    widest(inputs) + widest(outputs) + NAME_ROOM_PX,
  );
  const rows = Math.max(inputs.length, outputs.length);
  return { width: Math.ceil(width), height: HEAD_PX + rows * ROW_PX + FOOT_PX };
}

/** The block where a layout has put it. */
export function placedBlock(block: Block, part: string, node: ElkNode | undefined): PlacedBlock {
  const { x = 0, y = 0, width = 0, height = 0, ports = [] } = node ?? {};
  const names = [...block.inputs, ...block.outputs];
  // An end is named by its jack.
  const within = block.type === 'end' ? [] : [...(part === '' ? [] : [part]), block.id];
  return {
    ...block,
    x,
    y,
    width,
    height,
    jacks: ports.map((port, index) => ({
      name: names[index] as string,
      whole: [...within, names[index]].join('.'),
      side: index < block.inputs.length ? 'in' : 'out',
      x: x + (port.x ?? 0),
      y: y + (port.y ?? 0),
    })),
  };
}

function pointsOf(edge: ElkExtendedEdge | undefined): PlacedWire['points'] {
  return (edge?.sections ?? []).flatMap(({ startPoint, bendPoints = [], endPoint }) =>
    [startPoint, ...bendPoints, endPoint].map(({ x, y }) => [x, y] as const),
  );
}
