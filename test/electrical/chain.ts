/** Random chains of modules that pass a level on, as patches, and their levels worked out by the laws themselves. */

import fc from 'fast-check';
import { expect } from 'vitest';
import { type InputLevels, netLevels, rangesOf } from '../../src/electrical/levels.ts';
import { netlist } from '../../src/electrical/nets.ts';
import { KINDS } from '../../src/modules/kinds.ts';
import { readPatch } from '../../src/patch/read.ts';
import { formatValue } from '../../src/patch/units.ts';

/** Every kind that promises to pass a level on; a switch from several inputs, and to several outputs. */
const STEP_KINDS = [
  'attenuator',
  'mixer',
  'slew',
  'sample-hold',
  'panner',
  'crossfader',
  'delay-line',
  'switch-from',
  'switch-to',
] as const;
type StepKind = (typeof STEP_KINDS)[number];
/** What is plugged where a kind takes a second source. */
const SECOND: { readonly [kind in StepKind]?: string } = {
  mixer: 'in-2',
  crossfader: 'b',
  'switch-from': 'in-2',
};
/** Its kind and settings in a patch, and the jacks that it goes through. */
const AS: {
  readonly [kind in StepKind]: readonly [kind: string, settings: string, into: string, out: string];
} = {
  attenuator: ['attenuator', '', 'in', 'out'],
  mixer: ['mixer', '', 'in-1', 'out'],
  slew: ['slew', '', 'in', 'out'],
  'sample-hold': ['sample-hold', '', 'in', 'out'],
  panner: ['panner', '', 'in', 'left'],
  crossfader: ['crossfader', ', mix: 40 %, law: linear', 'a', 'out'],
  'delay-line': ['delay-line', '', 'in', 'out'],
  'switch-from': ['sequential-switch', ', direction: many-to-one, ways: 2', 'in-1', 'out'],
  'switch-to': ['sequential-switch', ', direction: one-to-many, ways: 2', 'in', 'out-2'],
};

/** The kinds themselves. */
export const CHAINED: readonly string[] = Object.values(AS).map(([kind]) => kind);

/** One step of a chain: a net with so much load on it beside the module that passes its level on. */
interface Step {
  readonly kind: StepKind;
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
  kind: fc.constantFrom(...STEP_KINDS),
  gain: fc.constantFrom(1, 0.8, -0.6, -1),
  offset: fc.constantFrom(0, 0, 1.5, -2),
  second: fc.boolean(),
  input: load,
  output: ohms,
});
export const chain = fc.record({
  high: fc.constantFrom(2.4, 5, 8),
  source: ohms,
  steps: fc.array(step, { minLength: 1, maxLength: 3 }),
  trigger: load,
  on: fc.constantFrom(1.8, 2.5),
  tolerance: fc.constantFrom(0.01, 0.05, 0.2),
});
/**
 * Shares by which what was measured may be off; what is not in it may be off by the tolerance that is asked
 * for.
 */
export interface Doubts {
  readonly high?: number | undefined;
  readonly source?: number | undefined;
  readonly input?: number | undefined;
  readonly output?: number | undefined;
  readonly trigger?: number | undefined;
  readonly on?: number | undefined;
}
type Drawn = typeof chain extends fc.Arbitrary<infer T> ? T : never;
export type Chain = Omit<Drawn, 'tolerance'> & {
  readonly tolerance: number;
  readonly doubts?: Doubts;
};

const RAILS = 12;
/** What a panner in the middle gives either side: half the power. */
const MIDDLE = Math.SQRT1_2;

/** The shares of a step's input and of its second source that go on. */
const GAINS: { readonly [kind in StepKind]?: number } = { panner: MIDDLE, crossfader: 0.6 };
const SHARES: { readonly [kind in StepKind]?: number } = { mixer: 0.5, crossfader: 0.4 };

/** The chain as a patch, with a rack that has measured all that differs from the ordinary. */
function texts({ high, source, steps, trigger, on, doubts = {} }: Chain): {
  patch: string;
  rack: string;
} {
  const { high: highOff, source: sourceOff } = doubts;
  const isMeasured = highOff !== undefined || sourceOff !== undefined;
  const modules = isMeasured
    ? ['  first: { kind: clock, unit: first }']
    : [`  first: { kind: clock, level: ${high} V, resistance: ${source} ohm }`];
  const units = ['  a-clock: { kind: clock, count: 9 }'];
  if (isMeasured)
    units.push(
      `  first: { kind: clock, jacks: { out: { high: ${high} V${within(highOff)}, resistance: ${source} ohm${within(sourceOff)} } } }`,
    );
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
    const [own, more, into, out] = AS[kind];
    modules.push(`  ${name}: { kind: ${own}, unit: unit-${index}${settings}${more} }`);
    units.push(
      `  unit-${index}: { kind: ${own}, jacks: { inputs: { resistance: ${input} ohm${within(doubts.input)} }, outputs: { resistance: ${output} ohm${within(doubts.output)} } } }`,
    );
    cables.push(`${from} -> ${name}.${into}`);
    if (own === 'sequential-switch') {
      modules.push(`  tick-${index}: { kind: clock }`);
      cables.push(`tick-${index}.out -> ${name}.clock`);
    }
    const other = SECOND[kind];
    if (other !== undefined && second) {
      modules.push(`  other-${index}: { kind: clock, level: 4 V, resistance: 1 kohm }`);
      cables.push(`other-${index}.out -> ${name}.${other}`);
    }
    from = `${name}.${out}`;
  });
  modules.push('  last: { kind: pulse, unit: end }', '  out: { kind: output, unit: ears }');
  units.push(
    `  end: { kind: pulse, jacks: { trigger: { resistance: ${trigger} ohm${within(doubts.trigger)}, on: ${on} V${within(doubts.on)}, off: 1 V } } }`,
    '  ears: { kind: output }',
  );
  cables.push(`${from} -> last.trigger`, 'last.out -> out.left');
  return {
    patch: `rack: rack.yaml\nmodules:\n${modules.join('\n')}\ncables: [${cables.join(', ')}]\n`,
    rack: `units:\n${units.join('\n')}\n`,
  };
}

function within(share: number | undefined): string {
  return share === undefined ? '' : ` +- ${formatValue(share, 'percent')}`;
}

export function levelsAtEnd(given: Chain): InputLevels & { low: number; high: number } {
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

/**
 * Works the chain out with each of its values off by what `off` gives, one after another.
 * @param off is told by how much its value may be off, if that was measured.
 */
function atCorner(
  { high, source, steps, trigger, on, doubts = {} }: Chain,
  off: (doubt?: number) => number,
): { low: number; high: number; on: number; off: number } {
  // What the gate's two levels have become so far; an inverter exchanges them.
  let levels: [number, number] = [0, high * off(doubts.high)];
  let ohmsBefore = source * off(doubts.source);
  const divided = (volts: number, from: number, to: number): number => (volts * to) / (from + to);
  for (const { kind, gain, offset, second, input, output } of steps) {
    const into = input * off(doubts.input);
    const [a, b] = levels.map((volts) => divided(volts, ohmsBefore, into)) as [number, number];
    const own = (kind === 'attenuator' || kind === 'mixer' ? gain : (GAINS[kind] ?? 1)) * off();
    const base = kind === 'attenuator' ? offset * off() : 0;
    let added: [number, number] = [0, 0];
    if (SECOND[kind] !== undefined && second) {
      const share = SHARES[kind] ?? 1;
      const other = divided(4 * off(), 1000 * off(), input * off(doubts.input)) * share * off();
      added = [0, other];
    }
    const railed = (volts: number): number => Math.max(-RAILS, Math.min(RAILS, volts));
    if (kind === 'switch-from' || kind === 'switch-to') {
      // One of the two at a time, or nothing: the lowest that it may be, and the highest.
      levels = [railed(Math.min(a * own, added[0])), railed(Math.max(b * own, added[1]))];
      ohmsBefore = output * off(doubts.output);
      continue;
    }
    const scaled: [number, number] = own < 0 ? [b * own, a * own] : [a * own, b * own];
    levels = [railed(scaled[0] + base + added[0]), railed(scaled[1] + base + added[1])];
    ohmsBefore = output * off(doubts.output);
  }
  const into = trigger * off(doubts.trigger);
  const [a, b] = levels.map((volts) => divided(volts, ohmsBefore, into)) as [number, number];
  return { low: a, high: b, on: on * off(doubts.on), off: 1 * off() };
}

/** The worst of all corners, V. */
interface Corners {
  readonly low: number;
  readonly high: number;
  readonly margin: number;
  readonly release: number;
}

/** How many values of a chain can be off. */
export function valuesOf(given: Chain): number {
  let count = 0;
  atCorner(given, (doubt) => {
    if ((doubt ?? given.tolerance) > 0) count += 1;
    return 1;
  });
  return count;
}

/** The worst of all corners, each tried. */
function worstOfAll(given: Chain): Corners {
  const worst = { low: Infinity, high: -Infinity, margin: Infinity, release: Infinity };
  const count = 2 ** valuesOf(given);
  for (let corner = 0; corner < count; corner++) {
    let bits = corner;
    const { low, high, on, off } = atCorner(given, (doubt) => {
      const share = doubt ?? given.tolerance;
      if (share === 0) return 1;
      const sign = bits % 2 === 0 ? -1 : 1;
      bits >>= 1;
      return 1 + sign * share;
    });
    worst.low = Math.min(worst.low, low);
    worst.high = Math.max(worst.high, high);
    worst.margin = Math.min(worst.margin, high - on);
    worst.release = Math.min(worst.release, off - low);
  }
  return worst;
}

/** Checks what is worked out for a chain against all of its corners. */
export function expectCorners(given: Chain): void {
  const worst = worstOfAll(given);
  const { low, high, trigger } = levelsAtEnd(given);
  // The same sums in another order: the last bits of 12 V.
  const near = (got: number | undefined, want: number): void =>
    expect(Math.abs((got ?? Number.NaN) - want)).toBeLessThan(1e-9);
  near(low, worst.low);
  near(high, worst.high);
  near(trigger?.margin, worst.margin);
  near(trigger?.release, worst.release);
}
