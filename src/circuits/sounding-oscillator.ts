/**
 * The oscillator where sound reaches its frequency or its sync: at four times the rate, since its sidebands
 * go beyond half of it. Otherwise as `oscillator.ts`. See src/modules/oscillator.ts.
 */

import { Scheduler } from './core/scheduler';
import { BLOCK, Wire } from './core/wire';
import { Crossing, NEVER } from './dsp/crossing';
import { FourTimesDown, FourTimesUp } from './dsp/four-times';
import { exp2 } from './dsp/math';
import { toRails } from './dsp/rails';
import { FASTEST, Waves } from './dsp/waves';
import { FM_VOLTS, NARROWEST, WIDEST, WIDTH_PER_VOLT } from './oscillator';

const TIMES: i32 = 4;
/** Corrections are for a block of the higher rate, which is so many samples and one. */
const LAST: i32 = BLOCK / TIMES - 1;
/** Cycles a sample of its own rate at most. */
const FASTEST_HERE: f64 = FASTEST / f64(TIMES);
/** A block of an input at four times the rate, and one of octaves at the rate itself. */
const OCTAVES: StaticArray<f64> = new StaticArray<f64>(TIMES * BLOCK);
const LINEAR: StaticArray<f64> = new StaticArray<f64>(TIMES * BLOCK);
const SUM: StaticArray<f64> = new StaticArray<f64>(BLOCK);
/** Cycles a sample at four samples. */
const INCREMENTS: StaticArray<f64> = new StaticArray<f64>(TIMES);

export class SoundingOscillator extends Waves {
  private readonly pitch: Wire;
  private readonly exponentialFm: Wire;
  private readonly linearFm: Wire;
  private readonly syncWire: Wire;
  private readonly widthWire: Wire;
  private readonly sineWire: Wire | null;
  private readonly triangleWire: Wire | null;
  private readonly sawWire: Wire | null;
  private readonly pulseWire: Wire | null;
  private readonly isSineAlone: bool;
  private readonly hasPitch: bool;
  private readonly hasLinear: bool;
  private readonly hasSync: bool;
  private readonly hasWidth: bool;
  /** Cycles a sample of its own rate with 0 V at every jack. */
  private readonly base: f64;
  private readonly exponentialAmount: f64;
  private readonly linearAmount: f64;
  private readonly setWidth: f64;
  private readonly crossing: Crossing;
  private readonly octavesUp: FourTimesUp = new FourTimesUp();
  private readonly linearUp: FourTimesUp = new FourTimesUp();
  private readonly sineDown: FourTimesDown = new FourTimesDown();
  private readonly triangleDown: FourTimesDown = new FourTimesDown();
  private readonly sawDown: FourTimesDown = new FourTimesDown();
  private readonly pulseDown: FourTimesDown = new FourTimesDown();
  /** Octaves above `base`, and the cycles a sample that they are, now and before. */
  private octaves: f64 = NaN;
  private tuned: f64 = 0;
  private widening: f64 = NaN;

  /** @param hasPitch whether sound reaches pitch or exponential-fm. */
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
    hasPitch: bool,
    hasLinear: bool,
    hasSync: bool,
    hasWidth: bool,
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
    this.base = base / f64(TIMES);
    this.exponentialAmount = exponentialAmount;
    this.linearAmount = linearAmount / FM_VOLTS;
    this.setWidth = width;
    this.crossing = new Crossing(syncOn, syncOff);
    this.isSineAlone = !hasSync && triangle == null && saw == null && pulse == null;
    this.hasPitch = hasPitch;
    this.hasLinear = hasLinear;
    this.hasSync = hasSync;
    this.hasWidth = pulse != null && hasWidth;
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
    const amount = this.exponentialAmount;
    const width = this.widthWire.volts;
    for (let i = from; i < to; i++) SUM[i] = pitch[i] + amount * exponentialFm[i];
    // One after the other, since within a sample each would wait for the one before.
    if (this.hasPitch) this.octavesUp.run(SUM, from, to, OCTAVES);
    if (this.hasLinear) this.linearUp.run(this.linearFm.volts, from, to, LINEAR);
    for (let i = from; i < to; i++) {
      this.run(i, SUM[i], width[i]);
      // Corrections are for so many samples of the higher rate.
      if ((i & LAST) == LAST) this.turn();
    }
    this.put(this.sineWire, from, to, this.sineDown);
    this.put(this.triangleWire, from, to, this.triangleDown);
    this.put(this.sawWire, from, to, this.sawDown);
    this.put(this.pulseWire, from, to, this.pulseDown);
  }

  private put(wire: Wire | null, from: i32, to: i32, down: FourTimesDown): void {
    if (wire == null) return;
    const volts = wire.volts;
    const gain = wire.gain;
    for (let i = from; i < to; i++) volts[i] = toRails(down.run(i)) * gain;
  }

  settle(): void {
    this.octavesUp.settle();
    this.linearUp.settle();
    this.sineDown.settle();
    this.triangleDown.settle();
    this.sawDown.settle();
    this.pulseDown.settle();
  }

  private run(i: i32, octaves: f64, width: f64): void {
    const first = TIMES * i;
    const at = TIMES * (i & LAST);
    // At the rate of the wires, where a ramp is straight: a filter would ring along it.
    const time: f64 = this.hasSync ? this.crossing.run(this.syncWire.volts[i]) : NEVER;
    const before = this.tuned;
    let step: f64 = 0;
    if (!this.hasPitch && octaves != this.octaves) {
      const isFirst = Number.isNaN(this.octaves);
      this.octaves = octaves;
      this.tuned = this.tunedFor(octaves);
      // What is no sound goes evenly from sample to sample.
      if (!isFirst) step = (this.tuned - before) / f64(TIMES);
    }
    const widening = Number.isNaN(this.widening) ? width : this.widening;
    this.widening = width;
    for (let n: i32 = 0; n < TIMES; n++) {
      const part = f64(n + 1) / f64(TIMES);
      let increment: f64 = this.tuned;
      if (this.hasPitch) increment = this.tunedFor(OCTAVES[first + n]);
      else if (step != 0) increment = before + step * f64(n + 1);
      if (this.hasLinear) {
        increment *= 1 + this.linearAmount * LINEAR[first + n];
        increment = increment > 0 ? Math.min(increment, FASTEST_HERE) : 0;
      }
      if (Number.isNaN(this.previous)) this.previous = -increment;
      if (this.isSineAlone) {
        INCREMENTS[n] = increment;
        continue;
      }
      this.increment = increment;
      if (this.hasWidth) {
        const volts = widening + (width - widening) * part;
        const wanted = this.setWidth + WIDTH_PER_VOLT * volts;
        this.widen(Math.max(NARROWEST, Math.min(wanted, WIDEST)));
      }
      const place = f64(TIMES) * time - f64(n);
      if (time != NEVER && place >= 0 && (place < 1 || n == TIMES - 1))
        this.restartAt(Math.min(place, 1));
      this.advance(at + n);
      if (this.sineWire != null) this.sineDown.line[first + n] = this.sine;
      if (this.triangleWire != null) this.triangleDown.line[first + n] = this.triangle;
      if (this.sawWire != null) this.sawDown.line[first + n] = this.saw;
      if (this.pulseWire != null) this.pulseDown.line[first + n] = this.pulse;
    }
    if (this.isSineAlone) this.advanceSine(INCREMENTS, this.sineDown.line, first);
  }

  private tunedFor(octaves: f64): f64 {
    return Math.min(this.base * exp2(octaves), FASTEST_HERE);
  }
}

export function soundingOscillator(
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
  hasPitch: bool,
  hasLinear: bool,
  hasSync: bool,
  hasWidth: bool,
): void {
  scheduler.add(
    new SoundingOscillator(
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
      hasPitch,
      hasLinear,
      hasSync,
      hasWidth,
    ),
  );
}
