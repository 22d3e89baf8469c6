/** Filter: state-variable, two integrators in a loop. Theory and sources: src/modules/filter.ts. */

import { Circuit } from './core/circuit';
import { gainOf, voltsOf, Wire } from './core/wire';
import { MatchedTable } from './dsp/matched-table';
import { exp2 } from './dsp/math';
import { toRails } from './dsp/rails';

/** V. Smaller states are inaudible, and far smaller numbers slow a processor down. */
const NOTHING: f64 = 1e-15;

export class Filter extends Circuit {
  private readonly input: StaticArray<f64>;
  private readonly control: StaticArray<f64>;
  // An output that nobody listens to has no wire.
  private readonly low: Wire | null;
  private readonly band: Wire | null;
  private readonly high: Wire | null;
  private readonly notch: Wire | null;

  private readonly period: f64;
  private readonly cutoff: f64;
  private readonly section: MatchedTable;
  private readonly amount: f64;

  /** Volts at control that the coefficients below are for; none at first. */
  private tunedFor: f64 = NaN;
  private keep: f64 = 0;
  private pass: f64 = 0;
  private reach: f64 = 0;
  /** The shares of the plain high-pass in low and band. */
  private lowHigh: f64 = 0;
  private bandHigh: f64 = 0;
  /** The integrators' outputs, V, halfway between this sample and the next. */
  private s1: f64 = 0;
  private s2: f64 = 0;
  /** The plain high-pass and the plain notch a sample ago, and that two samples ago, V. */
  private high1: f64 = 0;
  private notch1: f64 = 0;
  private notch2: f64 = 0;

  constructor(
    input: Wire,
    control: Wire,
    low: Wire | null,
    band: Wire | null,
    high: Wire | null,
    notch: Wire | null,
    cutoff: f64,
    q: f64,
    amount: f64,
    sampleRate: f64,
  ) {
    super();
    this.input = input.volts;
    this.control = control.volts;
    this.low = low;
    this.band = band;
    this.high = high;
    this.notch = notch;
    this.period = 1 / sampleRate;
    this.cutoff = cutoff;
    this.section = new MatchedTable(q);
    this.amount = amount;
    this.reads(input);
    this.reads(control);
    this.drives(low);
    this.drives(band);
    this.drives(high);
    this.drives(notch);
  }

  process(from: i32, to: i32): void {
    const input = this.input;
    const control = this.control;
    // An output without a wire has a gain of 0 and is not worked out.
    const low = voltsOf(this.low);
    const band = voltsOf(this.band);
    const high = voltsOf(this.high);
    const notch = voltsOf(this.notch);
    const lowGain = gainOf(this.low);
    const bandGain = gainOf(this.band);
    const highGain = gainOf(this.high);
    const notchGain = gainOf(this.notch);
    const section = this.section;
    let tunedFor = this.tunedFor;
    let keep = this.keep;
    let pass = this.pass;
    let reach = this.reach;
    let damping = section.damping;
    let lowHigh = this.lowHigh;
    let high0 = section.high0;
    let highLast = section.high1;
    let s1 = this.s1;
    let s2 = this.s2;
    let high1 = this.high1;
    let notch1 = this.notch1;
    let notch2 = this.notch2;
    for (let i = from; i < to; i++) {
      if (control[i] != tunedFor) {
        tunedFor = control[i];
        this.tune(tunedFor);
        keep = this.keep;
        pass = this.pass;
        reach = this.reach;
        damping = section.damping;
        lowHigh = this.lowHigh;
        high0 = section.high0;
        highLast = section.high1;
      }
      const x = input[i];
      // With these brackets three operations lie between one sample and the next; without them, five.
      const next1 = keep * s1 + (pass * x - pass * s2);
      const next2 = (1 - reach) * s2 + (reach * x + pass * s1);
      const first = 0.5 * (s1 + next1);
      const second = 0.5 * (s2 + next2);
      s1 = next1;
      s2 = next2;
      const plain = x - damping * first - second;
      if (highGain != 0) high[i] = toRails(high0 * plain + highLast * high1) * highGain;
      if (lowGain != 0) low[i] = toRails(second - lowHigh * plain) * lowGain;
      if (bandGain != 0)
        band[i] = toRails(section.band1 * first + this.bandHigh * plain) * bandGain;
      if (notchGain != 0) {
        const plainNotch = plain + section.notchLow * second;
        const late = section.notch1 * notch1 + section.notch2 * notch2;
        notch[i] = toRails(section.notch0 * plainNotch + late) * notchGain;
        notch2 = notch1;
        notch1 = plainNotch;
      }
      high1 = plain;
    }
    this.s1 = s1;
    this.s2 = s2;
    this.high1 = high1;
    this.notch1 = notch1;
    this.notch2 = notch2;
  }

  tick(i: i32): void {
    const control = this.control[i];
    if (control != this.tunedFor) this.tune(control);
    const section = this.section;
    const x = this.input[i];
    const s1 = this.s1;
    const s2 = this.s2;
    const pass = this.pass;
    const next1 = this.keep * s1 + (pass * x - pass * s2);
    const next2 = (1 - this.reach) * s2 + (this.reach * x + pass * s1);
    const first = 0.5 * (s1 + next1);
    const second = 0.5 * (s2 + next2);
    this.s1 = next1;
    this.s2 = next2;
    const plain = x - section.damping * first - second;
    put(this.high, i, section.high0 * plain + section.high1 * this.high1);
    put(this.low, i, second - this.lowHigh * plain);
    put(this.band, i, section.band1 * first + this.bandHigh * plain);
    this.high1 = plain;
    if (this.notch == null) return;
    const plainNotch = plain + section.notchLow * second;
    const late = section.notch1 * this.notch1 + section.notch2 * this.notch2;
    put(this.notch, i, section.notch0 * plainNotch + late);
    this.notch2 = this.notch1;
    this.notch1 = plainNotch;
  }

  rests(samples: i32): bool {
    if (this.s1 != 0 || this.s2 != 0 || this.high1 != 0) return false;
    if (this.notch1 != 0 || this.notch2 != 0) return false;
    if (this.input[samples - 1] != 0) return false;
    const outputs = this.outputs;
    for (let i: i32 = 0; i < outputs.length; i++)
      if (outputs[i].volts[samples - 1] != 0) return false;
    return true;
  }

  settle(): void {
    if (Math.abs(this.s1) < NOTHING) this.s1 = 0;
    if (Math.abs(this.s2) < NOTHING) this.s2 = 0;
    if (Math.abs(this.high1) < NOTHING) this.high1 = 0;
    if (Math.abs(this.notch1) < NOTHING) this.notch1 = 0;
    if (Math.abs(this.notch2) < NOTHING) this.notch2 = 0;
  }

  private tune(control: f64): void {
    this.tunedFor = control;
    const section = this.section;
    section.tune(this.cutoff * this.period * exp2(this.amount * control));
    const gain = section.gain;
    const twice = 2 / (1 + gain * (gain + section.damping));
    this.keep = twice - 1;
    this.pass = twice * gain;
    this.reach = twice * gain * gain;
    if (this.low != null) {
      section.tuneLow();
      this.lowHigh = section.low2 * gain * gain;
    }
    if (this.band != null) {
      section.tuneBand();
      this.bandHigh = section.band2 * gain;
    }
    if (this.high != null) section.tuneHigh();
    if (this.notch != null) section.tuneNotch();
  }
}

/** Gives a wire its volts, if there is one. */
function put(wire: Wire | null, i: i32, volts: f64): void {
  if (wire != null) wire.volts[i] = toRails(volts) * wire.gain;
}
