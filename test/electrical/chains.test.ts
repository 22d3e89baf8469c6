// Worst cases through modules that pass a level on. Checked against brute force: every corner of every
// resistance, level, gain, offset and threshold of a random chain, worked out by the laws themselves;
// and, for each kind, against what the engine renders.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type InputLevels, netLevels, rangesOf } from '../../src/electrical/levels.ts';
import { netlist } from '../../src/electrical/nets.ts';
import { Renderer } from '../../src/engine/renderer.ts';
import type { Definition } from '../../src/modules/definition.ts';
import { KINDS } from '../../src/modules/kinds.ts';
import { slew } from '../../src/modules/slew.ts';
import type { Patch } from '../../src/patch/patch.ts';
import { readPatch } from '../../src/patch/read.ts';
import { formatValue } from '../../src/patch/units.ts';
import { moduleOf, patchOf } from '../engine/build.ts';
import { KNOCK } from '../knock.ts';
import { runs } from '../runs.ts';

/** One step of a chain: a net with so much load on it beside the module that passes its level on. */
interface Step {
  readonly kind: 'attenuator' | 'mixer' | 'slew' | 'sample-hold' | 'panner';
  readonly gain: number;
  readonly offset: number;
  /** Whether a second source is added to it, where the kind can. */
  readonly second: boolean;
  /** Ohm: of the source in front of it, of its input, and of its output. */
  readonly input: number;
  readonly output: number;
}

const ohms = fc.constantFrom(470, 1000, 2200, 10_000);
const load = fc.constantFrom(22_000, 47_000, 100_000);
const step: fc.Arbitrary<Step> = fc.record({
  kind: fc.constantFrom('attenuator', 'mixer', 'slew', 'sample-hold', 'panner'),
  gain: fc.constantFrom(1, 0.8, -0.6, -1),
  offset: fc.constantFrom(0, 0, 1.5, -2),
  second: fc.boolean(),
  input: load,
  output: ohms,
});
const chain = fc.record({
  high: fc.constantFrom(2.4, 5, 8),
  source: ohms,
  steps: fc.array(step, { minLength: 1, maxLength: 3 }),
  trigger: load,
  on: fc.constantFrom(1.8, 2.5),
  tolerance: fc.constantFrom(0.01, 0.05, 0.2),
});
type Chain = typeof chain extends fc.Arbitrary<infer T> ? T : never;

const RAILS = 12;
/** What a panner in the middle gives either side: half the power. */
const MIDDLE = Math.SQRT1_2;

/** The chain as a patch: what is not ordinary is what a rack has measured. */
function texts({ high, source, steps, trigger, on }: Chain): { patch: string; rack: string } {
  const modules = [`  first: { kind: clock, level: ${high} V, resistance: ${source} ohm }`];
  const units = ['  a-clock: { kind: clock, count: 9 }'];
  const cables: string[] = [];
  let from = 'first.out';
  steps.forEach(({ kind, gain, offset, second, input, output }, index) => {
    const name = `step-${index}`;
    const share = formatValue(gain, 'percent');
    const settings =
      kind === 'attenuator'
        ? `, level: ${share}, offset: ${offset} V`
        : kind === 'mixer'
          ? `, level-1: ${share}, level-2: 50 %`
          : '';
    modules.push(`  ${name}: { kind: ${kind}, unit: unit-${index}${settings} }`);
    units.push(
      `  unit-${index}: { kind: ${kind}, jacks: { inputs: { resistance: ${input} ohm }, outputs: { resistance: ${output} ohm } } }`,
    );
    cables.push(`${from} -> ${name}.${kind === 'mixer' ? 'in-1' : 'in'}`);
    if (kind === 'mixer' && second) {
      modules.push(`  other-${index}: { kind: clock, level: 4 V, resistance: 1 kohm }`);
      cables.push(`other-${index}.out -> ${name}.in-2`);
    }
    from = `${name}.${kind === 'panner' ? 'left' : 'out'}`;
  });
  modules.push('  last: { kind: pulse, unit: end }', '  out: { kind: output, unit: ears }');
  units.push(
    `  end: { kind: pulse, jacks: { trigger: { resistance: ${trigger} ohm, on: ${on} V, off: 1 V } } }`,
    '  ears: { kind: output }',
  );
  cables.push(`${from} -> last.trigger`, 'last.out -> out.left');
  return {
    patch: `rack: rack.yaml\nmodules:\n${modules.join('\n')}\ncables: [${cables.join(', ')}]\n`,
    rack: `units:\n${units.join('\n')}\n`,
  };
}

function levelsAtEnd(given: Chain): InputLevels & { low: number; high: number } {
  const { patch: text, rack } = texts(given);
  const { patch, problems } = readPatch(text, {
    file: 'chain.yaml',
    kinds: KINDS,
    loadRack: () => rack,
  });
  if (patch === undefined) throw new Error(JSON.stringify(problems));
  const list = netlist(patch);
  const net = list.at({ module: 'last', jack: 'trigger' });
  if (net === undefined) throw new Error('no net');
  const { inputs, worst } = netLevels(net, rangesOf(patch, list, given.tolerance));
  return { ...(inputs[0] as InputLevels), ...worst };
}

/** Works the chain out with each of its values off by what `off` gives, one after another. */
function atCorner(
  { high, source, steps, trigger, on }: Chain,
  off: () => number,
): { low: number; high: number; on: number; off: number } {
  // What the gate's two levels have become so far; an inverter exchanges them.
  let levels: [number, number] = [0, high * off()];
  let ohmsBefore = source * off();
  const divided = (volts: number, from: number, to: number): number => (volts * to) / (from + to);
  for (const { kind, gain, offset, second, input, output } of steps) {
    const into = input * off();
    const [a, b] = levels.map((volts) => divided(volts, ohmsBefore, into)) as [number, number];
    const own =
      (kind === 'attenuator' || kind === 'mixer' ? gain : kind === 'panner' ? MIDDLE : 1) * off();
    const base = kind === 'attenuator' ? offset * off() : 0;
    let added: [number, number] = [0, 0];
    if (kind === 'mixer' && second) {
      const other = divided(4 * off(), 1000 * off(), input * off()) * 0.5 * off();
      added = [0, other];
    }
    const railed = (volts: number): number => Math.max(-RAILS, Math.min(RAILS, volts));
    const scaled: [number, number] = own < 0 ? [b * own, a * own] : [a * own, b * own];
    levels = [railed(scaled[0] + base + added[0]), railed(scaled[1] + base + added[1])];
    ohmsBefore = output * off();
  }
  const into = trigger * off();
  const [a, b] = levels.map((volts) => divided(volts, ohmsBefore, into)) as [number, number];
  return { low: a, high: b, on: on * off(), off: 1 * off() };
}

/** How many values of a chain can be off. */
function valuesOf(given: Chain): number {
  let count = 0;
  atCorner(given, () => {
    count += 1;
    return 1;
  });
  return count;
}

describe('worst cases along a chain', () => {
  it('are those of all corners', () => {
    fc.assert(
      fc.property(chain, (given) => {
        const count = valuesOf(given);
        // 2^17 corners and more take too long to try them all.
        fc.pre(count <= 17);
        const worst = { low: Infinity, high: -Infinity, margin: Infinity, release: Infinity };
        for (let corner = 0; corner < 2 ** count; corner++) {
          let bits = corner;
          const { low, high, on, off } = atCorner(given, () => {
            const sign = bits % 2 === 0 ? -1 : 1;
            bits >>= 1;
            return 1 + sign * given.tolerance;
          });
          worst.low = Math.min(worst.low, low);
          worst.high = Math.max(worst.high, high);
          worst.margin = Math.min(worst.margin, high - on);
          worst.release = Math.min(worst.release, off - low);
        }
        const { low, high, trigger } = levelsAtEnd(given);
        // The same sums in another order: the last bits of 12 V.
        const near = (got: number | undefined, want: number): void =>
          expect(Math.abs((got ?? Number.NaN) - want)).toBeLessThan(1e-9);
        near(low, worst.low);
        near(high, worst.high);
        near(trigger?.margin, worst.margin);
        near(trigger?.release, worst.release);
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
    expect(levelsAtEnd(given).trigger?.margin).toBeCloseTo(least - 2.625, 12);
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
    expect(levels.low).toBeCloseTo(low, 9);
    expect(levels.high).toBeCloseTo(high, 9);
  }
});
