/**
 * What block diagrams show: the patch with each part as one block, then each part by itself, so that
 * every figure is small enough to read on paper. Data; layout and drawing are elsewhere.
 */

import type { Sort } from '../../electrical/sorts.ts';
import { type Prepared, prepared } from '../../engine/prepared.ts';
import { type Cable, type JackRef, jackName, type Patch } from '../../patch/patch.ts';
import { counted } from '../../patch/text/counted.ts';
import { wireSorts } from './wires.ts';

/** `end`: a jack outside of the figure, that a wire comes from or goes to; `turn`: where one goes on to another row. */
export type BlockType = 'module' | 'part' | 'end' | 'turn';

export interface Block {
  readonly id: string;
  readonly type: BlockType;
  readonly name: string;
  /** The module's kind; of a part, how many modules it has; empty for an end. */
  readonly kind: string;
  /** Jacks with a plug, in the order in which the wires are drawn. */
  readonly inputs: readonly string[];
  readonly outputs: readonly string[];
}

export interface FigureWire {
  readonly from: { readonly block: string; readonly jack: string };
  readonly to: { readonly block: string; readonly jack: string };
  readonly sort: Sort;
}

export interface BlockFigure {
  /** The part's name; empty for the whole patch. */
  readonly part: string;
  readonly blocks: readonly Block[];
  readonly wires: readonly FigureWire[];
}

/** Gives the figures of a patch: the whole first, then its parts in the order of the file. */
export function blockFigures(of: Patch | Prepared): readonly BlockFigure[] {
  const { patch, nets } = prepared(of);
  return figuresWithin(patch, '', wireSorts(nets));
}

function figuresWithin(patch: Patch, part: string, sortOf: (cable: Cable) => Sort): BlockFigure[] {
  const prefix = part === '' ? '' : `${part}.`;
  const inside = patch.modules.filter(({ name }) => name.startsWith(prefix));
  const blocks = new Map<string, MutableBlock>();
  for (const { name, definition } of inside) {
    const [first = '', ...deeper] = name.slice(prefix.length).split('.');
    const block = blocks.get(first);
    if (block !== undefined) block.modules += 1;
    else
      blocks.set(first, {
        id: first,
        type: deeper.length > 0 ? 'part' : 'module',
        name: first,
        modules: 1,
        kind: definition.kind,
        inputs: [],
        outputs: [],
      });
  }

  const wires = patch.cables.flatMap((cable): FigureWire[] => {
    const from = endOf(cable.from, prefix, 'from', blocks);
    const to = endOf(cable.to, prefix, 'to', blocks);
    // What runs inside a deeper part is in that part's figure.
    const isHere = from.isInside || to.isInside;
    if (!isHere || (from.block === to.block && blocks.get(from.block)?.type === 'part')) return [];
    plug(from, 'outputs', blocks);
    plug(to, 'inputs', blocks);
    return [{ from, to, sort: sortOf(cable) }];
  });

  const all = [...blocks.values()];
  const deeper = all.filter(({ type }) => type === 'part');
  return [
    {
      part,
      blocks: all.map(({ modules, ...block }) =>
        block.type === 'part' ? { ...block, kind: `part of ${counted(modules, 'module')}` } : block,
      ),
      wires,
    },
    ...deeper.flatMap(({ name }) => figuresWithin(patch, `${prefix}${name}`, sortOf)),
  ];
}

interface MutableBlock extends Block {
  modules: number;
  inputs: string[];
  outputs: string[];
}

interface WireEnd {
  readonly block: string;
  readonly jack: string;
  readonly isInside: boolean;
}

/** The block of this figure that a jack belongs to, and its name there. */
function endOf(
  ref: JackRef,
  prefix: string,
  side: 'from' | 'to',
  blocks: ReadonlyMap<string, Block>,
): WireEnd {
  if (!ref.module.startsWith(prefix))
    // No name of a module has a space.
    return { block: `${side} ${jackName(ref)}`, jack: jackName(ref), isInside: false };
  const [block = '', ...deeper] = ref.module.slice(prefix.length).split('.');
  const jack = blocks.get(block)?.type === 'part' ? [...deeper, ref.jack].join('.') : ref.jack;
  return { block, jack, isInside: true };
}

function plug(
  { block: id, jack, isInside }: WireEnd,
  side: 'inputs' | 'outputs',
  blocks: Map<string, MutableBlock>,
): void {
  const known = blocks.get(id);
  const block: MutableBlock = known ?? {
    id,
    type: 'end',
    name: isInside ? id : jack,
    modules: 0,
    kind: '',
    inputs: [],
    outputs: [],
  };
  if (known === undefined) blocks.set(id, block);
  if (!block[side].includes(jack)) block[side].push(jack);
}
