/** Oscillator: src/modules/oscillator.ts, ported almost word for word: `run` takes one sample. */
import { BLOCK } from './core/wire';
import { exp2 } from './dsp/math';
import { PatchedWaves } from './dsp/patched-waves';
import { FASTEST, travelTime } from './dsp/waves';

export class Oscillator extends PatchedWaves {
  private readonly isModulated: bool = this.hasLinear || this.hasSync || this.hasWidth;
  /** Octaves above `base`, and the cycles a sample that they are. */
  private octaves: f64 = NaN;
  private tuned: f64 = 0;
  /** V at the jacks that modulate. */
  private linear: f64 = 0;
  private sync: f64 = 0;
  private widening: f64 = 0;
  /** V at the sync jack one and two samples ago; whether it is high; being high at the start is not an event. */
  private syncBefore: f64 = 0;
  private syncBefore2: f64 = 0;
  private isSyncHigh: bool = true;

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

  /** Applies the volts at the other inputs. */
  private modulate(): void {
    const increment = this.tuned * (1 + this.linearAmount * this.linear);
    this.increment = increment > 0 ? Math.min(increment, FASTEST) : 0;
    if (this.previous < 0) this.previous = -this.increment;
    if (this.hasWidth) this.widenTo(this.widening);
    const sync = this.sync;
    if (sync >= this.syncOn && !this.isSyncHigh) {
      this.isSyncHigh = true;
      this.restartAt(this.crossingTime());
    } else if (sync <= this.syncOff) this.isSyncHigh = false;
    this.syncBefore2 = this.syncBefore;
    this.syncBefore = sync;
  }

  /** When the parabola through the last three samples of sync reached its threshold. */
  private crossingTime(): f64 {
    const slope = 0.5 * (this.sync - this.syncBefore2);
    const curvature = this.sync + this.syncBefore2 - 2 * this.syncBefore;
    return Math.min(travelTime(this.syncOn - this.syncBefore, slope, curvature), 1);
  }
}
