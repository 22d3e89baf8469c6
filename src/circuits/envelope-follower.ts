/** Envelope follower. Equations and source: src/modules/envelope-follower.ts. */

import { Circuit } from './core/circuit';
import { gainOf, voltsOf, Wire } from './core/wire';
import { toRails } from './dsp/rails';

/** V, or V^2. Smaller is negligible, and far smaller numbers slow a processor down. */
const NOTHING: f64 = 1e-15;

export class EnvelopeFollower extends Circuit {
  private readonly input: StaticArray<f64>;
  // An output that nobody listens to has no wire.
  private readonly out: Wire | null;
  private readonly gate: Wire | null;
  private readonly squares: bool;
  /** The share of the distance that is covered in one sample; 1: at once. */
  private readonly attack: f64;
  private readonly release: f64;
  private readonly gain: f64;
  private readonly on: f64;
  private readonly off: f64;
  private readonly level: f64;
  /** V, or V^2. */
  private reached: f64 = 0;
  private isStill: bool = false;
  private isOn: bool = false;

  constructor(
    input: Wire,
    out: Wire | null,
    gate: Wire | null,
    squares: bool,
    attack: f64,
    release: f64,
    gain: f64,
    on: f64,
    off: f64,
    level: f64,
  ) {
    super();
    this.input = input.volts;
    this.out = out;
    this.gate = gate;
    this.squares = squares;
    this.attack = attack;
    this.release = release;
    this.gain = gain;
    this.on = on;
    this.off = off;
    this.level = level;
    this.reads(input);
    this.drives(out);
    this.drives(gate);
  }

  process(from: i32, to: i32): void {
    const input = this.input;
    const out = voltsOf(this.out);
    const gate = voltsOf(this.gate);
    const weight = gainOf(this.out);
    const high = this.level * gainOf(this.gate);
    const squares = this.squares;
    const attack = this.attack;
    const release = this.release;
    const gain = this.gain;
    const on = this.on;
    const off = this.off;
    let reached = this.reached;
    let isOn = this.isOn;
    let isStill = this.isStill;
    for (let i = from; i < to; i++) {
      const volts = input[i];
      const aim = squares ? volts * volts : Math.abs(volts);
      const next = reached + (aim - reached) * (aim > reached ? attack : release);
      isStill = next == reached;
      reached = next;
      const given = toRails(gain * (squares ? Math.sqrt(reached) : reached));
      isOn = isOn ? given > off : given >= on;
      out[i] = given * weight;
      gate[i] = isOn ? high : 0;
    }
    this.reached = reached;
    this.isOn = isOn;
    this.isStill = isStill;
  }

  rests(_samples: i32): bool {
    return this.isStill;
  }

  settle(): void {
    if (this.reached < NOTHING && this.reached != 0) {
      this.reached = 0;
      this.isStill = false;
    }
  }
}
