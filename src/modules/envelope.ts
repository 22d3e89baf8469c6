/**
 * Envelope: attack, decay, sustain and release, as a capacitor that charges and discharges.
 *
 *   exponential   v(t) = aim + (v0 - aim) exp(-t / tau)
 *                 attack: aim 1.5 x peak, cut off at peak, so tau = attack / ln 3
 *                 decay and release: aim the sustain level and 0 V, tau = time / 5
 *   linear        v(t) = v0 + slope t
 *                 attack: slope = peak / attack
 *                 decay: slope = (sustain - peak) / decay, so the stage takes its time
 *                 release: slope = -peak / release, whatever voltage it starts from
 *   either        cut: aim 0 V, tau = 2 ms
 *
 * The linear release has the slope of a whole fall, not the time of one, so that with the sustain at
 * 0 and equal times a gate that ends inside the decay changes nothing: a constant current empties
 * the capacitor either way.
 *
 * A cut ends the envelope from any stage, and while it is on no trigger starts another. It is a fall
 * and not a jump, since a jump in loudness is a click: at an offset of f from whatever sounds, the
 * fall leaves 1/sqrt(1 + (2 pi f tau)^2) of the jump's spectrum, 28 dB less at 2 kHz.
 *
 * The sample at which the trigger is noticed holds the voltage of that moment; every sample after it
 * is the closed form at its own time. A stage ends between samples where the equation says, and the
 * next one starts there. The last nanovolt is skipped: within 1e-9 V of its aim a fall ends, which
 * also keeps numbers too small for the processor out, and a straight line's roundings from passing 0.
 *
 * Source: RC charge and discharge: Horowitz & Hill, The Art of Electronics, 1.4.2 (from memory).
 * Charging past the peak, five time constants to a stage: common practice, no source.
 * Deviation: the comparator that ends the attack and the switches between stages act at once.
 */

import { type Circuit, define, type Site, type Values } from './definition.ts';
import { exp, log } from './dsp/math.ts';
import { TriggerInput } from './dsp/trigger-input.ts';
import { switchTrigger, voltageTrigger, volts } from './facts.ts';

/** The attack charges toward this many peaks. */
const ATTACK_AIM = 1.5;
/** Time constants in an attack: ln(aim / (aim - 1)) = ln 3. */
const ATTACK_CONSTANTS = 1.0986122886681098;
/** Time constants in a decay or a release. */
const FALL_CONSTANTS = 5;
/** s, time constant: 60 dB down in 14 ms. Chosen by the spectrum above, no source. */
const CUT_TAU = 0.002;
/** V; a fall that is this near to its aim has reached it. */
const NEAR = 1e-9;
/** Samples; a straight line this short is a jump, lest its slope overflow. */
const AT_ONCE = 1e-9;

const settings = {
  trigger: {
    type: 'choice',
    options: ['voltage', 'switch'],
    fallback: 'voltage',
    about: 'Kind of trigger input: a voltage trigger, or a switch trigger that is pulled low.',
  },
  mode: {
    type: 'choice',
    options: ['gate', 'trigger'],
    fallback: 'gate',
    about:
      'gate: the release starts when the trigger ends. trigger: attack and decay run to the end ' +
      'whatever the trigger does.',
  },
  attack: {
    type: 'time',
    min: 0,
    max: 60,
    fallback: 0.001,
    timeConstants: ATTACK_CONSTANTS,
    about: 'Time from 0 V to the peak, on a charge toward 1.5 x the peak.',
  },
  decay: {
    type: 'time',
    min: 0,
    max: 60,
    fallback: 0.1,
    timeConstants: FALL_CONSTANTS,
    about: 'Time from the peak to the sustain level; exponential: 5 time constants.',
  },
  sustain: {
    type: 'percent',
    min: 0,
    max: 1,
    fallback: 0,
    about: 'Level held while the trigger stays on, in percent of the peak.',
  },
  release: {
    type: 'time',
    min: 0,
    max: 60,
    fallback: 0.1,
    timeConstants: FALL_CONSTANTS,
    about: 'Time to 0 V after the trigger; exponential: 5 time constants; linear: from the peak.',
  },
  peak: {
    type: 'voltage',
    min: 0.5,
    max: 10,
    fallback: 5,
    about: 'Highest voltage.',
  },
  curve: {
    type: 'choice',
    options: ['exponential', 'linear'],
    fallback: 'exponential',
    about: 'Shape of all stages.',
  },
} as const;

export const envelope = define({
  kind: 'envelope',
  about:
    'A control voltage that rises and falls once for each trigger: attack, decay, sustain, release.',
  settings,
  jacks: ({ trigger, peak }) => [
    {
      name: 'trigger',
      direction: 'in',
      signal: trigger === 'switch' ? 'switch' : 'gate',
      about: 'Starts the attack; in gate mode its end starts the release.',
      facts: trigger === 'switch' ? switchTrigger() : voltageTrigger(),
    },
    {
      name: 'cut',
      direction: 'in',
      signal: 'gate',
      about: 'Ends the envelope at once, without a click; holds it ended while on.',
      facts: voltageTrigger(0),
    },
    {
      name: 'out',
      direction: 'out',
      signal: 'control',
      about: 'The envelope, from 0 V to the peak.',
      facts: volts(0, peak),
    },
  ],
  role: 'circuit',
  create: (values, site) => {
    const rate = site.sampleRate;
    site.make(
      'envelope',
      site.input('trigger'),
      site.input('cut'),
      site.output('out'),
      values.mode === 'gate',
      values.curve === 'linear',
      values.peak,
      values.sustain,
      values.attack * rate,
      ATTACK_CONSTANTS,
      values.decay * rate,
      values.release * rate,
      FALL_CONSTANTS,
      CUT_TAU * rate,
      site.trigger('trigger'),
      site.trigger('cut'),
    );
  },
  example: `title: Envelope
about: Each gate opens the amplifier for a short burst of noise.
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [snare], gate: 10 ms, patterns: { groove: { snare: "--x---x-" } }, song: [groove] }
  shape: { kind: envelope, attack: 1 ms, decay: 150 ms, release: 150 ms }
  hiss:  { kind: noise }
  level: { kind: amplifier }
  out:   { kind: output }
cables:
  - drums.snare -> shape.trigger
  - hiss.white  -> level.in
  - shape.out   -> level.control
  - level.out   -> out.left
`,
});

/**
 * Gives the voltage of a capacitor that has charged from `from` toward `aim` for time `t`.
 * @param tau time constant, in the unit of `t`, from 0 (at once) on.
 */
export function charged(from: number, aim: number, tau: number, t: number): number {
  return tau > 0 ? aim + (from - aim) * exp(-t / tau) : aim;
}

/**
 * Gives the time in which a capacitor charges from `from` to `level` on its way toward `aim`.
 * @param level between `from` and `aim`; one already passed gives 0.
 * @returns time in the unit of `tau`: tau ln((aim - from) / (aim - level)).
 */
export function chargeTime(from: number, aim: number, level: number, tau: number): number {
  const ratio = (aim - from) / (aim - level);
  return ratio > 1 && tau > 0 ? tau * log(ratio) : 0;
}

/** The curve of a stage. All times are in samples. */
interface Curve {
  /** The next sample is this one x factor + offset. */
  readonly factor: number;
  readonly offset: number;
  /** V at which it ends. */
  readonly end: number;
  timeFrom(volts: number): number;
  after(volts: number, time: number): number;
}

class ExponentialCurve implements Curve {
  readonly factor: number;
  readonly offset: number;
  readonly end: number;
  private readonly aim: number;
  private readonly tau: number;

  constructor(aim: number, end: number, tau: number) {
    this.aim = aim;
    this.end = end;
    this.tau = tau;
    this.factor = tau > 0 ? exp(-1 / tau) : 0;
    this.offset = aim * (1 - this.factor);
  }

  timeFrom(volts: number): number {
    return chargeTime(
      volts,
      this.aim,
      this.end === this.aim ? this.aim + NEAR : this.end,
      this.tau,
    );
  }

  after(volts: number, time: number): number {
    return charged(volts, this.aim, this.tau, time);
  }
}

class LinearCurve implements Curve {
  readonly factor = 1;
  /** V a sample; 0 stands for a curve that jumps to its end. */
  readonly offset: number;
  readonly end: number;
  /** Samples left out at the end of a fall. */
  private readonly spare: number;

  /** @param time from `start` to `end`. */
  constructor(start: number, end: number, time: number) {
    this.end = end;
    this.offset = time > AT_ONCE ? (end - start) / time : 0;
    // Each step of a fall rounds by no more than half a unit in the last place of its start.
    const near = NEAR + Number.EPSILON * start * time;
    this.spare = this.offset < 0 ? near / -this.offset : 0;
  }

  timeFrom(volts: number): number {
    if (this.offset === 0) return 0;
    return Math.max((this.end - volts) / this.offset - this.spare, 0);
  }

  after(volts: number, time: number): number {
    return this.offset === 0 ? this.end : volts + this.offset * time;
  }
}

type Stage = 'rest' | 'attack' | 'decay' | 'sustain' | 'release' | 'cut';

class EnvelopeCircuit implements Circuit {
  /** V. */
  out = 0;

  private readonly trigger: TriggerInput;
  private readonly cut: TriggerInput;
  private readonly gated: boolean;
  private readonly attack: Curve;
  private readonly decay: Curve;
  private readonly release: Curve;
  private readonly cutOff: Curve;
  private readonly decayTime: number;

  private stage: Stage = 'rest';
  private factor = 1;
  private offset = 0;
  /** Samples to the end of the stage, in general not a whole number. */
  private left = Number.POSITIVE_INFINITY;

  constructor(values: Values<typeof settings>, site: Site) {
    const rate = site.sampleRate;
    const peak = values.peak;
    const held = values.sustain * peak;
    const attack = values.attack * rate;
    const decay = values.decay * rate;
    const release = values.release * rate;
    this.trigger = new TriggerInput(site.input('trigger'), rate);
    this.cut = new TriggerInput(site.input('cut'), rate);
    this.cutOff = new ExponentialCurve(0, 0, CUT_TAU * rate);
    this.gated = values.mode === 'gate';
    this.decayTime = decay;
    if (values.curve === 'linear') {
      this.attack = new LinearCurve(0, peak, attack);
      this.decay = new LinearCurve(peak, held, decay);
      this.release = new LinearCurve(peak, 0, release);
    } else {
      this.attack = new ExponentialCurve(ATTACK_AIM * peak, peak, attack / ATTACK_CONSTANTS);
      this.decay = new ExponentialCurve(held, held, decay / FALL_CONSTANTS);
      this.release = new ExponentialCurve(0, 0, release / FALL_CONSTANTS);
    }
  }

  run(trigger: number, cut: number): void {
    if (this.left > 1) {
      this.left -= 1;
      this.out = this.out * this.factor + this.offset;
    } else {
      this.finish(this.left, 1 - this.left);
    }
    this.trigger.run(trigger);
    this.cut.run(cut);
    if (this.cut.on) {
      if (this.cut.rose) this.begin('cut', 0);
    } else if (this.trigger.rose) this.begin('attack', 0);
    else if (this.trigger.fell) this.letGo();
  }

  rests(): boolean {
    return this.left === Number.POSITIVE_INFINITY && this.trigger.rests && this.cut.rests;
  }

  private letGo(): void {
    if (this.stage === 'cut') return;
    if (this.gated || this.stage === 'sustain') this.begin('release', 0);
  }

  /** Starts a stage that began `late` samples before this one, at the voltage now in `out`. */
  private begin(stage: Stage, late: number): void {
    this.stage = stage;
    const curve = this.curveOf(stage);
    // The decay lasts its time; the other stages last until the curve has reached its end.
    const time = stage === 'decay' ? this.decayTime : curve.timeFrom(this.out);
    if (late >= time) {
      this.finish(time, late - time);
      return;
    }
    this.out = curve.after(this.out, late);
    this.factor = curve.factor;
    this.offset = curve.offset;
    this.left = time - late;
  }

  private curveOf(stage: Stage): Curve {
    switch (stage) {
      case 'attack':
        return this.attack;
      case 'release':
        return this.release;
      case 'cut':
        return this.cutOff;
      default:
        return this.decay;
    }
  }

  /** Ends the present stage, `left` samples on from `out` and `late` samples before this one. */
  private finish(left: number, late: number): void {
    switch (this.stage) {
      case 'attack':
        this.out = this.attack.end;
        this.begin('decay', late);
        break;
      case 'decay':
        this.out = this.decay.after(this.out, left);
        this.begin(this.trigger.on ? 'sustain' : 'release', late);
        break;
      case 'sustain':
        this.hold(this.decay.end);
        break;
      default:
        this.stage = 'rest';
        this.hold(this.release.end);
    }
  }

  private hold(volts: number): void {
    this.out = volts;
    this.factor = 1;
    this.offset = 0;
    this.left = Number.POSITIVE_INFINITY;
  }
}
