/**
 * Where a module's circuit is put: its jacks' wires, the machine that it is made in, and what stands between
 * it and its output jacks where a rack says what these give.
 */

import {
  type Handle,
  type InputJack,
  type Jack,
  NO_WIRE,
  type Site,
} from '../modules/definition.ts';
import { exp, log } from '../modules/dsp/math.ts';
import { comparatorOf } from '../modules/dsp/trigger-input.ts';
import type { InputFacts, OutputFacts, OutputStage } from '../modules/facts.ts';
import type { Machine } from './machine.ts';

export interface CircuitPlace {
  readonly kind: string;
  /** Hz. */
  readonly sampleRate: number;
  readonly jacks: readonly Jack[];
  /** The wires of its input jacks, in order. */
  readonly inputs: readonly Handle[];
  /** The wire that an output jack drives, or undefined if nobody listens. */
  driven(jack: string): Handle | undefined;
  patched(jack: string): boolean;
  sounds(jack: string): boolean;
  seeds(purpose: string): Uint32Array;
  play(rhythm: Handle): void;
}

/** Gives a module the place that it is made in. */
export function siteIn(machine: Machine, place: CircuitPlace): Site {
  const { kind, sampleRate, jacks, inputs } = place;
  const inputJacks = jacks.filter((jack): jack is InputJack => jack.direction === 'in');
  const indexOf = (jack: string): number => {
    const index = inputJacks.findIndex(({ name }) => name === jack);
    if (index === -1) throw new Error(`${kind} has no input ${jack}`);
    return index;
  };
  const facts = (jack: string): InputFacts => (inputJacks[indexOf(jack)] as InputJack).facts;
  // A wire that is filled and that nobody reads.
  const output = (jack: string): Handle => place.driven(jack) ?? machine.wire();
  return {
    sampleRate,
    facts,
    patched: (jack) => place.patched(jack),
    sounds: (jack) => place.sounds(jack),
    input: (jack) => inputs[indexOf(jack)] as Handle,
    output,
    heard: (jack) => place.driven(jack) ?? NO_WIRE,
    trigger: (jack) => machine.call('triggerInput', ...comparatorOf(facts(jack), sampleRate)),
    seeds: (purpose) => {
      const [a = 0, b = 0, c = 0, d = 0] = place.seeds(purpose);
      return [a, b, c, d];
    },
    samples: (list) => machine.samples(list),
    make: (circuit, ...values) => machine.make(circuit, ...values),
    call: (name, ...values) => {
      machine.call(name, ...values);
    },
    run: (circuit) => {
      const outputs = jacks.filter(({ direction }) => direction === 'out');
      machine.run(
        circuit,
        inputs,
        outputs.map(({ name }) => output(name)),
      );
    },
    play: (rhythm) => place.play(rhythm),
  };
}

interface Staged {
  readonly facts: OutputFacts;
  readonly stage: OutputStage;
  /** What the circuit fills, and what the jack drives. */
  readonly from: Handle;
  readonly to: Handle;
}

export class OutputStages {
  private readonly machine: Machine;
  private readonly sampleRate: number;
  private readonly staged = new Map<string, Staged>();

  constructor(machine: Machine, sampleRate: number) {
    this.machine = machine;
    this.sampleRate = sampleRate;
  }

  /** The wire for a circuit to fill that stands behind an output jack: the jack's own, or one before its stage. */
  before(jack: Jack | undefined, to: Handle | undefined): Handle | undefined {
    if (to === undefined || jack?.direction !== 'out') return to;
    const { facts, name } = jack;
    if (facts.stage === undefined) return to;
    const made = this.staged.get(name) ?? {
      facts,
      stage: facts.stage,
      from: this.machine.wire(),
      to,
    };
    this.staged.set(name, made);
    return made.from;
  }

  /** Puts the stages in, once the module's circuits are. */
  complete(): void {
    for (const { facts, stage, from, to } of this.staged.values()) {
      const [low, high] = facts.type === 'switch' ? [0, 1] : [facts.low, facts.high];
      const length = pulseLength(stage, this.sampleRate);
      const share = risePerSample(stage, this.sampleRate);
      const { low: fromLow, high: fromHigh } = stage.from;
      this.machine.make('outputStage', from, to, fromLow, fromHigh, low, high, length, share);
    }
  }
}

/** Samples that a pulse lasts; 0 for as long as the circuit makes it. */
export function pulseLength({ width }: OutputStage, sampleRate: number): number {
  return width === 0 ? 0 : Math.max(1, Math.round(width * sampleRate));
}

/** Share of the way to a level that one sample covers; 1 for all of it. */
export function risePerSample({ rise }: OutputStage, sampleRate: number): number {
  return rise === 0 ? 1 : 1 - exp(-log(9) / (rise * sampleRate));
}
