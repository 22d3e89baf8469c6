/** Quantizer: the nearest note of a set. See src/modules/quantizer.ts. */

import { Circuit } from './core/circuit';
import { gainOf, voltsOf, Wire } from './core/wire';
import { PulseTimer } from './dsp/pulse-timer';
import { toRails } from './dsp/rails';
import { TriggerInput } from './dsp/trigger-input';

/** V: notes nearer to each other than this count as one. */
const SAME: f64 = 1e-9;

export class Quantizer extends Circuit {
  private readonly input: StaticArray<f64>;
  private readonly triggerWire: Wire;
  // An output that nobody listens to has no wire.
  private readonly out: Wire | null;
  private readonly changed: Wire | null;
  private readonly trigger: TriggerInput;
  private readonly isTriggered: bool;
  private readonly timer: PulseTimer = new PulseTimer();
  private readonly length: i32;
  private readonly level: f64;
  /** V, rising, from 0 V up to under `span`, after which they begin again; without a span, anywhere. */
  private readonly notes: StaticArray<f64>;
  private readonly span: f64;
  private readonly hysteresis: f64;
  /** V looked at last, none at first, and the note that is kept. */
  private looked: f64 = NaN;
  private kept: f64 = 0;

  constructor(
    input: Wire,
    trigger: Wire,
    out: Wire | null,
    changed: Wire | null,
    notes: i32,
    span: f64,
    hysteresis: f64,
    isTriggered: bool,
    length: i32,
    level: f64,
    triggerInput: TriggerInput,
  ) {
    super();
    this.input = input.volts;
    this.triggerWire = trigger;
    this.out = out;
    this.changed = changed;
    this.notes = new StaticArray<f64>(notes);
    this.span = span;
    this.hysteresis = hysteresis;
    this.isTriggered = isTriggered;
    this.length = length;
    this.level = level;
    this.trigger = triggerInput;
    this.reads(input);
    this.reads(trigger);
    this.drives(out);
    this.drives(changed);
  }

  /** Adds a note, to be called for each in turn; after the last, `kept` is the one nearest to 0 V. */
  set(k: i32, volts: f64): void {
    this.notes[k] = volts;
    if (k == this.notes.length - 1) this.kept = this.nearest(0);
  }

  process(from: i32, to: i32): void {
    const input = this.input;
    const triggers = this.triggerWire.volts;
    const out = voltsOf(this.out);
    const changed = voltsOf(this.changed);
    const weight = gainOf(this.out);
    const high = this.level * gainOf(this.changed);
    const trigger = this.trigger;
    const timer = this.timer;
    for (let i = from; i < to; i++) {
      trigger.run(triggers[i]);
      timer.run();
      if (this.isTriggered ? trigger.rose : input[i] != this.looked) this.look(input[i]);
      out[i] = this.kept * weight;
      changed[i] = timer.on ? high : 0;
    }
  }

  rests(samples: i32): bool {
    return this.trigger.rests && this.timer.rests(samples);
  }

  /** With a trigger, the input counts only when it comes. */
  shuts(samples: i32): bool {
    return this.isTriggered && !this.triggerWire.moving && this.rests(samples);
  }

  skip(samples: i32): void {
    this.timer.skip(samples);
  }

  private look(volts: f64): void {
    this.looked = volts;
    const best = this.nearest(volts);
    const nearer = Math.abs(volts - this.kept) - Math.abs(volts - best);
    // The same note, found from the span above or below, may differ by rounding.
    if (Math.abs(best - this.kept) < SAME || !(nearer > this.hysteresis)) return;
    this.kept = best;
    this.timer.start(this.length);
  }

  /** The nearest note; halfway between two, the lower. */
  private nearest(volts: f64): f64 {
    const notes = this.notes;
    const last = notes.length - 1;
    const span = this.span;
    const turn = span > 0 ? span * Math.floor(volts / span) : 0;
    const within = volts - turn;
    let k: i32 = 0;
    while (k < last && notes[k + 1] <= within) k++;
    // Below the first and above the last are the neighbours of the next span, if there are any.
    let below = notes[k];
    let above = k < last ? notes[k + 1] : notes[last];
    if (span > 0 && within < notes[0]) {
      below = notes[last] - span;
      above = notes[0];
    } else if (span > 0 && k == last) above = notes[0] + span;
    else if (within < notes[0]) above = notes[0];
    return toRails(turn + (above - within < within - below ? above : below));
  }
}

export function quantizerNote(made: Quantizer, k: i32, volts: f64): void {
  made.set(k, volts);
}
