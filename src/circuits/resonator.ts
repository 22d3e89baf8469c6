/** Resonator: see src/modules/resonator.ts. */
import { Circuit } from './core/circuit';
import { Wire } from './core/wire';
import { cosSinTurns, exp, exp2, gainOfDb } from './dsp/math';

/** ln 1000: time constants in 60 dB. */
const CONSTANTS: f64 = 6.907755278982137;
/** Cycles a sample at most. */
const FASTEST: f64 = 0.45;
/** Decay in use, s. */
const SHORTEST: f64 = 0.0001;
const LONGEST: f64 = 60;
/** V; smaller is inaudible, and far smaller numbers slow a processor down. */
const NOTHING: f64 = 1e-15;
const RAIL: f64 = 12;

export class Resonator extends Circuit {
  private readonly strikes: StaticArray<f64>;
  private readonly input: StaticArray<f64>;
  private readonly pitch: StaticArray<f64>;
  private readonly decays: StaticArray<f64>;
  /** V: the height of the pointer. */
  private readonly out: Wire;
  private readonly sampleRate: f64;
  /** Cycles a sample at 0 V of pitch. */
  private readonly base: f64;
  private readonly decay: f64;
  private readonly decayAmount: f64;
  private readonly strikeLevel: f64;
  private readonly inLevel: f64;

  /** V, of the pointer, along it and across. */
  private along: f64 = 0;
  private across: f64 = 0;
  private last: f64 = 0;
  /** The factor of the pointer at each sample. */
  private cosine: f64 = 0;
  private sine: f64 = 0;
  /** How much of it is left after a sample. */
  private left: f64 = 0;
  /** Volts that these are for; none at first. */
  private pitchVolts: f64 = NaN;
  private decayVolts: f64 = NaN;
  /** The inputs one sample ago. */
  private strike: f64 = 0;
  private inputVolts: f64 = 0;

  constructor(
    strike: Wire,
    input: Wire,
    pitch: Wire,
    decayWire: Wire,
    out: Wire,
    atZero: f64,
    tune: f64,
    decay: f64,
    decayAmount: f64,
    strikeLevel: f64,
    inLevel: f64,
    sampleRate: f64,
  ) {
    super();
    this.strikes = strike.volts;
    this.input = input.volts;
    this.pitch = pitch.volts;
    this.decays = decayWire.volts;
    this.out = out;
    this.sampleRate = sampleRate;
    this.base = (atZero / sampleRate) * exp2(tune / 12);
    this.decay = decay;
    this.decayAmount = decayAmount;
    this.strikeLevel = strikeLevel;
    this.inLevel = gainOfDb(inLevel);
    this.reads(strike);
    this.reads(input);
    this.reads(pitch);
    this.reads(decayWire);
    this.drives(out);
  }

  process(from: i32, to: i32): void {
    const strikes = this.strikes;
    const inputs = this.input;
    const pitches = this.pitch;
    const decays = this.decays;
    const out = this.out.volts;
    const weight = this.out.gain;
    const inLevel = this.inLevel;
    const strikeLevel = this.strikeLevel;
    let along = this.along;
    let across = this.across;
    let cosine = this.cosine;
    let sine = this.sine;
    let strike = this.strike;
    let input = this.inputVolts;
    let pitchVolts = this.pitchVolts;
    let decayVolts = this.decayVolts;
    for (let i = from; i < to; i++) {
      if (pitches[i] != pitchVolts || decays[i] != decayVolts) {
        pitchVolts = pitches[i];
        decayVolts = decays[i];
        this.retune(pitchVolts, decayVolts);
        cosine = this.cosine;
        sine = this.sine;
      }
      const rise = strikes[i] - strike;
      strike = strikes[i];
      let push = inLevel * (inputs[i] - input);
      input = inputs[i];
      if (rise > 0) push += strikeLevel * rise;
      const nextAcross = sine * along + cosine * across;
      along = cosine * along - sine * across + push;
      across = nextAcross;
      if (across * across + along * along > RAIL * RAIL) {
        const scale = RAIL / Math.sqrt(across * across + along * along);
        across = Math.min(Math.max(across * scale, -RAIL), RAIL);
        along *= scale;
      }
      out[i] = across * weight;
    }
    this.along = along;
    this.across = across;
    this.last = across;
    this.strike = strike;
    this.inputVolts = input;
  }

  rests(_samples: i32): bool {
    return this.along == 0 && this.across == 0 && this.last == 0;
  }

  settle(): void {
    if (Math.abs(this.across) < NOTHING && Math.abs(this.along) < NOTHING) {
      this.across = 0;
      this.along = 0;
    }
  }

  private retune(pitch: f64, decayVolts: f64): void {
    if (decayVolts != this.decayVolts) {
      const decay = this.decay * exp2(this.decayAmount * decayVolts);
      const used = Math.min(Math.max(decay, SHORTEST), LONGEST);
      this.left = exp(-CONSTANTS / (used * this.sampleRate));
    }
    this.pitchVolts = pitch;
    this.decayVolts = decayVolts;
    const turns = Math.min(this.base * exp2(pitch), FASTEST);
    const both = cosSinTurns(turns);
    this.cosine = this.left * f64x2.extract_lane(both, 0);
    this.sine = this.left * f64x2.extract_lane(both, 1);
  }
}
