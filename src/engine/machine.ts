/**
 * The compiled circuits of `src/circuits` at work: one instance a render, whose memory goes with it. The
 * WebAssembly itself is compiled once in a process.
 */

import type { Handle, OwnCircuit } from '../modules/definition.ts';
import { NO_ROOM, type ProgramMemory, wasm } from '../modules/dsp/program.ts';
import { CIRCUITS_WASM } from './circuits-wasm.ts';

/** Samples in a block, the circuits' own BLOCK: few enough for wires to stay in the processor's first cache. */
export const BLOCK = 128;

type Value = Handle | number | boolean;
type Call = (...values: readonly Value[]) => number;

/** A circuit in JavaScript and the wires that it is on. */
interface Owned {
  readonly circuit: OwnCircuit;
  readonly inputs: readonly Handle[];
  readonly outputs: readonly Handle[];
  /** The blocks of both, in `memory`. */
  memory: ArrayBuffer | undefined;
  inputVolts: Float64Array[];
  outputVolts: Float64Array[];
}

export class Machine {
  private readonly exports: Readonly<Record<string, Call>>;
  private readonly memory: ProgramMemory;
  private readonly scheduler: Handle;
  /** What is called for each block, without a look at its name. */
  private readonly advance: Call;
  private readonly see: Call;
  private readonly owned: Owned[] = [];
  private readonly constants = new Map<number, Handle>();
  private count = 0;
  /** Blocks of wires by handle. */
  private readonly views = new Map<Handle, Float64Array>();

  /** @param passing whether what rests is passed over; without it the samples are the same, later. */
  constructor(passing = true) {
    const { exports } = instance({
      own: {
        processOwn: (id: number, from: number, to: number): void => {
          const own = this.owned[id] as Owned;
          this.look(own);
          own.circuit.process(from, to, own.inputVolts, own.outputVolts);
        },
        ownRests: (id: number, samples: number): boolean =>
          this.owned[id]?.circuit.rests?.(samples) ?? false,
        skipOwn: (id: number, samples: number): void => this.owned[id]?.circuit.skip?.(samples),
        settleOwn: (id: number): void => this.owned[id]?.circuit.settle?.(),
      },
    });
    this.memory = exports.memory as ProgramMemory;
    this.exports = exports as Readonly<Record<string, Call>>;
    this.scheduler = this.call('scheduler', passing);
    this.advance = exports.next as Call;
    this.see = exports.filled as Call;
  }

  /** How many circuits there are. */
  get circuits(): number {
    return this.count;
  }

  /** Circuits that were passed over in the latest block. */
  get passed(): number {
    return this.call('passed', this.scheduler);
  }

  /** Makes a circuit, which runs after those made before it. @returns its handle, if it has one. */
  make(name: string, ...values: readonly Value[]): Handle {
    this.count += 1;
    return this.call(name, this.scheduler, ...values);
  }

  /**
   * Calls a function of `src/circuits`.
   * @throws Error if no function has that name, or the function takes another number of values.
   */
  call(name: string, ...values: readonly Value[]): number {
    const { [name]: call } = this.exports;
    if (call === undefined) throw new Error(`src/circuits has no ${name}`);
    if (call.length !== values.length)
      throw new Error(`${name} takes ${call.length} values, not ${values.length}`);
    return call(...values);
  }

  /** Makes the wire of a net whose volts are its one driver's times `gain`. */
  wire(gain = 1): Handle {
    return this.call('wire', gain);
  }

  /** Makes the wire of a net as it was a sample ago. @param rest V of the net before anything has run. */
  late(net: Handle, rest: number): Handle {
    return this.call('late', this.scheduler, net, rest);
  }

  /** The wire of volts that never change. */
  constant(volts: number): Handle {
    const wire = this.constants.get(volts) ?? this.call('constant', volts);
    this.constants.set(volts, wire);
    return wire;
  }

  /** Runs a circuit in JavaScript. */
  run(circuit: OwnCircuit, inputs: readonly Handle[], outputs: readonly Handle[]): void {
    const own = this.make('own', this.owned.length);
    for (const wire of inputs) this.call('ownWire', own, wire, false);
    for (const wire of outputs) this.call('ownWire', own, wire, true);
    this.owned.push({
      circuit,
      inputs,
      outputs,
      memory: undefined,
      inputVolts: [],
      outputVolts: [],
    });
  }

  /** Says that the circuits made since there were `before` form a feedback cycle. */
  join(before: number): void {
    this.call('join', this.scheduler, this.count - before);
  }

  /** The block of a wire. The memory moves when it grows: not to be kept beyond the next call. */
  volts(wire: Handle): Float64Array {
    const known = this.views.get(wire);
    // The memory's own buffer is slow to ask for, and a view of memory that has moved has no length.
    if (known !== undefined && known.length > 0) return known;
    const view = new Float64Array(this.memory.buffer, this.call('voltsOf', wire), BLOCK);
    this.views.set(wire, view);
    return view;
  }

  /** Puts samples into the engine's memory. @returns the list there. */
  samples(list: Float64Array): Handle {
    const made = this.call('samples', list.length);
    new Float64Array(this.memory.buffer, made, list.length).set(list);
    return made;
  }

  /** Says that a wire has been filled with a block of volts. */
  filled(wire: Handle): void {
    this.see(wire);
  }

  /** Lets a wire hold its last volts. */
  hold(wire: Handle): void {
    this.call('hold', wire);
  }

  /** Renders the next block. @returns whether every sample so far is a finite number. */
  next(): boolean {
    return this.advance(this.scheduler) !== 0;
  }

  /** Works out the samples from `from` up to `to` of a block by themselves, nothing passed over. */
  step(from: number, to: number): void {
    this.call('step', this.scheduler, from, to);
  }

  private look(own: Owned): void {
    if (own.memory === this.memory.buffer) return;
    own.memory = this.memory.buffer;
    own.inputVolts = own.inputs.map((wire) => this.volts(wire));
    own.outputVolts = own.outputs.map((wire) => this.volts(wire));
  }
}

let program: object | undefined;

/** @throws Error of {@link NO_ROOM} if there is none for its memory. */
function instance(imports: object): { readonly exports: Readonly<Record<string, unknown>> } {
  program ??= new wasm.Module(CIRCUITS_WASM);
  try {
    return new wasm.Instance(program, imports);
  } catch (error) {
    // What is wrong with the program or its imports gives other errors.
    if (!(error instanceof RangeError)) throw error;
    throw new Error(NO_ROOM, { cause: error });
  }
}
