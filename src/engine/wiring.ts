/**
 * Where circuits are put: the wire at each jack of a planned patch, what stands between a circuit and its output
 * jack where a rack says what that gives, the circuits of nets that need more than their one driver gives
 * (by the law of `electrical/node-law`), and the site that a module makes its circuit at.
 */

import { nodeVolts } from '../electrical/node-law.ts';
import {
  type Handle,
  type InputJack,
  type Jack,
  NO_WIRE,
  type OutputJack,
  type Site,
} from '../modules/definition.ts';
import { exp, log } from '../modules/dsp/math.ts';
import { comparatorOf } from '../modules/dsp/trigger-input.ts';
import type { InputFacts, OutputStage } from '../modules/facts.ts';
import type { Machine } from './machine.ts';
import type { Plan, PlannedModule, PlannedNet, Source } from './plan.ts';

export class Wiring {
  private readonly machine: Machine;
  private readonly plan: Plan;
  /** One a net, with the net's volts. */
  private readonly nets: readonly Handle[];
  /** By net, one a driver: what each of them fills. */
  private readonly drivers: readonly (readonly Handle[])[];
  /** By net, for what reads it before it is worked out: the volts of the sample before. */
  private readonly lates = new Map<number, Handle>();
  private readonly sampleRate: number;
  /** By output jack of the module that is being put in: what its circuit fills, and what the jack drives. */
  private readonly staged = new Map<OutputJack, { readonly from: Handle; readonly to: Handle }>();

  /** @param sampleRate Hz. */
  constructor(machine: Machine, plan: Plan, sampleRate: number) {
    this.machine = machine;
    this.sampleRate = sampleRate;
    this.plan = plan;
    this.drivers = plan.nets.map((net) => driverGains(net).map((gain) => machine.wire(gain)));
    this.nets = plan.nets.map((net, index) => {
      const alone = soleDriver(net);
      return alone === undefined ? machine.wire() : (this.drivers[index]?.[alone] as Handle);
    });
  }

  /** The wire of a net, or of volts that never change. */
  at(source: Source): Handle {
    return source.type === 'net'
      ? (this.nets[source.net] as Handle)
      : this.machine.constant(source.volts);
  }

  /** The same as the module at `position` in the running order reads it. */
  readBy(position: number, source: Source): Handle {
    if (source.type === 'constant') return this.at(source);
    const { after } = this.plan.nets[source.net] as PlannedNet;
    if (after < position) return this.at(source);
    const late = this.lates.get(source.net) ?? this.late(source.net);
    this.lates.set(source.net, late);
    return late;
  }

  /**
   * The wire for the circuit of the module at `position` to fill: that of an output jack, or one before the
   * jack's stage. Undefined if nobody listens.
   */
  drivenBy(position: number, jack: OutputJack, source: Source): Handle | undefined {
    if (source.type === 'constant') return undefined;
    const { drivers } = this.plan.nets[source.net] as PlannedNet;
    const index = drivers.findIndex(
      (driver) => driver.module === position && driver.jack === jack.name,
    );
    const to = this.drivers[source.net]?.[index];
    if (to === undefined || jack.facts.stage === undefined) return to;
    const made = this.staged.get(jack) ?? { from: this.machine.wire(), to };
    this.staged.set(jack, made);
    return made.from;
  }

  /** Puts in what follows a module's circuit: its stages, and what works out the nets that it is the last to drive. */
  complete({ completes }: PlannedModule): void {
    for (const [{ facts }, { from, to }] of this.staged) {
      const [low, high] = facts.type === 'switch' ? [0, 1] : [facts.low, facts.high];
      const stage = facts.stage as OutputStage;
      const length = pulseLength(stage, this.sampleRate);
      const share = risePerSample(stage, this.sampleRate);
      this.machine.make(
        'outputStage',
        from,
        to,
        stage.from.low,
        stage.from.high,
        low,
        high,
        length,
        share,
      );
    }
    this.staged.clear();
    for (const net of completes) {
      const planned = this.plan.nets[net] as PlannedNet;
      const out = this.nets[net] as Handle;
      if (soleDriver(planned) === undefined) this.combine(planned, this.drivers[net] ?? [], out);
    }
  }

  private late(net: number): Handle {
    const { law, drivers } = this.plan.nets[net] as PlannedNet;
    // What the node rests at before anything has run.
    const rest = nodeVolts(
      law,
      drivers.map(() => 0),
    );
    return this.machine.late(this.nets[net] as Handle, rest);
  }

  private combine({ law }: PlannedNet, drivers: readonly Handle[], out: Handle): void {
    const { machine } = this;
    if (law.stiff.length > 0) {
      const mean = machine.make('sum', out, 0);
      for (const index of law.stiff) machine.call('sumInput', mean, drivers[index] as Handle);
      return;
    }
    if (law.outputs.some(({ type }) => type === 'switch')) {
      const node = machine.make('switched', out, law.conductance, law.rest);
      law.outputs.forEach(({ type, conductance, saturation }, index) => {
        const driver = drivers[index] as Handle;
        machine.call('switchedInput', node, driver, conductance, saturation, type === 'switch');
      });
      return;
    }
    const sum = machine.make('sum', out, law.rest / law.conductance);
    for (const driver of drivers) machine.call('sumInput', sum, driver);
  }
}

/** The driver whose wire is the net's own: its volts times a gain are the net's. */
function soleDriver({ law, drivers }: PlannedNet): number | undefined {
  if (drivers.length === 0) return undefined;
  if (law.stiff.length > 0) return law.stiff.length === 1 ? law.stiff[0] : undefined;
  const [only, ...others] = law.outputs;
  const isPlain = others.length === 0 && only?.type === 'voltage' && law.rest === 0;
  return isPlain ? 0 : undefined;
}

/** What each driver's volts are multiplied by on its way to the net. */
function driverGains({ law, drivers }: PlannedNet): readonly number[] {
  const switched = law.outputs.some(({ type }) => type === 'switch');
  return drivers.map((_, index) => {
    if (law.stiff.length > 0) return law.stiff.includes(index) ? 1 / law.stiff.length : 1;
    // Which switches are closed decides.
    if (switched) return 1;
    return (law.outputs[index]?.conductance as number) / law.conductance;
  });
}

/** What a site is made of; the rest is the site's as it is. */
export interface CircuitPlace extends Pick<Site, 'sampleRate' | 'patched' | 'sounds' | 'play'> {
  readonly kind: string;
  readonly jacks: readonly Jack[];
  /** The wires of its input jacks, in order. */
  readonly inputs: readonly Handle[];
  /** The wire that an output jack drives, or undefined if nobody listens. */
  driven(jack: string): Handle | undefined;
  seeds(purpose: string): Uint32Array;
}

/** Gives a module the place that it is made in. */
export function siteIn(machine: Machine, place: CircuitPlace): Site {
  const { kind, sampleRate, jacks, inputs, patched, sounds, play } = place;
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
    patched,
    sounds,
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
    play,
  };
}

/** Samples that a pulse lasts; 0 for as long as the circuit makes it. */
export function pulseLength({ width }: OutputStage, sampleRate: number): number {
  return width === 0 ? 0 : Math.max(1, Math.round(width * sampleRate));
}

/** Share of the way to a level that one sample covers; 1 for all of it. */
export function risePerSample({ rise }: OutputStage, sampleRate: number): number {
  return rise === 0 ? 1 : 1 - exp(-log(9) / (rise * sampleRate));
}
