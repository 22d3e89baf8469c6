// Block diagrams: that they show every cable once, that nothing lies over anything else, and that
// wires can be told apart without colour. What is expected is counted from the files or follows from
// the geometry; the sorts of wires are common practice, no source.

import { readdirSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { netlist } from '../../../src/electrical/nets.ts';
import { PRINT } from '../../../src/output/chart/colours.ts';
import { blockDiagram } from '../../../src/output/diagram/block-diagram.ts';
import { type BlockFigure, blockFigures } from '../../../src/output/diagram/figures.ts';
import { FOLD_PX, placedInRows } from '../../../src/output/diagram/folded.ts';
import { type PlacedFigure, placed } from '../../../src/output/diagram/layout.ts';
import { LOOKS } from '../../../src/output/diagram/looks.ts';
import { plainlyPlaced } from '../../../src/output/diagram/plain.ts';
import { roomFor } from '../../../src/output/diagram/room.ts';
import { wireSorts } from '../../../src/output/diagram/wires.ts';
import { DiagramThread } from '../../../src/page/host/diagram-thread.ts';
import { jackName } from '../../../src/patch/patch.ts';
import { patchFrom, shipped } from '../../patch-of.ts';
import { example } from '../sheet-patches.ts';

const NAMES = ['closed-hat', 'bass-line', 'two-bar-kit', 'kit-of-eight'];

/** Every example that is a patch. */
const ALL = readdirSync(new URL('../../../patches/', import.meta.url))
  .filter((file) => file.endsWith('.yaml'))
  .map((file) => file.replace('.yaml', ''));

function cablesIn(file: string): number {
  return shipped(file).match(/^ +- .*->/gm)?.length ?? 0;
}

describe('blockFigures', () => {
  it('draws a patch without parts as one figure', () => {
    const [figure, ...more] = blockFigures(example('closed-hat'));
    expect(more).toEqual([]);
    expect(figure?.wires.length).toBe(cablesIn('closed-hat.yaml'));
    expect(figure?.blocks.map(({ type }) => type)).toEqual(Array(10).fill('module'));
  });

  it('draws each part by itself, with the cables of its file and those that come in', () => {
    const figures = blockFigures(example('two-bar-kit'));
    const counted = Object.fromEntries(figures.map(({ part, wires }) => [part, wires.length]));
    // The kit's own file plugs one cable into the kick and the snare each, two into the hats, and one
    // out of each part.
    expect(counted).toEqual({
      '': cablesIn('two-bar-kit.yaml'),
      kick: cablesIn('parts/kick.yaml') + 2,
      snare: cablesIn('parts/snare.yaml') + 2,
      hats: cablesIn('parts/hats.yaml') + 3,
    });
  });

  it('names a part’s jacks and the jacks outside of it as the file does', () => {
    const [whole, kick] = blockFigures(example('two-bar-kit'));
    const part = whole?.blocks.find(({ name }) => name === 'kick');
    expect(part).toMatchObject({ type: 'part', inputs: ['gate.in'], outputs: ['level.out'] });
    const ends = kick?.blocks.filter(({ type }) => type === 'end').map(({ name }) => name);
    expect(ends).toEqual(['drums.kick', 'mix.in-1']);
  });

  it.each(NAMES)('shows every cable of %s within the part it is in', (name) => {
    const patch = example(name);
    const figures = blockFigures(patch);
    for (const { from, to } of patch.cables) {
      const path = (module: string): string[] => module.split('.').slice(0, -1);
      const [a, b] = [path(from.module), path(to.module)];
      const shared = a.filter((part, index) => part === b[index]).join('.');
      const figure = figures.find(({ part }) => part === shared);
      const inside = (module: string): string =>
        module.slice(shared === '' ? 0 : shared.length + 1);
      const end = (module: string, jack: string): string => `${inside(module)}.${jack}`;
      const drawn = figure?.wires.map((wire) => [
        `${wire.from.block}.${wire.from.jack}`,
        `${wire.to.block}.${wire.to.jack}`,
      ]);
      expect(drawn).toContainEqual([end(from.module, from.jack), end(to.module, to.jack)]);
    }
  });
});

describe('wireSorts', () => {
  it('tells sound, control volts and gates apart', () => {
    const patch = example('closed-hat');
    const sortOf = wireSorts(netlist(patch));
    const sorts = patch.cables.map((cable) => [jackName(cable.from), sortOf(cable)]);
    expect(Object.fromEntries(sorts)).toEqual({
      'drums.hat': 'gate',
      'adapt.switch-out': 'gate',
      'shape.out': 'control',
      'hiss.white': 'audio',
      'bright.high': 'audio',
      'soft.low': 'audio',
      'level.out': 'audio',
      'drums.hat-accent': 'control',
      'accent.out': 'control',
      'touch.out': 'audio',
    });
  });

  it('follows what passes through amplifiers, attenuators and multiples', () => {
    const patch = example('kit-of-eight');
    const sortOf = wireSorts(netlist(patch));
    const sort = (name: string): string | undefined => {
      const cable = patch.cables.find(({ from }) => jackName(from) === name);
      return cable && sortOf(cable);
    };
    // An envelope through an amplifier is still a control voltage, and so it is behind a multiple.
    expect(sort('kick.reach.out')).toBe('control');
    expect(sort('kick.depth-split.out-1')).toBe('control');
    expect(sort('kick.gate.out-1')).toBe('gate');
    expect(sort('beat-split.out-1')).toBe('audio');
  });

  it('takes what comes by two ways for what it is', () => {
    const patch = patchFrom(`modules:
  shape: { kind: envelope }
  split: { kind: multiple }
  a: { kind: mixer }
  b: { kind: mixer }
cables: [shape.out -> split.in, split.out-1 -> a.in-1, split.out-2 -> b.in-1, a.out -> b.in-2]`);
    expect(new Set(patch.cables.map(wireSorts(netlist(patch))))).toEqual(new Set(['control']));
  });

  it('ends where modules feed one another in a circle', () => {
    const patch = patchFrom(`modules:
  a: { kind: mixer }
  b: { kind: mixer }
cables: [a.out -> b.in-1, b.out -> a.in-1]`);
    expect(patch.cables.map(wireSorts(netlist(patch)))).toEqual(['audio', 'audio']);
  });
});

/** px; arithmetic of the layout in binary fractions. */
const SLACK = 0.01;

/**
 * That blocks lie in the picture and beside each other, and that wires run from jack to jack, upright or level, through
 * no block. What is wrong is gathered and expected once: there are hundreds of thousands of pairs.
 */
function expectSound({ width, height, blocks, wires }: PlacedFigure): void {
  const wrong: string[] = [];
  for (const block of blocks) {
    const isInside =
      block.x >= 0 &&
      block.y >= 0 &&
      block.x + block.width <= width + SLACK &&
      block.y + block.height <= height + SLACK;
    if (!isInside) wrong.push(`${block.id} is outside of the picture`);
    for (const other of blocks) {
      if (other === block) continue;
      const apart =
        block.x + block.width < other.x ||
        other.x + other.width < block.x ||
        block.y + block.height < other.y ||
        other.y + other.height < block.y;
      if (!apart) wrong.push(`${block.id} and ${other.id} overlap`);
    }
  }
  for (const { from, to, points } of wires) {
    const what = `${from.block} to ${to.block}`;
    const jack = (end: typeof from, side: 'in' | 'out'): readonly number[] => {
      const block = blocks.find(({ id }) => id === end.block);
      const found = block?.jacks.find((one) => one.name === end.jack && one.side === side);
      return [found?.x ?? Number.NaN, found?.y ?? Number.NaN];
    };
    const ends = [...(points[0] ?? []), ...(points.at(-1) ?? [])];
    [...jack(from, 'out'), ...jack(to, 'in')].forEach((value, index) => {
      // Written so that what is no number is wrong.
      if (!(Math.abs((ends[index] ?? Number.NaN) - value) < SLACK))
        wrong.push(`${what} does not end at its jacks`);
    });
    points.slice(1).forEach(([x, y], index) => {
      const [px, py] = points[index] as readonly [number, number];
      if (!(Math.min(Math.abs(x - px), Math.abs(y - py)) < SLACK))
        wrong.push(`${what} is neither upright nor level`);
      for (const block of blocks) {
        const crosses =
          Math.max(x, px) > block.x + SLACK &&
          Math.min(x, px) < block.x + block.width - SLACK &&
          Math.max(y, py) > block.y + SLACK &&
          Math.min(y, py) < block.y + block.height - SLACK;
        if (crosses) wrong.push(`${what} runs through ${block.id}`);
      }
    });
  }
  expect(wrong).toEqual([]);
}

/** px that two cables keep between them; their lines and halos are narrower together. */
const APART = 4;

/**
 * Cables that share neither output nor input share no column; of the library's layout no row either.
 * @param ways along which they run: y for columns, x for rows.
 */
function expectOwnColumns({ wires }: PlacedFigure, ways: readonly ('x' | 'y')[]): void {
  const all = wires.flatMap((wire) =>
    wire.points.slice(1).map((to, index) => ({ wire, from: wire.points[index] ?? to, to })),
  );
  const wrong: string[] = [];
  for (const way of ways) {
    const [across, along] = way === 'y' ? ([0, 1] as const) : ([1, 0] as const);
    const parts = all.filter(({ from, to }) => Math.abs(from[along] - to[along]) > SLACK);
    for (const one of parts)
      for (const other of parts) {
        if (Math.abs(one.from[across] - other.from[across]) >= APART) continue;
        const isSame = (end: 'from' | 'to'): boolean =>
          one.wire[end].block === other.wire[end].block &&
          one.wire[end].jack === other.wire[end].jack;
        if (isSame('from') || isSame('to')) continue;
        const low = Math.max(
          Math.min(one.from[along], one.to[along]),
          Math.min(other.from[along], other.to[along]),
        );
        const high = Math.min(
          Math.max(one.from[along], one.to[along]),
          Math.max(other.from[along], other.to[along]),
        );
        if (!(high - low < SLACK))
          wrong.push(
            `${one.wire.from.block} to ${one.wire.to.block}, ${other.wire.from.block} to ${other.wire.to.block}`,
          );
      }
  }
  expect(wrong).toEqual([]);
}

const layouts = new Map<string, Promise<readonly Laid[]>>();

interface Laid {
  readonly figure: BlockFigure;
  readonly laid: PlacedFigure;
}

/** The figures of an example as the library lays them out, which is done once for all that look at them. */
function laidOut(name: string): Promise<readonly Laid[]> {
  const layout =
    layouts.get(name) ??
    Promise.all(
      blockFigures(example(name)).map(async (figure) => ({ figure, laid: await placed(figure) })),
    );
  layouts.set(name, layout);
  return layout;
}

const folds = new Map<string, Promise<readonly Laid[]>>();

/** The same folded to the width of a page. */
function folded(name: string): Promise<readonly Laid[]> {
  const fold =
    folds.get(name) ??
    Promise.all(
      blockFigures(example(name)).map(async (figure) => ({
        figure,
        laid: await placedInRows(figure),
      })),
    );
  folds.set(name, fold);
  return fold;
}

describe('placed', () => {
  it.each(NAMES)('lays %s out so that nothing lies over anything else', async (name) => {
    for (const { laid } of await laidOut(name)) {
      expectSound(laid);
      expectOwnColumns(laid, ['x', 'y']);
    }
  });

  it('lays out circles, a module plugged into itself and modules without a cable', async () => {
    const patch = patchFrom(`modules:
  a: { kind: mixer }
  b: { kind: attenuator }
  c: { kind: attenuator }
  lone: { kind: noise }
cables: [a.out -> b.in, b.out -> a.in-1, c.out -> c.in]`);
    for (const figure of blockFigures(patch)) {
      const laid = await placed(figure);
      expect(laid.blocks.length).toBe(4);
      expectSound(laid);
    }
  });

  it('gives the same picture every time', async () => {
    const [figure] = blockFigures(example('kit-of-eight'));
    if (figure === undefined) throw new Error('no figure');
    const [before] = await laidOut('kit-of-eight');
    const draw = (laid: PlacedFigure | undefined): string =>
      blockDiagram(laid as PlacedFigure, 'kit', PRINT);
    expect(draw(await placed(figure))).toBe(draw(before?.laid));
  });
});

describe('placedInRows', () => {
  it.each(ALL)(
    'folds %s to the width of a page, and nothing lies over anything else',
    async (name) => {
      for (const { figure, laid } of await folded(name)) {
        expectSound(laid);
        expectOwnColumns(laid, ['x', 'y']);
        expect(laid.width, figure.part).toBeLessThanOrEqual(FOLD_PX);
        expect(laid.wires.length).toBe(figure.wires.length);
        // A page can end between two rows: no block is cut there.
        for (const at of laid.breaks ?? [])
          for (const { y, height } of laid.blocks) expect(y > at || y + height < at).toBe(true);
      }
    },
  );

  it('folds a line of modules, and one that leads back to its start', async () => {
    const names = Array.from({ length: 20 }, (_, index) => `m${index}`);
    const forward = names.slice(1).map((name, index) => `m${index}.out -> ${name}.in-1`);
    for (const back of [[], ['m19.out -> m0.in-2', 'm15.out -> m0.in-3', 'm9.out -> m1.in-2']]) {
      const [figure] = blockFigures(
        patchFrom(`modules: { ${names.map((name) => `${name}: { kind: mixer }`).join(', ')} }
cables: [${[...forward, ...back].map((cable) => `"${cable}"`).join(', ')}]`),
      ) as [BlockFigure];
      const laid = await placedInRows(figure);
      expectSound(laid);
      expectOwnColumns(laid, ['x', 'y']);
      expect(laid.width).toBeLessThanOrEqual(FOLD_PX);
      expect(laid.breaks?.length).toBeGreaterThan(0);
    }
  });
});

describe('plainlyPlaced', () => {
  it.each(NAMES)('lays %s out so that nothing lies over a block', (name) => {
    for (const figure of blockFigures(example(name))) {
      const laid = plainlyPlaced(figure);
      expectSound(laid);
      expectOwnColumns(laid, ['y']);
    }
  });

  it('lays out at once what the library takes minutes for, or cannot do', () => {
    const started = process.cpuUsage();
    for (const [figure] of [dense(250), dense(1000)]) {
      const laid = plainlyPlaced(figure as BlockFigure);
      expect(laid.wires.length).toBe(figure?.wires.length);
      // 8 s is what the library is given; of the processor, so that a busy machine takes no more.
      expect(process.cpuUsage(started).user / 1e6).toBeLessThan(8);
    }
    expectSound(plainlyPlaced(dense(60)[0] as BlockFigure));
  });
});

/** Mixers that each feed four others, some of them backwards. */
function dense(count: number): readonly BlockFigure[] {
  const names = Array.from({ length: count }, (_, index) => `m${index}`);
  const cables = names.flatMap((name, index) =>
    [1, 7, 31, count - 3].map(
      (far, input) => `${name}.out -> m${(index + far) % count}.in-${input + 1}`,
    ),
  );
  return blockFigures(
    patchFrom(`modules: { ${names.map((name) => `${name}: { kind: mixer }`).join(', ')} }
cables: [${cables.map((cable) => `"${cable}"`).join(', ')}]`),
  );
}

describe('DiagramThread', () => {
  const [figure] = blockFigures(example('closed-hat')) as [BlockFigure];
  const script = (code: string): URL => new URL(`data:text/javascript,${encodeURIComponent(code)}`);

  it('lays out plainly what takes too long or fails, and says so, one after another', async () => {
    for (const [ms, code] of [
      // It ends only when its time is up.
      [
        300,
        'import { parentPort } from "node:worker_threads"; parentPort.on("message", () => { for (;;); });',
      ],
      [
        1500,
        'import { parentPort } from "node:worker_threads"; parentPort.on("message", () => parentPort.postMessage(undefined));',
      ],
      [
        1500,
        'import { parentPort } from "node:worker_threads"; parentPort.on("message", () => { throw new Error("no"); });',
      ],
      [1500, 'process.exit(1)'],
    ] as const) {
      const thread = new DiagramThread(script(code), ms);
      const [first, second] = await Promise.all([thread.place(figure), thread.place(figure)]);
      expect([first.isPlain, second.isPlain]).toEqual([true, true]);
      expect(await thread.draw(JSON.stringify([figure]))).toContain('Laid out plainly');
      thread.close();
    }
  });

  it('lays out one figure after another as the library does where there is time', async () => {
    const thread = new DiagramThread(
      new URL('../../../dist/bin/diagram-worker.js', import.meta.url),
      60_000,
    );
    for (const { figure: one, laid } of await folded('two-bar-kit'))
      expect(await thread.place(one)).toEqual(laid);
    thread.close();
  });
});

describe('roomFor', () => {
  // The layout itself is the judge. Within these limits a picture fits into its place at three quarters
  // of its size, where its letters of 12 px are as large as small print, and leaves no gaping hole.
  it.each(NAMES)('is about the room that %s takes', async (name) => {
    for (const { figure, laid } of await laidOut(name)) {
      const room = roomFor(figure);
      const { width, height } = laid;
      expect(room.width / width, figure.part).toBeGreaterThan(0.95);
      expect(room.width / width, figure.part).toBeLessThan(1.15);
      expect(room.height / height, figure.part).toBeGreaterThan(0.75);
      expect(room.height / height, figure.part).toBeLessThan(1.15);
    }
  });

  it('has an end where wires go in circles, and where there is nothing', () => {
    const blocks = ['a', 'b', 'c'].map((id) => ({
      id,
      type: 'module' as const,
      name: id,
      kind: 'mixer',
      inputs: ['in'],
      outputs: ['out'],
    }));
    const wire = (from: string, to: string) => ({
      from: { block: from, jack: 'out' },
      to: { block: to, jack: 'in' },
      sort: 'audio' as const,
    });
    const circle = { part: '', blocks, wires: [wire('a', 'b'), wire('b', 'c'), wire('c', 'a')] };
    const { width, height } = roomFor(circle);
    // Three blocks of 60 px and more in a row, with room for a wire back.
    expect(width).toBeGreaterThan(3 * 60);
    expect(height).toBeGreaterThan(40);
    expect(roomFor({ part: '', blocks: [], wires: [] })).toEqual({ width: 4, height: 4 });
  });
});

describe('the jacks of a diagram', () => {
  it.each(NAMES)('are marked with their names in the patch: %s', async (name) => {
    const patch = example(name);
    const marked = new Set<string>();
    for (const { laid } of await laidOut(name)) {
      const svg = blockDiagram(laid, name, PRINT);
      for (const [, jack = ''] of svg.matchAll(/data-jack="([^"]*)"/g)) marked.add(jack);
    }
    const plugged = patch.cables.flatMap(({ from, to }) => [jackName(from), jackName(to)]);
    expect([...marked].toSorted()).toEqual([...new Set(plugged)].toSorted());
  });

  it('do not lie over one another', async () => {
    for (const { laid } of await laidOut('kit-of-eight')) {
      const svg = blockDiagram(laid, 'kit', PRINT);
      const areas = [
        ...svg.matchAll(
          /<rect x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="([\d.]+)" fill="transparent"/g,
        ),
      ].map(([, ...numbers]) => numbers.map(Number) as [number, number, number, number]);
      expect(areas.length).toBeGreaterThan(0);
      const over: string[] = [];
      for (const [x, y, width, height] of areas)
        for (const other of areas) {
          if (other[0] === x && other[1] === y) continue;
          const apart =
            x + width <= other[0] + SLACK ||
            other[0] + other[2] <= x + SLACK ||
            y + height <= other[1] + SLACK ||
            other[1] + other[3] <= y + SLACK;
          if (!apart) over.push(`${[x, y]} and ${other}`);
        }
      expect(over).toEqual([]);
    }
  });
});

describe('blockDiagram', () => {
  it('draws each sort of wire in a line of its own, and says which is which', async () => {
    const dashes = Object.values(LOOKS).map(({ dash }) => dash);
    expect(new Set(dashes).size).toBe(3);
    const [figure] = blockFigures(example('closed-hat'));
    if (figure === undefined) throw new Error('no figure');
    const svg = blockDiagram(await placed(figure), 'The hat', PRINT);
    for (const { words, dash } of Object.values(LOOKS)) {
      expect(svg).toContain(`>${words}</text>`);
      if (dash !== undefined) expect(svg).toContain(`stroke-dasharray="${dash}"`);
    }
    expect(svg).toContain('role="img"');
    expect(svg).toContain('aria-label="The hat"');
    for (const { name, kind } of figure.blocks) {
      expect(svg).toContain(`>${name}</text>`);
      expect(svg).toContain(`>${kind}</text>`);
    }
  });

  it('draws each cable once, named by its ends, over a halo of paper', async () => {
    for (const { figure, laid } of await laidOut('kit-of-eight')) {
      const svg = blockDiagram(laid, 'kit', PRINT);
      const cables = [...svg.matchAll(/class="wire" data-from="([^"]*)" data-to="([^"]*)"/g)].map(
        ([, from, to]) => `${from} ${to}`,
      );
      expect(cables.length).toBe(figure.wires.length);
      expect(new Set(cables).size).toBe(cables.length);
      // Both ends are jacks of the same picture, so that they can be lit with it.
      const jacks = new Set([...svg.matchAll(/data-jack="([^"]*)"/g)].map(([, jack]) => jack));
      for (const cable of cables)
        for (const end of cable.split(' ')) expect(jacks, cable).toContain(end);
      // The halos of an output's cables come before its first, and so over all that were drawn before.
      const halos = [...svg.matchAll(new RegExp(`<path [^>]*stroke="${PRINT.paper}"`, 'g'))];
      expect(halos.length).toBe(cables.length);
      expect((halos[0]?.index ?? 0) < svg.indexOf('class="wire"')).toBe(true);
    }
  });
});
