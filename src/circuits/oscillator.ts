/** Oscillator: src/modules/oscillator.ts, ported almost word for word: `run` takes one sample. */
import { Scheduler } from './core/scheduler';
import { BLOCK, Wire } from './core/wire';
import { exp2 } from './dsp/math';
import { FASTEST, travelTime, Waves } from './dsp/waves';

/** V of linear FM for which the amount counts. */
export const FM_VOLTS: f64 = 5;
/** Part of a period a volt. */
export const WIDTH_PER_VOLT: f64 = 0.1;
export const NARROWEST: f64 = 0.05;
export const WIDEST: f64 = 0.95;

export class Oscillator extends Waves {
  private readonly pitch: Wire;
  private readonly exponentialFm: Wire;
  private readonly linearFm: Wire;
  private readonly syncWire: Wire;
  private readonly widthWire: Wire;
  private readonly sineWire: Wire | null;
  private readonly triangleWire: Wire | null;
  private readonly sawWire: Wire | null;
  private readonly pulseWire: Wire | null;
  private readonly isModulated: bool;
  private readonly hasWidth: bool;
  /** Cycles a sample with 0 V at every jack. */
  private readonly base: f64;
  private readonly exponentialAmount: f64;
  private readonly linearAmount: f64;
  private readonly setWidth: f64;
  private readonly syncOn: f64;
  private readonly syncOff: f64;
  /** Octaves above `base`, and the cycles a sample that they are. */
  private octaves: f64 = NaN;
  private tuned: f64 = 0;
  /** V at the jacks of MODULATORS. */
  private linear: f64 = 0;
  private sync: f64 = 0;
  private widening: f64 = 0;
  /** V at the sync jack one and two samples ago; whether it is high, which at the start is no event. */
  private syncBefore: f64 = 0;
  private syncBefore2: f64 = 0;
  private isSyncHigh: bool = true;

  constructor(
    pitch: Wire,
    exponentialFm: Wire,
    linearFm: Wire,
    sync: Wire,
    widthWire: Wire,
    sine: Wire | null,
    triangle: Wire | null,
    saw: Wire | null,
    pulse: Wire | null,
    base: f64,
    exponentialAmount: f64,
    linearAmount: f64,
    width: f64,
    syncOn: f64,
    syncOff: f64,
    widthPatched: bool,
    isModulated: bool,
  ) {
    super(width, sine != null, triangle != null, saw != null, pulse != null);
    this.pitch = pitch;
    this.exponentialFm = exponentialFm;
    this.linearFm = linearFm;
    this.syncWire = sync;
    this.widthWire = widthWire;
    this.sineWire = sine;
    this.triangleWire = triangle;
    this.sawWire = saw;
    this.pulseWire = pulse;
    this.base = base;
    this.exponentialAmount = exponentialAmount;
    this.linearAmount = linearAmount / FM_VOLTS;
    this.setWidth = width;
    this.syncOn = syncOn;
    this.syncOff = syncOff;
    this.hasWidth = pulse != null && widthPatched;
    this.isModulated = isModulated;
    this.reads(pitch);
    this.reads(exponentialFm);
    this.reads(linearFm);
    this.reads(sync);
    this.reads(widthWire);
    this.drives(sine);
    this.drives(triangle);
    this.drives(saw);
    this.drives(pulse);
  }

  process(from: i32, to: i32): void {
    const pitch = this.pitch.volts;
    const exponentialFm = this.exponentialFm.volts;
    const linearFm = this.linearFm.volts;
    const sync = this.syncWire.volts;
    const width = this.widthWire.volts;
    const sine = this.sineWire;
    const triangle = this.triangleWire;
    const saw = this.sawWire;
    const pulse = this.pulseWire;
    for (let i = from; i < to; i++) {
      this.run(i, pitch[i], exponentialFm[i], linearFm[i], sync[i], width[i]);
      if (sine != null) sine.volts[i] = this.sine * sine.gain;
      if (triangle != null) triangle.volts[i] = this.triangle * triangle.gain;
      if (saw != null) saw.volts[i] = this.saw * saw.gain;
      if (pulse != null) pulse.volts[i] = this.pulse * pulse.gain;
    }
    if (to == BLOCK) this.turn();
  }

  private run(at: i32, pitch: f64, exponentialFm: f64, linearFm: f64, sync: f64, width: f64): void {
    const octaves = pitch + this.exponentialAmount * exponentialFm;
    if (octaves != this.octaves) {
      this.octaves = octaves;
      this.retune();
    }
    if (this.isModulated) {
      this.linear = linearFm;
      this.sync = sync;
      this.widening = width;
      this.modulate();
    }
    this.advance(at);
  }

  private retune(): void {
    this.tuned = Math.min(this.base * exp2(this.octaves), FASTEST);
    this.increment = this.tuned;
    if (Number.isNaN(this.previous)) this.previous = -this.increment;
  }

  /** Does what the volts at the other inputs ask for. */
  private modulate(): void {
    const increment = this.tuned * (1 + this.linearAmount * this.linear);
    this.increment = increment > 0 ? Math.min(increment, FASTEST) : 0;
    if (this.previous < 0) this.previous = -this.increment;
    if (this.hasWidth) {
      const width = this.setWidth + WIDTH_PER_VOLT * this.widening;
      this.widen(Math.max(NARROWEST, Math.min(width, WIDEST)));
    }
    const sync = this.sync;
    if (sync >= this.syncOn && !this.isSyncHigh) {
      this.isSyncHigh = true;
      this.restartAt(this.crossingTime());
    } else if (sync <= this.syncOff) this.isSyncHigh = false;
    this.syncBefore2 = this.syncBefore;
    this.syncBefore = sync;
  }

  /** When the parabola through the last three samples of sync came to its threshold. */
  private crossingTime(): f64 {
    const slope = 0.5 * (this.sync - this.syncBefore2);
    const curvature = this.sync + this.syncBefore2 - 2 * this.syncBefore;
    return Math.min(travelTime(this.syncOn - this.syncBefore, slope, curvature), 1);
  }
}

export function oscillator(
  scheduler: Scheduler,
  pitch: Wire,
  exponentialFm: Wire,
  linearFm: Wire,
  sync: Wire,
  widthWire: Wire,
  sine: Wire | null,
  triangle: Wire | null,
  saw: Wire | null,
  pulse: Wire | null,
  base: f64,
  exponentialAmount: f64,
  linearAmount: f64,
  width: f64,
  syncOn: f64,
  syncOff: f64,
  widthPatched: bool,
  isModulated: bool,
): void {
  scheduler.add(
    new Oscillator(
      pitch,
      exponentialFm,
      linearFm,
      sync,
      widthWire,
      sine,
      triangle,
      saw,
      pulse,
      base,
      exponentialAmount,
      linearAmount,
      width,
      syncOn,
      syncOff,
      widthPatched,
      isModulated,
    ),
  );
}
