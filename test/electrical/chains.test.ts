// Worst cases through modules that pass a level on. Checked against brute force: every corner of every
// resistance, level, gain, offset and threshold of a random chain, worked out by the laws themselves;
// and, for each kind, against what the engine renders.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { netLevels, rangesOf } from '../../src/electrical/levels.ts';
import { netlist } from '../../src/electrical/nets.ts';
import { Renderer } from '../../src/engine/renderer.ts';
import type { Definition } from '../../src/modules/definition.ts';
import { KINDS } from '../../src/modules/kinds.ts';
import { slew } from '../../src/modules/slew.ts';
import type { Patch } from '../../src/patch/patch.ts';
import { readPatch } from '../../src/patch/read.ts';
import { close } from '../close.ts';
import { moduleOf, patchOf } from '../engine/build.ts';
import { KNOCK } from '../knock.ts';
import { runs } from '../runs.ts';
import { CHAINED, type Chain, chain, expectCorners, levelsAtEnd, valuesOf } from './chain.ts';

describe('worst cases along a chain', () => {
  it('are tried of every kind that says which level it passes on', () => {
    const promising = KINDS.filter(
      ({ passes, sums }) => passes !== undefined || sums !== undefined,
    );
    expect(promising.map(({ kind }) => kind).toSorted()).toEqual([...new Set(CHAINED)].toSorted());
  });

  it('are those of all corners', () => {
    fc.assert(
      fc.property(chain, (given) => {
        const count = valuesOf(given);
        // 2^17 corners and more take too long to try them all.
        fc.pre(count <= 17);
        expectCorners(given);
      }),
      runs(60),
    );
  });

  it('take in what is off in front of an attenuator, a slew and a mixer, worked by hand', () => {
    const t = 0.05;
    const step = { gain: 1, offset: 0, second: false, input: 100_000, output: 1000 };
    const given: Chain = {
      high: 5,
      source: 1000,
      steps: (['attenuator', 'slew', 'mixer'] as const).map((kind) => ({ ...step, kind })),
      trigger: 100_000,
      on: 2.5,
      tolerance: t,
    };
    // Every stage: 0.95 of its level behind 1.05 kohm into 95 kohm; the threshold 2.625 V.
    const loaded = 95 / 96.05;
    const least = 5 * 0.95 ** 4 * loaded ** 4;
    close(levelsAtEnd(given).trigger?.margin, least - 2.625, {
      abs: 5e-13,
      unit: 'V',
      why: 'rounding',
    });
  });

  it('are found for a chain longer than the stack is deep', () => {
    // Node's stack holds some 14,000 frames of a function that keeps nothing.
    const names = Array.from({ length: 15_000 }, (_, index) => `m${index}`);
    const patch = patchOf(
      names.map((name) => moduleOf(name, slew)),
      // From its end, so that the first looked at is the last to be known.
      names.slice(1).map((name, index) => `${name}.out -> m${index}.in`),
    );
    const list = netlist(patch);
    const net = list.at({ module: 'm0', jack: 'in' });
    if (net === undefined) throw new Error('no net');
    // Nothing is plugged into the first of them.
    expect(netLevels(net, rangesOf(patch, list, 0.05)).worst).toEqual({ low: 0, high: 0 });
  });
});

/**
 * Kinds that let steady volts through but promise no level: they ring beyond it, move it, or take their
 * time, give what is below 0 V as what is above, or the note that is nearest.
 */
const UNPROMISED = [
  'filter',
  'ladder',
  'envelope-follower',
  'quantizer',
  'frequency-shifter',
  'reverberator',
];

describe.each(
  KINDS.filter(({ create, role }) => create !== undefined && role === 'circuit').map(
    (definition) => [definition.kind, definition] as const,
  ),
)('%s', (kind, definition) => {
  const inputs = jacksOf(definition, 'in');
  const outputs = jacksOf(definition, 'out');
  const pairs = inputs.flatMap((input) => outputs.map((output) => ({ input, output })));

  it('gives no more and no less than the levels that are told of it', () => {
    for (const { input, output } of pairs) {
      const given = [0.5, 1.5, 2].map((volts) => steady(kind, input, output, volts));
      const [one, two, three] = given.map(({ volts }) => volts) as [number, number, number];
      const gain = two - one;
      const passes = Math.abs(gain) > 1e-3 && Math.abs(three - two - gain / 2) < 1e-6;
      if (!passes || UNPROMISED.includes(kind)) continue;
      for (const { volts, low, high } of given) {
        expect(low - 1e-6).toBeLessThanOrEqual(volts);
        expect(high + 1e-6).toBeGreaterThanOrEqual(volts);
        // A level that is passed on is known, and not the widest that the kind can give.
        expect(`${input} -> ${output}: ${(high - low).toFixed(3)} V wide`).toBe(
          `${input} -> ${output}: 0.000 V wide`,
        );
      }
    }
  });
});

function jacksOf(definition: Definition, direction: 'in' | 'out'): readonly string[] {
  const values = Object.entries(definition.settings).map(([name, spec]) => [
    name,
    'fallback' in spec ? spec.fallback : undefined,
  ]);
  return definition
    .jacks(Object.fromEntries(values))
    .filter((jack) => jack.direction === direction)
    .map(({ name }) => name);
}

/** What a module gives half a second after steady volts came to one of its inputs, and its levels. */
function steady(
  kind: string,
  input: string,
  output: string,
  offset: number,
): { volts: number; low: number; high: number } {
  const text = `
modules:
  still: { kind: attenuator, offset: ${offset} V }
  one: { kind: ${kind}${kind === 'recording' ? `, file: "${KNOCK}"` : ''} }
  out: { kind: output }
cables: [still.out -> one.${input}, one.${output} -> out.left]
`;
  const patch = readPatch(text, { file: 'one.yaml', kinds: KINDS }).patch as Patch;
  const renderer = new Renderer(patch, {
    sampleRate: 8000,
    edgesOf: () => () => undefined,
    probes: [{ module: 'out', jack: 'left' }],
  });
  for (let block = 0; block < 32; block++) renderer.next();
  const list = netlist(patch);
  const net = list.at({ module: 'out', jack: 'left' });
  if (net === undefined) throw new Error('no net');
  const { low, high } = netLevels(net, rangesOf(patch, list, 0));
  return { volts: renderer.probes[0]?.at(-1) as number, low, high };
}

it('behind a switch are the lowest and the highest of what it may be switched to', () => {
  const { patch } = readPatch(
    `modules:
  tick:  { kind: clock }
  soft:  { kind: attenuator, offset: 2 V }
  loud:  { kind: attenuator, offset: 6 V }
  turns: { kind: sequential-switch, direction: many-to-one, ways: 2 }
  back:  { kind: sequential-switch, ways: 2 }
  split: { kind: multiple }
  last:  { kind: pulse }
  out:   { kind: output }
cables: [tick.out -> split.in, split.out-1 -> turns.clock, split.out-2 -> back.clock, soft.out -> turns.in-1, loud.out -> turns.in-2, turns.out -> back.in, back.out-2 -> last.trigger, last.out -> out.left]
`,
    { file: 'switch.yaml', kinds: KINDS },
  );
  if (patch === undefined) throw new Error('the patch has faults');
  const list = netlist(patch);
  // 1 kohm into 100 kohm: 100/101 of each, once at each input.
  const share = 100 / 101;
  for (const [module, jack, low, high] of [
    ['back', 'in', 2 * share ** 2, 6 * share ** 2],
    ['last', 'trigger', 0, 6 * share ** 3],
  ] as const) {
    const net = list.at({ module, jack });
    if (net === undefined) throw new Error('no net');
    const levels = netLevels(net, rangesOf(patch, list, 0));
    close(levels.low, low, { abs: 5e-10, unit: 'V', why: 'rounding' });
    close(levels.high, high, { abs: 5e-10, unit: 'V', why: 'rounding' });
  }
});
