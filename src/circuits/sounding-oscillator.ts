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
/** Cycles a sample of its own rate at most. */
const FASTEST_HERE: f64 = FASTEST / f64(TIMES);
/** Four samples of an input. */
const OCTAVES: StaticArray<f64> = new StaticArray<f64>(TIMES);
const LINEAR: StaticArray<f64> = new StaticArray<f64>(TIMES);
const SYNC: StaticArray<f64> = new StaticArray<f64>(TIMES);

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
  private readonly syncUp: FourTimesUp = new FourTimesUp();
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
    const linearFm = this.linearFm.volts;
    const sync = this.syncWire.volts;
    const width = this.widthWire.volts;
    for (let i = from; i < to; i++) {
      const octaves = pitch[i] + this.exponentialAmount * exponentialFm[i];
      if (this.hasLinear) this.linearUp.run(linearFm[i], LINEAR);
      if (this.hasSync) this.syncUp.run(sync[i], SYNC);
      this.run(TIMES * (i & (BLOCK / TIMES - 1)), octaves, width[i]);
      put(this.sineWire, i, this.sineDown);
      put(this.triangleWire, i, this.triangleDown);
      put(this.sawWire, i, this.sawDown);
      put(this.pulseWire, i, this.pulseDown);
      // Corrections are for so many samples of the higher rate.
      if ((i & (BLOCK / TIMES - 1)) == BLOCK / TIMES - 1) this.turn();
    }
  }

  settle(): void {
    this.octavesUp.settle();
    this.linearUp.settle();
    this.syncUp.settle();
    this.sineDown.settle();
    this.triangleDown.settle();
    this.sawDown.settle();
    this.pulseDown.settle();
  }

  /** @param at place of the first of four samples among the corrections. */
  private run(at: i32, octaves: f64, width: f64): void {
    const before = this.tuned;
    let step: f64 = 0;
    if (this.hasPitch) this.octavesUp.run(octaves, OCTAVES);
    else if (octaves != this.octaves) {
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
      if (this.hasPitch) increment = this.tunedFor(OCTAVES[n]);
      else if (step != 0) increment = before + step * f64(n + 1);
      if (this.hasLinear) {
        increment *= 1 + this.linearAmount * LINEAR[n];
        increment = increment > 0 ? Math.min(increment, FASTEST_HERE) : 0;
      }
      this.increment = increment;
      if (Number.isNaN(this.previous)) this.previous = -increment;
      if (this.hasWidth) {
        const volts = widening + (width - widening) * part;
        const wanted = this.setWidth + WIDTH_PER_VOLT * volts;
        this.widen(Math.max(NARROWEST, Math.min(wanted, WIDEST)));
      }
      if (this.hasSync) {
        const time = this.crossing.run(SYNC[n]);
        if (time != NEVER) this.restartAt(time);
      }
      this.advance(at + n);
      this.sineDown.four[n] = this.sine;
      this.triangleDown.four[n] = this.triangle;
      this.sawDown.four[n] = this.saw;
      this.pulseDown.four[n] = this.pulse;
    }
  }

  private tunedFor(octaves: f64): f64 {
    return Math.min(this.base * exp2(octaves), FASTEST_HERE);
  }
}

function put(wire: Wire | null, i: i32, down: FourTimesDown): void {
  if (wire != null) wire.volts[i] = toRails(down.run()) * wire.gain;
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
