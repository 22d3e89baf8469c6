/**
 * The oscillator where sound reaches its frequency or its sync: at four times the rate, since its sidebands
 * go beyond half of it. Otherwise as `oscillator.ts`. See src/modules/oscillator.ts.
 */

import { BLOCK, Wire } from './core/wire';
import { Crossing, NEVER } from './dsp/crossing';
import { FourTimesDown, FourTimesUp } from './dsp/four-times';
import { exp2 } from './dsp/math';
import { PatchedWaves } from './dsp/patched-waves';
import { toRails } from './dsp/rails';
import { FASTEST } from './dsp/waves';

const TIMES: i32 = 4;
/** Corrections are for a block of the higher rate, which is this many samples of the wires' rate plus one. */
const LAST: i32 = BLOCK / TIMES - 1;
/** The highest frequency, cycles a sample of its own rate. */
const FASTEST_HERE: f64 = FASTEST / f64(TIMES);
/** A block of an input at four times the rate, and one of octaves at the rate itself. */
const OCTAVES: StaticArray<f64> = new StaticArray<f64>(TIMES * BLOCK);
const LINEAR: StaticArray<f64> = new StaticArray<f64>(TIMES * BLOCK);
const SUM: StaticArray<f64> = new StaticArray<f64>(BLOCK);
/** Cycles a sample, for four samples. */
const INCREMENTS: StaticArray<f64> = new StaticArray<f64>(TIMES);

export class SoundingOscillator extends PatchedWaves {
  private readonly isSineAlone: bool =
    !this.hasSync && this.triangleWire == null && this.sawWire == null && this.pulseWire == null;
  /** Cycles a sample of its own rate with 0 V at every jack. */
  private readonly ownBase: f64 = this.base / f64(TIMES);
  private readonly crossing: Crossing = new Crossing(this.syncOn, this.syncOff);
  private readonly octavesUp: FourTimesUp = new FourTimesUp();
  private readonly linearUp: FourTimesUp = new FourTimesUp();
  private readonly sineDown: FourTimesDown = new FourTimesDown();
  private readonly triangleDown: FourTimesDown = new FourTimesDown();
  private readonly sawDown: FourTimesDown = new FourTimesDown();
  private readonly pulseDown: FourTimesDown = new FourTimesDown();
  /** Octaves above `base`, and the cycles a sample that they are. */
  private octaves: f64 = NaN;
  private tuned: f64 = 0;
  private widening: f64 = NaN;

  process(from: i32, to: i32): void {
    const pitch = this.pitch.volts;
    const exponentialFm = this.exponentialFm.volts;
    const amount = this.exponentialAmount;
    const width = this.widthWire.volts;
    for (let i = from; i < to; i++) SUM[i] = pitch[i] + amount * exponentialFm[i];
    // One loop after the other, since in one loop each step would wait for the one before.
    if (this.soundsPitch) this.octavesUp.run(SUM, from, to, OCTAVES);
    if (this.hasLinear) this.linearUp.run(this.linearFm.volts, from, to, LINEAR);
    for (let i = from; i < to; i++) {
      this.run(i, SUM[i], width[i]);
      // Corrections are for a block's number of samples of the higher rate.
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
    if (!this.soundsPitch && octaves != this.octaves) {
      const isFirst = Number.isNaN(this.octaves);
      this.octaves = octaves;
      this.tuned = this.tunedFor(octaves);
      // Volts that are not sound go evenly from sample to sample.
      if (!isFirst) step = (this.tuned - before) / f64(TIMES);
    }
    const widening = Number.isNaN(this.widening) ? width : this.widening;
    this.widening = width;
    for (let n: i32 = 0; n < TIMES; n++) {
      const part = f64(n + 1) / f64(TIMES);
      let increment: f64 = this.tuned;
      if (this.soundsPitch) increment = this.tunedFor(OCTAVES[first + n]);
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
        this.widenTo(volts);
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
    return Math.min(this.ownBase * exp2(octaves), FASTEST_HERE);
  }
}
