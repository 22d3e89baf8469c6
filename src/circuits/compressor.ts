/** Compressor: feed-forward, its detector in decibels. Equations and source: src/modules/compressor.ts. */

import { Circuit } from './core/circuit';
import { BLOCK, gainOf, voltsOf, Wire } from './core/wire';
import { exp, gainOfDb, log2 } from './dsp/math';
import { toRails } from './dsp/rails';

/** Decibels of an octave of level: 20 log10(2). */
const DB_AN_OCTAVE: f64 = 6.020599913279624;
/** dB. Smaller reductions are inaudible, and far smaller numbers slow a processor down. */
const NOTHING: f64 = 1e-12;

export class Compressor extends Circuit {
  private readonly input: StaticArray<f64>;
  private readonly chain: StaticArray<f64>;
  // An output that nobody listens to has no wire.
  private readonly out: Wire | null;
  private readonly reduction: Wire | null;
  private readonly perThreshold: f64;
  /** V under which nothing is turned down. */
  private readonly lowest: f64;
  /** dB turned down for each dB over the threshold. */
  private readonly slope: f64;
  private readonly knee: f64;
  private readonly attack: f64;
  private readonly release: f64;
  private readonly makeUp: f64;
  private readonly perDecibel: f64;
  /** dB that the latest crest asks for, decaying since. */
  private asked: f64 = 0;
  /** dB turned down now, and the gain that this makes. */
  private down: f64 = 0;
  private gain: f64;

  constructor(
    input: Wire,
    chain: Wire,
    out: Wire | null,
    reduction: Wire | null,
    threshold: f64,
    ratio: f64,
    knee: f64,
    attack: f64,
    release: f64,
    makeUp: f64,
    perDecibel: f64,
    sampleRate: f64,
  ) {
    super();
    this.input = input.volts;
    this.chain = chain.volts;
    this.out = out;
    this.reduction = reduction;
    this.perThreshold = 1 / threshold;
    this.lowest = threshold * gainOfDb(-0.5 * knee);
    this.slope = 1 - 1 / ratio;
    this.knee = knee;
    this.attack = exp(-1 / (attack * sampleRate));
    this.release = exp(-1 / (release * sampleRate));
    this.makeUp = makeUp;
    this.perDecibel = perDecibel;
    this.gain = gainOfDb(makeUp);
    this.reads(input);
    this.reads(chain);
    this.drives(out);
    this.drives(reduction);
  }

  process(from: i32, to: i32): void {
    const input = this.input;
    const chain = this.chain;
    const out = voltsOf(this.out);
    const outGain = gainOf(this.out);
    const reduction = voltsOf(this.reduction);
    const reductionGain = gainOf(this.reduction);
    const lowest = this.lowest;
    const attack = this.attack;
    const release = this.release;
    const makeUp = this.makeUp;
    const perDecibel = this.perDecibel;
    let asked = this.asked;
    let down = this.down;
    let gain = this.gain;
    for (let i = from; i < to; i++) {
      const level = Math.abs(chain[i]);
      const wanted = level > lowest ? this.wanted(level) : 0;
      asked = wanted + release * (asked - wanted);
      if (asked < wanted) asked = wanted;
      const before = down;
      down = asked + attack * (down - asked);
      if (down != before) gain = gainOfDb(makeUp - down);
      out[i] = toRails(input[i] * gain) * outGain;
      reduction[i] = toRails(down * perDecibel) * reductionGain;
    }
    this.asked = asked;
    this.down = down;
    this.gain = gain;
  }

  rests(_samples: i32): bool {
    const last = BLOCK - 1;
    if (this.asked != 0 || this.down != 0 || Math.abs(this.chain[last]) > this.lowest) return false;
    const out = this.out;
    if (out != null && out.volts[last] != toRails(this.input[last] * this.gain) * out.gain)
      return false;
    const reduction = this.reduction;
    return reduction == null || reduction.volts[last] == 0;
  }

  settle(): void {
    if (this.asked < NOTHING && this.down < NOTHING && this.down != 0) {
      this.asked = 0;
      this.down = 0;
      this.gain = gainOfDb(this.makeUp);
    }
  }

  /** The static curve: dB to turn down at a level, V, that is above the knee's lower end. */
  private wanted(level: f64): f64 {
    const over = DB_AN_OCTAVE * log2(level * this.perThreshold);
    const knee = this.knee;
    if (2 * over >= knee) return this.slope * over;
    const into = over + 0.5 * knee;
    return into > 0 ? (this.slope * into * into) / (2 * knee) : 0;
  }
}
