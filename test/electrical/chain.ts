/** Random chains of modules that pass a level on, as patches, and their levels worked out by the laws themselves. */

import fc from 'fast-check';
import { type InputLevels, netLevels, rangesOf } from '../../src/electrical/levels.ts';
import { netlist } from '../../src/electrical/nets.ts';
import { KINDS } from '../../src/modules/kinds.ts';
import { readPatch } from '../../src/patch/read.ts';
import { formatValue } from '../../src/patch/units.ts';
import { close } from '../close.ts';

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

/** Goes on with a value, perhaps more than once: off by its doubt, if that was measured, or by the tolerance. */
type Off = (value: number, doubt: number | undefined, goOn: (value: number) => void) => void;

/** Works the chain out value by value, each as `off` has it; `ended` gets the levels and thresholds at its end. */
function workedOut(
  { high, source, steps, trigger, on, doubts = {} }: Chain,
  off: Off,
  ended: (low: number, high: number, on: number, off: number) => void,
): void {
  const divided = (volts: number, from: number, to: number): number => (volts * to) / (from + to);
  const railed = (volts: number): number => Math.max(-RAILS, Math.min(RAILS, volts));
  // What the gate's two levels have become so far; an inverter exchanges them.
  const from = (place: number, low: number, high: number, ohmsBefore: number): void => {
    const step = steps[place];
    if (step === undefined) {
      off(trigger, doubts.trigger, (into) => {
        const [a, b] = [divided(low, ohmsBefore, into), divided(high, ohmsBefore, into)];
        off(on, doubts.on, (rises) => off(1, undefined, (falls) => ended(a, b, rises, falls)));
      });
      return;
    }
    const { kind, gain, offset, second, input, output } = step;
    off(input, doubts.input, (into) => {
      const [a, b] = [divided(low, ohmsBefore, into), divided(high, ohmsBefore, into)];
      const nominal = kind === 'attenuator' || kind === 'mixer' ? gain : (GAINS[kind] ?? 1);
      off(nominal, undefined, (own) => {
        const added = (base: number, other: number): void => {
          const ends: readonly [number, number] =
            kind === 'switch-from' || kind === 'switch-to'
              ? // One of the two at a time, or nothing: the lowest that it may be, and the highest.
                [Math.min(a * own, 0), Math.max(b * own, other)]
              : own < 0
                ? [b * own + base, a * own + base + other]
                : [a * own + base, b * own + base + other];
          off(output, doubts.output, (ohms) =>
            from(place + 1, railed(ends[0]), railed(ends[1]), ohms),
          );
        };
        if (kind === 'attenuator') off(offset, undefined, (base) => added(base, 0));
        else if (SECOND[kind] !== undefined && second)
          off(4, undefined, (volts) =>
            off(1000, undefined, (ohms) =>
              off(input, doubts.input, (load) =>
                off(SHARES[kind] ?? 1, undefined, (share) =>
                  added(0, divided(volts, ohms, load) * share),
                ),
              ),
            ),
          );
        else added(0, 0);
      });
    });
  };
  off(high, doubts.high, (most) => off(source, doubts.source, (ohms) => from(0, 0, most, ohms)));
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
  const counted: Off = (value, doubt, goOn) => {
    if ((doubt ?? given.tolerance) > 0) count += 1;
    goOn(value);
  };
  workedOut(given, counted, () => undefined);
  return count;
}

/** The worst of all corners, each tried: what two of them begin with is worked out once for both. */
function worstOfAll(given: Chain): Corners {
  const worst = { low: Infinity, high: -Infinity, margin: Infinity, release: Infinity };
  const either: Off = (value, doubt, goOn) => {
    const share = doubt ?? given.tolerance;
    goOn(value * (1 - share));
    if (share !== 0) goOn(value * (1 + share));
  };
  workedOut(given, either, (low, high, on, off) => {
    worst.low = Math.min(worst.low, low);
    worst.high = Math.max(worst.high, high);
    worst.margin = Math.min(worst.margin, high - on);
    worst.release = Math.min(worst.release, off - low);
  });
  return worst;
}

/** Checks what is worked out for a chain against all of its corners. */
export function expectCorners(given: Chain): void {
  const worst = worstOfAll(given);
  const { low, high, trigger } = levelsAtEnd(given);
  const near = (got: number | undefined, want: number): void =>
    close(got, want, {
      abs: 1e-9,
      unit: 'V',
      why: 'the same sums in another order: the last bits of 12 V',
    });
  near(low, worst.low);
  near(high, worst.high);
  near(trigger?.margin, worst.margin);
  near(trigger?.release, worst.release);
}
