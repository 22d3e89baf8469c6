/**
 * Oscillator: four waves of one phase, at one volt an octave.
 *
 *   frequency = at-zero x 2^(pitch + tune / 12 + e x exponential-fm) x (1 + l x linear-fm / 5 V)
 *               volts at the jacks, tune in semitones, e and l the amounts of either FM
 *   phase     = integral of the frequency, from 0 at the start (trapezoidal rule)
 *   sine      = 5 V sin(2 pi phase)
 *   triangle  in phase with the sine;  saw rises through 0 V with it
 *   pulse     +5 V for the first `width` of each period, then -5 V; 10 % wider for each volt
 *
 * `sync` starts a new period at once when it rises through its threshold, at the moment between two
 * samples that a straight line through them gives.
 *
 * Saw, triangle and pulse are band limited: see dsp/band-limited-step.ts. Alias products below
 * 20 kHz lie 80 dB and more under the fundamental, for fundamentals up to 5 kHz.
 *
 * Source: twelve-tone equal temperament, A4 = 440 Hz: ISO 16:1975 (from memory); one volt an octave:
 * common practice, no source. The waves' harmonics are those of their Fourier series. What sync does
 * to the jumps and slopes: Brandt, "Hard sync without aliasing", ICMC 2001; Esqueda, Valimaki &
 * Bilbao, "Rounding corners with BLAMP", DAFx-16 (both from memory).
 * Deviation: all waves come 3 samples late (62 us at 48 kHz), which is what the band-limiting
 * takes; the sine waits for the others so that they stay in phase.
 * Deviation: saw and pulse ring for a few samples after a jump, by up to 2.1 V past their +-5 V, for
 * want of what lies above 20 kHz.
 * Deviation: the frequency stops at 0.45 of the sample rate and, under linear FM, at 0 Hz.
 * Deviation: under deep FM a sine has sidebands beyond half the sample rate, and they fold.
 * Deviation: sync restarts all waves at the phase 0, so the saw at 0 V; many circuits start it at
 * the bottom.
 * Deviation: a circuit's wave has rounded corners, a trace of the other waves and some drift in
 * pitch; this one has none, and starts at the same phase every time so that a patch sounds the same.
 */

import { type Circuit, define, type Site, type Values } from './definition.ts';
import { KERNEL_DELAY } from './dsp/band-limited-kernel.ts';
import { Corrections } from './dsp/band-limited-step.ts';
import { exp2 } from './dsp/math.ts';
import { quarterSine } from './dsp/quarter-sine.ts';
import { plain, voltageTrigger, volts } from './facts.ts';

/** C2 in equal temperament: 440 Hz x 2^(-33/12). */
const C2_HERTZ = 65.40639132514966;
/** V, either side of ground. */
const SWING = 5;
/** Cycles a sample at most, so that no corner comes twice within a sample. */
const FASTEST = 0.45;
/** V of linear FM for which the amount counts. */
const FM_VOLTS = 5;
/** Part of a period a volt. */
const WIDTH_PER_VOLT = 0.1;
const WIDTH = { min: 0.05, max: 0.95 };
/** Of a bit a sample, the one that is as late as the waves are. */
const LATE = 1 << KERNEL_DELAY;
/** Inputs that most oscillators have nothing plugged into, and then do no work for. */
const MODULATORS = ['linear-fm', 'sync', 'width'];
/** No time within a sample, and a phase that is always past. */
const NO_SYNC = -1;
const AT_ONCE = -1;
const TWO_PI = 6.283185307179586;

const settings = {
  'at-zero': {
    type: 'frequency',
    min: 0.01,
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
  width: {
    type: 'percent',
    ...WIDTH,
    fallback: 0.5,
    about: 'Part of each period for which the pulse is high.',
  },
  'exponential-fm-amount': {
    type: 'percent',
    min: -1,
    max: 1,
    fallback: 1,
    about:
      'How far exponential-fm moves the pitch: 100 % is an octave a volt; negative moves it down.',
  },
  'linear-fm-amount': {
    type: 'percent',
    min: 0,
    max: 4,
    fallback: 1,
    about: 'How far linear-fm moves the frequency: at 100 %, 5 V doubles it and -5 V stops it.',
  },
} as const;

export const oscillator = define({
  kind: 'oscillator',
  about:
    'Sine, triangle, saw and pulse of one pitch, all at once. The pitch follows one volt an octave.',
  settings,
  jacks: () => [
    {
      name: 'pitch',
      direction: 'in',
      signal: 'pitch',
      about: 'One volt an octave, added to the tuning.',
      facts: plain(),
    },
    {
      name: 'exponential-fm',
      direction: 'in',
      signal: 'control',
      about: 'Bends the pitch by its amount: an envelope for a drum, a slow wave for vibrato.',
      facts: plain(),
    },
    {
      name: 'linear-fm',
      direction: 'in',
      signal: 'audio',
      about: 'Moves the frequency by its amount, in hertz rather than in octaves: for bells.',
      facts: plain(),
    },
    {
      name: 'sync',
      direction: 'in',
      signal: 'audio',
      about: 'Starts a new period at once whenever it rises: a master oscillator, or a trigger.',
      facts: voltageTrigger(0),
    },
    {
      name: 'width',
      direction: 'in',
      signal: 'control',
      about: 'Widens the pulse by 10 % of the period a volt, between 5 % and 95 %.',
      facts: plain(),
    },
    {
      name: 'sine',
      direction: 'out',
      signal: 'audio',
      about: 'Fundamental alone.',
      facts: volts(-SWING, SWING),
      field: 'sine',
    },
    {
      name: 'triangle',
      direction: 'out',
      signal: 'audio',
      about: 'Odd harmonics, falling as 1 / n^2.',
      facts: volts(-SWING, SWING),
      field: 'triangle',
    },
    {
      name: 'saw',
      direction: 'out',
      signal: 'audio',
      about: 'All harmonics, falling as 1 / n. A rising ramp.',
      facts: volts(-SWING, SWING),
      field: 'saw',
    },
    {
      name: 'pulse',
      direction: 'out',
      signal: 'audio',
      about: 'Odd harmonics at 50 %; a narrower pulse is brighter, and carries a steady voltage.',
      facts: volts(-SWING, SWING),
      field: 'pulse',
    },
  ],
  role: 'circuit',
  create: (values, site) => new OscillatorCircuit(values, site),
  example: `title: Oscillator
about: A sine an octave and a half above C2, struck by an envelope.
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [tom], gate: 10 ms, patterns: { groove: { tom: "x--x--x-" } }, song: [groove] }
  tone:  { kind: oscillator, tune: 18 st }
  shape: { kind: envelope, release: 250 ms }
  level: { kind: amplifier }
  out:   { kind: output }
cables:
  - drums.tom -> shape.trigger
  - shape.out -> level.control
  - tone.sine -> level.in
  - level.out -> out.left
`,
});

/**
 * Gives the frequency of an oscillator, before its upper limit.
 * @param atZero Hz at 0 V.
 * @param pitch V; one volt is an octave.
 * @param tune semitones.
 * @returns Hz.
 */
export function pitchFrequency(atZero: number, pitch: number, tune: number): number {
  return atZero * exp2(pitch + tune / 12);
}

/**
 * Gives the time in which a phase that speeds up or slows down evenly goes a distance:
 * the t of speed t + change t^2 / 2 = distance.
 * @param distance over 0, and reached before it would turn back.
 * @param speed at the beginning, 0 or more.
 */
export function travelTime(distance: number, speed: number, change: number): number {
  const square = speed * speed + 2 * change * distance;
  return (2 * distance) / (speed + Math.sqrt(Math.max(0, square)));
}

/** Gives the triangle in phase with a sine, -1 to 1, at a phase from 0 up to 1. */
export function triangleAt(phase: number): number {
  const fromCrest = phase < 0.75 ? phase - 0.25 : phase - 1.25;
  return 1 - 4 * Math.abs(fromCrest);
}

/** Gives the rising saw in phase with a sine, -1 to 1, at a phase from 0 up to 1. */
export function sawAt(phase: number): number {
  return 2 * (phase < 0.5 ? phase : phase - 1);
}

class OscillatorCircuit implements Circuit {
  /** V, as are the others. */
  sine = 0;
  triangle = 0;
  saw = 0;
  pulse = 0;

  private readonly isModulated: boolean;
  private readonly hasSine: boolean;
  private readonly hasTriangle: boolean;
  private readonly hasSaw: boolean;
  private readonly hasPulse: boolean;
  private readonly sineCorrections = new Corrections();
  private readonly triangleCorrections = new Corrections();
  private readonly sawCorrections = new Corrections();
  private readonly pulseCorrections = new Corrections();
  /** Cycles a sample with 0 V at every jack. */
  private readonly base: number;
  private readonly exponentialAmount: number;
  private readonly linearAmount: number;
  private readonly setWidth: number;
  private readonly syncOn: number;
  private readonly syncOff: number;

  /** Octaves above `base` for which `tuned` is right. */
  private octaves = Number.NaN;
  /** Cycles a sample: before linear FM; after it; and that one sample ago. */
  private tuned = 0;
  private increment = 0;
  private previous = Number.NaN;
  /** Cycles, from 0 up to 1: now, and one to three samples ago (KERNEL_DELAY). */
  private phase = 0;
  private phase1 = 0;
  private phase2 = 0;
  private phase3 = 0;
  /** The phase at which the next corner, jump or period comes. */
  private next = 0;

  /** The pulse's, now and one sample ago. */
  private width: number;
  private widthBefore: number;
  /** Whether the phase is under the width, a bit a sample; the lowest is this sample's. */
  private highs = -1;

  /** V at the sync jack one sample ago, and whether it is high. High from the start is no event. */
  private syncBefore = 0;
  private isSyncHigh = true;
  /** When within the sample a new period starts, 0 to 1. */
  private syncTime = NO_SYNC;

  constructor(values: Values<typeof settings>, site: Site) {
    this.base = pitchFrequency(values['at-zero'], 0, values.tune) / site.sampleRate;
    this.exponentialAmount = values['exponential-fm-amount'];
    this.linearAmount = values['linear-fm-amount'] / FM_VOLTS;
    this.setWidth = values.width;
    this.width = values.width;
    this.widthBefore = values.width;
    const { trigger } = site.input('sync');
    this.syncOn = trigger?.on ?? 0;
    this.syncOff = trigger?.off ?? 0;
    this.hasSine = site.patched('sine');
    this.hasTriangle = site.patched('triangle');
    this.hasSaw = site.patched('saw');
    this.hasPulse = site.patched('pulse');
    this.isModulated = MODULATORS.some(site.patched);
    this.next = this.eventAfter(0);
  }

  run(pitch: number, exponentialFm: number, linearFm: number, sync: number, width: number): void {
    const octaves = pitch + this.exponentialAmount * exponentialFm;
    if (octaves !== this.octaves) this.retune(octaves);
    if (this.isModulated) this.modulate(linearFm, sync, width);
    this.phase3 = this.phase2;
    this.phase2 = this.phase1;
    this.phase1 = this.phase;
    this.phase += 0.5 * (this.previous + this.increment);
    if (this.phase >= this.next) this.pass();
    this.previous = this.increment;

    const phase = this.phase3;
    if (this.hasSine || this.hasTriangle) {
      const triangle = triangleAt(phase);
      if (this.hasSine) this.sine = SWING * quarterSine(triangle) + this.sineCorrections.take();
      if (this.hasTriangle) this.triangle = SWING * triangle + this.triangleCorrections.take();
    }
    if (this.hasSaw) this.saw = SWING * sawAt(phase) + this.sawCorrections.take();
    if (this.hasPulse) {
      this.highs = (this.highs << 1) | (this.phase < this.width ? 1 : 0);
      this.pulse = ((this.highs & LATE) !== 0 ? SWING : -SWING) + this.pulseCorrections.take();
    }
  }

  private retune(octaves: number): void {
    this.octaves = octaves;
    this.tuned = Math.min(this.base * exp2(octaves), FASTEST);
    this.increment = this.tuned;
    // The first sample is phase 0, so the step to it is none.
    if (Number.isNaN(this.previous)) this.previous = -this.increment;
  }

  /** Takes the volts at the other inputs; `pass` then does what they ask for. */
  private modulate(linearFm: number, sync: number, width: number): void {
    const increment = this.tuned * (1 + this.linearAmount * linearFm);
    this.increment = increment > 0 ? Math.min(increment, FASTEST) : 0;

    this.widthBefore = this.width;
    if (this.hasPulse) {
      const wanted = this.setWidth + WIDTH_PER_VOLT * width;
      this.width = Math.max(WIDTH.min, Math.min(wanted, WIDTH.max));
      if (this.width !== this.widthBefore) this.next = AT_ONCE;
    }

    if (sync >= this.syncOn && !this.isSyncHigh) {
      this.isSyncHigh = true;
      this.syncTime = (this.syncOn - this.syncBefore) / (sync - this.syncBefore);
      this.next = AT_ONCE;
    } else if (sync <= this.syncOff) this.isSyncHigh = false;
    this.syncBefore = sync;
  }

  /** Makes good the events between the last sample and this one. */
  private pass(): void {
    if (this.syncTime === NO_SYNC) {
      this.phase = this.cover(this.phase1, 0, this.phase, 1, this.widthBefore, this.width);
    } else this.synchronise(this.syncTime);
    this.next = this.eventAfter(this.phase);
  }

  /** The same, with a new period that starts at `time`, 0 to 1 from the last sample to this. */
  private synchronise(time: number): void {
    const width = this.widthBefore + (this.width - this.widthBefore) * time;
    const reached = this.phase1 + this.travelled(time);
    const last = this.cover(this.phase1, 0, reached, time, this.widthBefore, width);
    this.restart(last, width, time);
    const since = this.travelled(1) - this.travelled(time);
    this.phase = this.cover(0, time, since, 1, width, this.width);
    this.syncTime = NO_SYNC;
  }

  /** Cycles from the last sample to `time` after it, 0 to 1: the frequency changes evenly. */
  private travelled(time: number): number {
    return (this.previous + 0.5 * (this.increment - this.previous) * time) * time;
  }

  /** Cycles a sample at that time. */
  private speed(time: number): number {
    return this.previous + (this.increment - this.previous) * time;
  }

  /** The time at which the phase has gone so far beyond where it was at `start`. */
  private timeOf(distance: number, start: number): number {
    const time = start + travelTime(distance, this.speed(start), this.increment - this.previous);
    return Math.min(time, 1);
  }

  /**
   * Makes good the events of a stretch of time within the sample.
   * @param before phase at its start, `after` at its end, where it may have come to 1 or beyond.
   * @param start of the stretch and its `end`, 0 to 1 from the last sample to this.
   * @returns the phase at its end, under 1.
   */
  private cover(
    before: number,
    start: number,
    after: number,
    end: number,
    widthBefore: number,
    width: number,
  ): number {
    this.correct(before, start, after);
    if (this.hasPulse) this.correctPulse(before - widthBefore, start, after - width, end);
    if (after < 1) return after;
    if (this.hasPulse) {
      this.pulseCorrections.addStep(2 * SWING, 1 - this.timeOf(1 - before, start));
      this.correctPulse(before - 1 - widthBefore, start, after - 1 - width, end);
    }
    this.correct(before - 1, start, after - 1);
    return after - 1;
  }

  private correct(before: number, start: number, after: number): void {
    if (this.hasTriangle) {
      if (before < 0.25 && after >= 0.25) this.bend(-1, this.timeOf(0.25 - before, start));
      if (before < 0.75 && after >= 0.75) this.bend(1, this.timeOf(0.75 - before, start));
    }
    if (this.hasSaw && before < 0.5 && after >= 0.5) {
      this.sawCorrections.addStep(-2 * SWING, 1 - this.timeOf(0.5 - before, start));
    }
  }

  /** A corner of the triangle, from its one slope to its other. */
  private bend(sign: number, time: number): void {
    this.triangleCorrections.addCorner(8 * sign * SWING * this.speed(time), 1 - time);
  }

  /** The pulse changes where the phase overtakes the width, or the width the phase. */
  private correctPulse(before: number, start: number, after: number, end: number): void {
    if (before < 0 === after < 0) return;
    const time = start + ((end - start) * before) / (before - after);
    this.pulseCorrections.addStep(before < 0 ? -2 * SWING : 2 * SWING, 1 - time);
  }

  /** What the waves jump and bend by when the phase goes from `phase` to 0. */
  private restart(phase: number, width: number, time: number): void {
    const since = 1 - time;
    const slope = SWING * this.speed(time);
    const triangle = triangleAt(phase);
    if (this.hasSine) {
      const cosine = quarterSine(triangleAt(phase < 0.75 ? phase + 0.25 : phase - 0.75));
      this.sineCorrections.addStep(-SWING * quarterSine(triangle), since);
      this.sineCorrections.addCorner(TWO_PI * slope * (1 - cosine), since);
    }
    if (this.hasTriangle) {
      this.triangleCorrections.addStep(-SWING * triangle, since);
      if (phase >= 0.25 && phase < 0.75) this.triangleCorrections.addCorner(8 * slope, since);
    }
    if (this.hasSaw) this.sawCorrections.addStep(-SWING * sawAt(phase), since);
    if (this.hasPulse && phase >= width) this.pulseCorrections.addStep(2 * SWING, since);
  }

  private eventAfter(phase: number): number {
    let next = 1;
    if (this.hasPulse && phase < this.width) next = this.width;
    if (this.hasSaw && phase < 0.5) next = Math.min(next, 0.5);
    if (this.hasTriangle && phase < 0.75) next = Math.min(next, phase < 0.25 ? 0.25 : 0.75);
    return next;
  }
}
