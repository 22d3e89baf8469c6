/**
 * Slow twins of the circuits that work on two samples at a time or with bracketed sums: one number
 * after another, each by its equation in src/modules. They run on the same bench as the circuits.
 */

// The shim of the circuits' language is loaded before any of them.
import '../shim';

import { Matched } from '../../../src/circuits/dsp/matched';
import type { Handle } from '../../../src/modules/definition.ts';
import { cosTurns, exp, exp2, gainOfDb, sinTurns } from '../../../src/modules/dsp/math.ts';
import { BLOCK, type Host } from '../bench.ts';
import { Plain } from '../plain.ts';
import { type Curve, folding, rectification, saturation } from './curves.ts';
import { HalfBand } from './half-band.ts';

interface Wire {
  readonly volts: Float64Array;
  readonly gain: number;
}

interface Twin {
  /** Works out the block's sample `i`. */
  run(i: number): void;
  settle?(): void;
}

type Make = (...values: readonly never[]) => Twin;

const RAIL = 12;
const NOTHING = 1e-15;
const toRails = (volts: number): number => Math.min(Math.max(volts, -RAIL), RAIL);
const flushed = (value: number): number => (Math.abs(value) < NOTHING ? 0 : value);
const put = (wire: Wire | null, i: number, volts: number): void => {
  if (wire !== null) wire.volts[i] = volts * wire.gain;
};
const at = (wire: Wire, i: number): number => wire.volts[i] as number;

function ring(a: Wire, b: Wire, out: Wire): Twin {
  const [left, right, product] = [HalfBand.steep(), HalfBand.steep(), HalfBand.steep()];
  return {
    run(i) {
      const [l0, l1] = left.double(at(a, i));
      const [r0, r1] = right.double(at(b, i));
      put(out, i, toRails(product.halve(l0 * r0, l1 * r1) * (0.5 / 5)));
    },
    settle() {
      for (const filter of [left, right, product]) filter.settle();
    },
  };
}

function shaper(
  input: Wire,
  control: Wire,
  out: Wire,
  shape: number,
  drive: number,
  amount: number,
  bias: number,
): Twin {
  const curve = [saturation, folding, () => rectification(9 / 5)][shape]?.() as Curve;
  // What has corners runs at eight times the rate, what has none at four times.
  const stages = shape === 0 ? 2 : 3;
  const up = [HalfBand.cleanSteep(), HalfBand.cleanWide(), HalfBand.widest()];
  const down = [HalfBand.steep(), HalfBand.wide(), HalfBand.widest()];
  /** Bends a sample at 2^stage times the rate; twice as large at each stage before the last. */
  const bent = (x: number, stage: number): number => {
    const [doubler, halver] = [up[stage], down[stage]];
    if (stage === stages || doubler === undefined || halver === undefined)
      return curve(x + bias / 5);
    const [first, second] = doubler.double(x).map((y) => bent(y, stage + 1)) as [number, number];
    return halver.halve(first, second);
  };
  return {
    run(i) {
      const gain = Math.min(gainOfDb(drive) * exp2(amount * at(control, i)), 1000) / 5;
      put(out, i, toRails((5 * bent(gain * at(input, i), 0)) / 2 ** stages));
    },
    settle() {
      for (const filter of [...up, ...down]) filter.settle();
    },
  };
}

/** Each one-pole by itself, its feedback solved at each sample. */
function ladder(
  input: Wire,
  control: Wire,
  out: Wire,
  cutoff: number,
  resonance: number,
  drive: number,
  amount: number,
  sampleRate: number,
): Twin {
  const [doubler, halver, curve] = [HalfBand.steep(), HalfBand.steep(), saturation()];
  const k = 4 * resonance;
  const states = [0, 0, 0, 0];
  let isNew = true;
  const clip = (x: number): number => (Math.abs(x) > 1.5 ? Math.sign(x) : x - (4 * x * x * x) / 27);
  const loop = (x: number, gain: number): number => {
    const pass = gain / (1 + gain);
    // What the last one-pole would give without feedback.
    const open = states.reduce((y, s) => s + pass * (y - s), x);
    const straight = open / (1 + k * pass ** 4);
    const taken = straight - clip(straight);
    let y = x - k * (straight - taken / (1 + k * pass ** 4));
    states.forEach((s, n) => {
      const step = pass * (y - s);
      states[n] = s + 2 * step;
      y = s + step;
    });
    return y;
  };
  return {
    run(i) {
      const turns = (cutoff / (2 * sampleRate)) * exp2(amount * at(control, i));
      const gain = Math.tan(Math.PI * Math.min(turns, 0.225));
      // Each state of a loop that sings: (1 - j gain) (1 + j)^(stages after it) of the peak.
      if (isNew && resonance > 1)
        [3, 2, 1, 0].forEach((after, n) => {
          const angle = (after * Math.PI) / 4 - Math.atan(gain);
          const size = Math.hypot(1, gain) * Math.SQRT2 ** after;
          states[n] = 3 * Math.sqrt(1 - 1 / resonance) * size * Math.sin(angle);
        });
      isNew = false;
      const two = doubler.double((gainOfDb(drive) / 10) * at(input, i));
      const [first, second] = two.map((x) => loop((10 / 5.5) * curve(x), gain)) as [number, number];
      put(out, i, toRails(halver.halve(first, second) * (5.5 / 2)));
    },
    settle() {
      doubler.settle();
      halver.settle();
      states.forEach((s, n) => {
        states[n] = flushed(s);
      });
    },
  };
}

class Bank implements Twin {
  private readonly input: Wire;
  private readonly out: Wire;
  private readonly bands: { section: Matched; level: number; first: number; second: number }[] = [];

  constructor(input: Wire, out: Wire) {
    this.input = input;
    this.out = out;
  }

  plug(level: number, midband: number, q: number): void {
    const section = new Matched(q);
    section.tune(midband);
    this.bands.push({ section, level: gainOfDb(level), first: 0, second: 0 });
  }

  /** Two integrators in a loop by the trapezoidal rule; the bank's circuit has one line for both. */
  run(i: number): void {
    const x = at(this.input, i);
    let sum = 0;
    for (const band of this.bands) {
      const { gain, damping, band1, band2 } = band.section;
      const [s1, s2] = [band.first, band.second];
      const high = (x - (damping + gain) * s1 - s2) / (1 + gain * (damping + gain));
      const one = gain * high + s1;
      const two = gain * one + s2;
      band.first = 2 * one - s1;
      band.second = 2 * two - s2;
      sum += band.level * (band1 * one + band2 * gain * high);
    }
    put(this.out, i, toRails(sum));
  }

  settle(): void {
    for (const band of this.bands) {
      band.first = flushed(band.first);
      band.second = flushed(band.second);
    }
  }
}

class Noise implements Twin {
  private readonly outs: readonly (Wire | null)[];
  private readonly numbers: readonly number[];
  private source: () => number;
  private readonly poles: { pole: number; weight: number; state: number }[] = [];
  private readonly sections: { b: number; a: [number, number]; x: number[]; y: number[] }[] = [];
  private redState = 0;
  private redSum = 0;

  /** `numbers`: level, direct, zero, decay, pull and gain of red. */
  constructor(outs: readonly (Wire | null)[], numbers: readonly number[], source: () => number) {
    this.outs = outs;
    this.numbers = numbers;
    this.source = source;
  }

  plug(pole: number, weight: number): void {
    this.poles.push({ pole, weight, state: 0 });
  }

  limit(b: number, a1: number, a2: number): void {
    this.sections.push({ b, a: [a1, a2], x: [0, 0], y: [0, 0] });
  }

  warmUp(samples: number, source: () => number): void {
    const own = this.source;
    this.source = source;
    for (let n = 0; n < samples; n++) this.run(0);
    this.source = own;
  }

  run(i: number): void {
    const [level, direct, zero, decay, pull, gain] = this.numbers as [
      number,
      number,
      number,
      number,
      number,
      number,
    ];
    const x = this.source();
    const before = this.poles[5]?.state as number;
    let pink = direct * x;
    for (const pole of this.poles) {
      pole.state = pole.pole * pole.state + x;
      pink += pole.weight * pole.state;
    }
    const top = this.poles[5]?.state as number;
    this.redState = decay * this.redState + (top + zero * before) - pull * this.redSum;
    this.redSum += this.redState;
    const [whiteOut, pinkOut, redOut] = this.outs as [Wire | null, Wire | null, Wire | null];
    put(whiteOut, i, toRails(level * this.underCeiling(x)));
    put(pinkOut, i, toRails(pink));
    put(redOut, i, toRails(gain * this.redState));
  }

  /** The difference equation of each section: b (x + 2 x' + x") - a1 y' - a2 y". */
  private underCeiling(value: number): number {
    let x = value;
    for (const section of this.sections) {
      const [x1, x2, y1, y2] = [...section.x, ...section.y] as [number, number, number, number];
      const y = section.b * (x + 2 * x1 + x2) - section.a[0] * y1 - section.a[1] * y2;
      section.x = [x, x1];
      section.y = [y, y1];
      x = y;
    }
    return x;
  }
}

/** The random numbers, of white noise at 1 V and nothing taken away: no two samples at a time there. */
function numbers(a: number, b: number, c: number, d: number): () => number {
  const host = new Plain();
  const wire = host.wire();
  // Twelve volts over the level is where its peaks end: far beyond what any number comes to.
  host.make('whiteNoise', wire, 1e-3, a, b, c, d);
  let next = BLOCK;
  return () => {
    if (next === BLOCK) {
      host.next();
      next = 0;
    }
    return (host.volts(wire)[next++] as number) / 1e-3;
  };
}

class Mixer implements Twin {
  private readonly out: Wire;
  private readonly inputs: { readonly wire: Wire; readonly level: number }[] = [];

  constructor(out: Wire) {
    this.out = out;
  }

  plug(wire: Wire, level: number): void {
    this.inputs.push({ wire, level });
  }

  run(i: number): void {
    const sum = this.inputs.reduce((all, { wire, level }) => all + level * at(wire, i), 0);
    put(this.out, i, toRails(sum));
  }
}

function linearAmplifier(
  input: Wire,
  control: Wire,
  out: Wire,
  unity: number,
  maxGain: number,
): Twin {
  return {
    run(i) {
      const gain = Math.min(Math.max(at(control, i) / unity, 0), gainOfDb(maxGain));
      put(out, i, toRails(at(input, i) * gain));
    },
  };
}

function resonator(
  strike: Wire,
  input: Wire,
  pitch: Wire,
  decays: Wire,
  out: Wire,
  atZero: number,
  tune: number,
  decay: number,
  decayAmount: number,
  strikeLevel: number,
  inLevel: number,
  sampleRate: number,
): Twin {
  const base = (atZero / sampleRate) * exp2(tune / 12);
  let [along, across, struck, heard] = [0, 0, 0, 0];
  return {
    run(i) {
      const seconds = Math.min(Math.max(decay * exp2(decayAmount * at(decays, i)), 0.0001), 60);
      const left = exp(-6.907755278982137 / (seconds * sampleRate));
      const turns = Math.min(base * exp2(at(pitch, i)), 0.45);
      const [cosine, sine] = [left * cosTurns(turns), left * sinTurns(turns)];
      const rise = Math.max(at(strike, i) - struck, 0);
      const push = gainOfDb(inLevel) * (at(input, i) - heard) + strikeLevel * rise;
      struck = at(strike, i);
      heard = at(input, i);
      [along, across] = [cosine * along - sine * across + push, sine * along + cosine * across];
      const size = Math.sqrt(along * along + across * across);
      if (size > RAIL) {
        along *= RAIL / size;
        across *= RAIL / size;
      }
      put(out, i, across);
    },
    settle() {
      if (Math.abs(across) < NOTHING && Math.abs(along) < NOTHING) [along, across] = [0, 0];
    },
  };
}

type Four = [number, number, number, number];

const MAKE: Readonly<Record<string, Make>> = {
  ring,
  shaper,
  ladder,
  linearAmplifier,
  resonator,
  fixedBank: (input: Wire, out: Wire) => new Bank(input, out),
  mixer: (out: Wire) => new Mixer(out),
  colouredNoise: (...values: readonly unknown[]) =>
    new Noise(
      values.slice(0, 3) as (Wire | null)[],
      values.slice(3, 9) as number[],
      numbers(...(values.slice(9) as Four)),
    ),
};

const CALL: Readonly<Record<string, (twin: never, ...values: readonly never[]) => void>> = {
  fixedBankBand: (bank: Bank, level: number, midband: number, q: number) =>
    bank.plug(level, midband, q),
  mixerInput: (mixer: Mixer, wire: Wire, level: number) => mixer.plug(wire, level),
  noiseSection: (noise: Noise, _: number, __: number, b: number, a1: number, a2: number) =>
    noise.limit(b, a1, a2),
  colouredNoisePole: (noise: Noise, _: number, pole: number, weight: number) =>
    noise.plug(pole, weight),
  colouredNoiseWarmUp: (noise: Noise, samples: number, ...seeds: Four) =>
    noise.warmUp(samples, numbers(...seeds)),
};

/** Where the twins run. A handle is the twin or the wire itself. */
export class Twins implements Host {
  readonly none = null as unknown as Handle;
  private readonly twins: Twin[] = [];

  make(name: string, ...values: readonly unknown[]): Handle {
    const { [name]: make } = MAKE;
    if (make === undefined) throw new Error(`${name} has no twin`);
    const twin = make(...(values as readonly never[]));
    this.twins.push(twin);
    return twin as unknown as Handle;
  }

  call(name: string, twin: Handle, ...values: readonly unknown[]): Handle {
    CALL[name]?.(twin as never, ...(values as readonly never[]));
    return twin;
  }

  wire(gain = 1): Handle {
    return { volts: new Float64Array(BLOCK), gain } as unknown as Handle;
  }

  constant(volts: number): Handle {
    return { volts: new Float64Array(BLOCK).fill(volts), gain: 1 } as unknown as Handle;
  }

  volts(wire: Handle): Float64Array {
    return (wire as unknown as Wire).volts;
  }

  samples(list: Float64Array): Handle {
    return list as unknown as Handle;
  }

  filled(): void {}

  step(from: number, to: number): void {
    for (const twin of this.twins) {
      for (let i = from; i < to; i++) twin.run(i);
      if (to === BLOCK) twin.settle?.();
    }
  }

  next(): void {
    this.step(0, BLOCK);
  }
}
