/**
 * Wires and what joins them: the wire at each jack of a planned patch, and the circuits of nets that
 * need more than their one driver gives, by the law of `electrical/node-law`.
 */

import { nodeVolts } from '../electrical/node-law.ts';
import type { Handle } from '../modules/definition.ts';
import type { Machine } from './machine.ts';
import type { Plan, PlannedNet, Source } from './plan.ts';

export class Wiring {
  private readonly machine: Machine;
  private readonly plan: Plan;
  /** One a net, with the net's volts. */
  private readonly nets: readonly Handle[];
  /** By net, one a driver: what each of them fills. */
  private readonly drivers: readonly (readonly Handle[])[];
  /** By net, for what reads it before it is worked out: the volts of the sample before. */
  private readonly lates = new Map<number, Handle>();

  constructor(machine: Machine, plan: Plan) {
    this.machine = machine;
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

  /** The wire for an output of the module at `position` to fill; undefined if nobody listens. */
  drivenBy(position: number, jack: string, source: Source): Handle | undefined {
    if (source.type === 'constant') return undefined;
    const { drivers } = this.plan.nets[source.net] as PlannedNet;
    const index = drivers.findIndex((driver) => driver.module === position && driver.jack === jack);
    return this.drivers[source.net]?.[index];
  }

  /** Puts in what works a net out, to be called once the last of its drivers is in. */
  complete(net: number): void {
    const planned = this.plan.nets[net] as PlannedNet;
    const out = this.nets[net] as Handle;
    if (soleDriver(planned) === undefined) this.combine(planned, this.drivers[net] ?? [], out);
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
