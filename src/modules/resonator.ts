/**
 * Resonator: something that rings when struck, as a drum head does.
 *
 *   out = V exp(-t/tau) sin(2 pi f t) after a step of V volts at strike, strike-level being 100 %
 *   f   = at-zero x 2^(pitch + tune/12), tau = T60/ln 1000, T60 = decay x 2^(decay-amount x volts)
 *
 * f is the frequency that is heard. As a two-pole band-pass it is f = f0 sqrt(1 - 1/(4 Q^2)), with
 * tau = Q/(pi f0). What comes in at `in` goes through that band-pass, whose gain at f0 is Q: it is
 * the response of the same circuit to the volts themselves, with no diode in the way.
 *
 * Only rising volts at strike excite it, as through a capacitor and a diode: the end of a gate does
 * not strike again, and a louder gate strikes harder in proportion.
 *
 * The state is a pointer that turns by f and shrinks by tau at each sample; out is its height. That
 * is the equation itself, exact at every sample rate, and a pitch that moves never makes it louder
 * or clicks. The pointer is never longer than the supply rails: what is driven further just stops
 * growing, without a bend in the wave.
 *
 * Source: response of the second-order section: Sedra & Smith, Microelectronic Circuits, filters
 * chapter (from memory); T60 = tau ln 1000 is the definition of 60 dB. Capacitor and diode: common
 * practice, no source.
 * Deviation: f in use is never above 0.45 of the sample rate, T60 never under 0.1 ms or over 60 s.
 * Deviation: a strike takes effect at the sample it falls on, up to a sample from where it truly was.
 */

import { type Circuit, define, type Site, type Values } from './definition.ts';
import { cosTurns, exp, exp2, gainOfDb, sinTurns } from './dsp/math.ts';
import { plain, RAIL_VOLTS, volts } from './facts.ts';

/** ln 1000: time constants in 60 dB. */
const CONSTANTS = 6.907755278982137;
/** C2 in equal temperament: 440 Hz x 2^(-33/12). */
const C2_HERTZ = 65.40639132514966;
/** Cycles a sample at most. */
const FASTEST = 0.45;
/** Decay in use, s. */
const SHORTEST = 0.0001;
const LONGEST = 60;
/** V; smaller is nothing to hear, and numbers far smaller slow a processor down. */
const NOTHING = 1e-15;

const settings = {
  'at-zero': {
    type: 'frequency',
    min: 5,
    max: 20_000,
    fallback: C2_HERTZ,
    about: 'Frequency at 0 V of pitch. C2 unless set.',
  },
  tune: {
    type: 'interval',
    min: -60,
    max: 60,
    fallback: 0,
    about: 'Interval added to the pitch.',
  },
  decay: {
    type: 'time',
    min: 0.001,
    max: 60,
    fallback: 0.4,
    about: 'Time in which the ringing falls by 60 dB, with 0 V at decay.',
  },
  'decay-amount': {
    type: 'percent',
    min: -1,
    max: 1,
    fallback: 1,
    about: 'How far the voltage at decay moves it: 100 % doubles it with each volt.',
  },
  'strike-level': {
    type: 'percent',
    min: 0,
    max: 4,
    fallback: 1,
    about: 'How high it rings for each volt of a strike.',
  },
  'in-level': {
    type: 'decibel',
    min: -60,
    max: 20,
    fallback: 0,
    about: 'Level of in. At 0 dB a step there rings as high as a strike of 100 %.',
  },
} as const;

export const resonator = define({
  kind: 'resonator',
  about:
    'Rings at a pitch when a gate strikes it, and dies away. Also a narrow band-pass for sounds. ' +
    'Pitch and decay can follow volts.',
  settings,
  jacks: () => [
    {
      name: 'strike',
      direction: 'in',
      signal: 'gate',
      about: 'A rise of volts here strikes it; the higher, the louder.',
      facts: plain(),
    },
    {
      name: 'in',
      direction: 'in',
      signal: 'audio',
      about: 'Sound that sets it ringing: noise, a click, another drum.',
      facts: plain(),
    },
    {
      name: 'pitch',
      direction: 'in',
      signal: 'pitch',
      about: 'One volt an octave, added to the tuning.',
      facts: plain(),
    },
    {
      name: 'decay',
      direction: 'in',
      signal: 'control',
      about: 'Lengthens the decay: doubles it with each volt, at 100 %.',
      facts: plain(),
    },
    {
      name: 'out',
      direction: 'out',
      signal: 'audio',
      about: 'The ringing.',
      facts: volts(-5, 5),
    },
  ],
  role: 'circuit',
  create: (values, site) => {
    site.make(
      'resonator',
      ...['strike', 'in', 'pitch', 'decay'].map(site.input),
      site.output('out'),
      values['at-zero'],
      values.tune,
      values.decay,
      values['decay-amount'],
      values['strike-level'],
      values['in-level'],
      site.sampleRate,
    );
  },
  example: `title: Resonator
about: Each gate strikes a drum tuned to G2. No envelope or amplifier is needed.
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [tom], patterns: { groove: { tom: "x--x--x-" } }, song: [groove] }
  head:  { kind: resonator, tune: 7 st, decay: 500 ms }
  out:   { kind: output }
cables:
  - drums.tom -> head.strike
  - head.out  -> out.left
`,
});

/**
 * Gives what is left of the ringing after one sample.
 * @param decay time for 60 dB, s.
 * @param sampleRate Hz.
 * @returns from 0 to 1.
 */
export function ringingLeft(decay: number, sampleRate: number): number {
  return exp(-CONSTANTS / (decay * sampleRate));
}

class ResonatorCircuit implements Circuit {
  /** V: the height of the pointer. */
  out = 0;

  private readonly sampleRate: number;
  /** Cycles a sample at 0 V of pitch. */
  private readonly base: number;
  private readonly decay: number;
  private readonly decayAmount: number;
  private readonly strikeLevel: number;
  private readonly inLevel: number;

  /** V, of the pointer, along it and across. */
  private along = 0;
  private across = 0;
  /** What a sample multiplies the pointer by. */
  private cosine = 0;
  private sine = 0;
  /** How much of it is left after a sample. */
  private left = 0;
  /** Volts that these are for; none at first. */
  private pitchVolts = Number.NaN;
  private decayVolts = Number.NaN;
  /** The inputs one sample ago. */
  private strike = 0;
  private input = 0;

  constructor(values: Values<typeof settings>, site: Site) {
    this.sampleRate = site.sampleRate;
    this.base = (values['at-zero'] / site.sampleRate) * exp2(values.tune / 12);
    this.decay = values.decay;
    this.decayAmount = values['decay-amount'];
    this.strikeLevel = values['strike-level'];
    this.inLevel = gainOfDb(values['in-level']);
  }

  run(strike: number, input: number, pitch: number, decay: number): void {
    if (pitch !== this.pitchVolts || decay !== this.decayVolts) {
      this.pitchVolts = pitch;
      if (decay !== this.decayVolts) {
        this.decayVolts = decay;
        this.shorten();
      }
      this.turn();
    }
    const rise = strike - this.strike;
    this.strike = strike;
    let push = this.inLevel * (input - this.input);
    this.input = input;
    if (rise > 0) push += this.strikeLevel * rise;

    const across = this.sine * this.along + this.cosine * this.across;
    const along = this.cosine * this.along - this.sine * this.across + push;
    this.across = across;
    this.along = along;
    if (across * across + along * along > RAIL_VOLTS * RAIL_VOLTS) this.hold();
    this.out = this.across;
  }

  rests(): boolean {
    return this.along === 0 && this.across === 0 && this.out === 0;
  }

  settle(): void {
    if (Math.abs(this.across) < NOTHING && Math.abs(this.along) < NOTHING) {
      this.across = 0;
      this.along = 0;
    }
  }

  // These take their volts from fields, since V8 would box an argument of a call it does not inline.

  private shorten(): void {
    const decay = this.decay * exp2(this.decayAmount * this.decayVolts);
    this.left = ringingLeft(Math.min(Math.max(decay, SHORTEST), LONGEST), this.sampleRate);
  }

  private turn(): void {
    const turns = Math.min(this.base * exp2(this.pitchVolts), FASTEST);
    this.cosine = this.left * cosTurns(turns);
    this.sine = this.left * sinTurns(turns);
  }

  /** Shortens the pointer to the rails. */
  private hold(): void {
    const length = Math.sqrt(this.across * this.across + this.along * this.along);
    const scale = RAIL_VOLTS / length;
    this.across = Math.min(Math.max(this.across * scale, -RAIL_VOLTS), RAIL_VOLTS);
    this.along *= scale;
  }
}
