/** Envelope: see src/modules/envelope.ts. */
import { Circuit } from './core/circuit';
import { Wire } from './core/wire';
import { exp, log } from './dsp/math';
import { TriggerInput } from './dsp/trigger-input';

/** The attack charges toward this many peaks. */
const ATTACK_AIM: f64 = 1.5;
/** V; a fall that is this near to its aim counts as there. */
const NEAR: f64 = 1e-9;
/** Samples; a straight line this short is a jump; otherwise its slope could overflow. */
const AT_ONCE: f64 = 1e-9;
const EPSILON: f64 = 2.220446049250313e-16;

/** The curve of a stage. All times are in samples. */
abstract class Curve {
  /** The next sample is this one x factor + offset. */
  factor: f64 = 1;
  /** V a sample; 0 stands for a curve that jumps to its end. */
  offset: f64 = 0;
  /** V at which it ends. */
  end: f64 = 0;
  abstract timeFrom(volts: f64): f64;
  abstract after(volts: f64, time: f64): f64;
}

class ExponentialCurve extends Curve {
  private readonly aim: f64;
  private readonly tau: f64;

  constructor(aim: f64, end: f64, tau: f64) {
    super();
    this.aim = aim;
    this.end = end;
    this.tau = tau;
    this.factor = tau > 0 ? exp(-1 / tau) : 0;
    this.offset = aim * (1 - this.factor);
  }

  timeFrom(volts: f64): f64 {
    const level = this.end == this.aim ? this.aim + NEAR : this.end;
    const ratio = (this.aim - volts) / (this.aim - level);
    return ratio > 1 && this.tau > 0 ? this.tau * log(ratio) : 0;
  }

  after(volts: f64, time: f64): f64 {
    return this.tau > 0 ? this.aim + (volts - this.aim) * exp(-time / this.tau) : this.aim;
  }
}

class LinearCurve extends Curve {
  /** Samples skipped at the end of a fall. */
  private readonly spare: f64;

  constructor(start: f64, end: f64, time: f64) {
    super();
    this.end = end;
    this.offset = time > AT_ONCE ? (end - start) / time : 0;
    const near = NEAR + EPSILON * start * time;
    this.spare = this.offset < 0 ? near / -this.offset : 0;
  }

  timeFrom(volts: f64): f64 {
    if (this.offset == 0) return 0;
    return Math.max((this.end - volts) / this.offset - this.spare, 0);
  }

  after(volts: f64, time: f64): f64 {
    return this.offset == 0 ? this.end : volts + this.offset * time;
  }
}

const REST: i32 = 0;
const ATTACK: i32 = 1;
const DECAY: i32 = 2;
const SUSTAIN: i32 = 3;
const RELEASE: i32 = 4;
const CUT: i32 = 5;

export class Envelope extends Circuit {
  private readonly triggerWire: Wire;
  private readonly cutWire: Wire;
  private readonly wire: Wire;
  private readonly trigger: TriggerInput;
  private readonly cut: TriggerInput;
  private readonly gated: bool;
  private readonly attack: Curve;
  private readonly decay: Curve;
  private readonly release: Curve;
  private readonly cutOff: Curve;
  private readonly decayTime: f64;

  private stage: i32 = REST;
  /** V. */
  private out: f64 = 0;
  /** The next sample is this one x factor + offset. */
  private factor: f64 = 1;
  /** V a sample; 0 stands for a curve that jumps to its end. */
  private offset: f64 = 0;
  /** Samples to the end of the stage, in general not a whole number. */
  private left: f64 = Infinity;

  /** All times in samples. */
  constructor(
    trigger: Wire,
    cut: Wire,
    out: Wire,
    gated: bool,
    linear: bool,
    peak: f64,
    sustain: f64,
    attack: f64,
    attackConstants: f64,
    decay: f64,
    release: f64,
    fallConstants: f64,
    cutTau: f64,
    triggerInput: TriggerInput,
    cutInput: TriggerInput,
  ) {
    super();
    this.triggerWire = trigger;
    this.cutWire = cut;
    this.wire = out;
    this.trigger = triggerInput;
    this.cut = cutInput;
    this.cutOff = new ExponentialCurve(0, 0, cutTau);
    this.gated = gated;
    this.decayTime = decay;
    const held = sustain * peak;
    if (linear) {
      this.attack = new LinearCurve(0, peak, attack);
      this.decay = new LinearCurve(peak, held, decay);
      this.release = new LinearCurve(peak, 0, release);
    } else {
      this.attack = new ExponentialCurve(ATTACK_AIM * peak, peak, attack / attackConstants);
      this.decay = new ExponentialCurve(held, held, decay / fallConstants);
      this.release = new ExponentialCurve(0, 0, release / fallConstants);
    }
    this.reads(trigger);
    this.reads(cut);
    this.drives(out);
  }

  process(from: i32, to: i32): void {
    const triggers = this.triggerWire.volts;
    const cuts = this.cutWire.volts;
    const volts = this.wire.volts;
    const weight = this.wire.gain;
    const trigger = this.trigger;
    const cut = this.cut;
    // Constant volts cannot start or end anything.
    const listens =
      !this.ran || this.triggerWire.moving || this.cutWire.moving || !trigger.rests || !cut.rests;
    let out = this.out;
    let left = this.left;
    let factor = this.factor;
    let offset = this.offset;
    for (let i = from; i < to; i++) {
      if (left > 1) {
        left -= 1;
        out = out * factor + offset;
      } else {
        this.out = out;
        this.finish(left, 1 - left);
        out = this.out;
        left = this.left;
        factor = this.factor;
        offset = this.offset;
      }
      if (listens) {
        trigger.run(triggers[i]);
        cut.run(cuts[i]);
        if (trigger.rose || trigger.fell || cut.rose) {
          this.out = out;
          this.left = left;
          this.answer();
          out = this.out;
          left = this.left;
          factor = this.factor;
          offset = this.offset;
        }
      }
      volts[i] = out * weight;
    }
    this.out = out;
    this.left = left;
  }

  rests(_samples: i32): bool {
    return this.left == Infinity && this.trigger.rests && this.cut.rests;
  }

  private answer(): void {
    if (this.cut.on) {
      if (this.cut.rose) this.begin(CUT, 0);
    } else if (this.trigger.rose) this.begin(ATTACK, 0);
    else if (this.trigger.fell) this.letGo();
  }

  private letGo(): void {
    if (this.stage == CUT) return;
    if (this.gated || this.stage == SUSTAIN) this.begin(RELEASE, 0);
  }

  /** Starts a stage that began `late` samples before this one, at the voltage now in `out`. */
  private begin(stage: i32, late: f64): void {
    this.stage = stage;
    const curve = this.curveOf(stage);
    const time = stage == DECAY ? this.decayTime : curve.timeFrom(this.out);
    if (late >= time) {
      this.finish(time, late - time);
      return;
    }
    this.out = curve.after(this.out, late);
    this.factor = curve.factor;
    this.offset = curve.offset;
    this.left = time - late;
  }

  private curveOf(stage: i32): Curve {
    if (stage == ATTACK) return this.attack;
    if (stage == RELEASE) return this.release;
    if (stage == CUT) return this.cutOff;
    return this.decay;
  }

  /** Ends the present stage, `left` samples on from `out` and `late` samples before this one. */
  private finish(left: f64, late: f64): void {
    if (this.stage == ATTACK) {
      this.out = this.attack.end;
      this.begin(DECAY, late);
    } else if (this.stage == DECAY) {
      this.out = this.decay.after(this.out, left);
      this.begin(this.trigger.on ? SUSTAIN : RELEASE, late);
    } else if (this.stage == SUSTAIN) {
      this.hold(this.decay.end);
    } else {
      this.stage = REST;
      this.hold(this.release.end);
    }
  }

  private hold(volts: f64): void {
    this.out = volts;
    this.factor = 1;
    this.offset = 0;
    this.left = Infinity;
  }
}
