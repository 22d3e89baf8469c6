/** Recording: plays samples from a trigger, read between them. See src/modules/recording.ts. */

import { Circuit } from './core/circuit';
import { BLOCK, Wire } from './core/wire';
import { exp2, gainOfDb } from './dsp/math';
import { toRails } from './dsp/rails';
import { TriggerInput } from './dsp/trigger-input';

/** Of the kernel: its zeros on either side, its entries between two of them, and its cutoff. */
const ZEROS: f64 = 64;
const ENTRIES: f64 = 256;
const CUTOFF: f64 = 0.95;
/** Most and least samples of the file in one of the engine's. */
const FASTEST: f64 = 64;
const SLOWEST: f64 = 1e-6;

export class Recording extends Circuit {
  private readonly triggers: StaticArray<f64>;
  private readonly pitch: StaticArray<f64>;
  private readonly accents: StaticArray<f64>;
  private readonly out: Wire;
  private readonly trigger: TriggerInput;
  private readonly list: StaticArray<f64>;
  private readonly kernel: StaticArray<f64>;
  /** Samples of the file: where it starts, where it ends, and the length of the fade before that. */
  private readonly start: f64;
  private readonly end: f64;
  private readonly fade: f64;
  /** Samples of the engine in which a sound that is cut off fades out. */
  private readonly cut: i32;
  private readonly speed: f64;
  private readonly fullScale: f64;
  private readonly gain: f64;
  private readonly perVolt: f64;

  /** Volts at pitch that the step is for; none at first. */
  private tunedFor: f64 = NaN;
  private step: f64 = 1;
  /** Where it is in the file, and how many volts full scale is there; at the end it is silent. */
  private at: f64 = Infinity;
  private level: f64 = 0;
  /** The same for the sound that a new trigger has cut off, and the samples that it has left. */
  private lastAt: f64 = Infinity;
  private lastLevel: f64 = 0;
  private left: i32 = 0;

  constructor(
    trigger: Wire,
    pitch: Wire,
    accent: Wire,
    out: Wire,
    input: TriggerInput,
    list: StaticArray<f64>,
    kernel: StaticArray<f64>,
    start: f64,
    end: f64,
    fade: f64,
    cut: i32,
    speed: f64,
    fullScale: f64,
    gain: f64,
    perVolt: f64,
  ) {
    super();
    this.triggers = trigger.volts;
    this.pitch = pitch.volts;
    this.accents = accent.volts;
    this.out = out;
    this.trigger = input;
    this.list = list;
    this.kernel = kernel;
    this.start = start;
    this.end = end;
    this.fade = fade;
    this.cut = cut;
    this.speed = speed;
    this.fullScale = fullScale;
    this.gain = gain;
    this.perVolt = perVolt;
    this.reads(trigger);
    this.reads(pitch);
    this.reads(accent);
    this.drives(out);
  }

  process(from: i32, to: i32): void {
    const triggers = this.triggers;
    const trigger = this.trigger;
    const out = this.out.volts;
    const weight = this.out.gain;
    for (let i = from; i < to; i++) {
      trigger.run(triggers[i]);
      if (trigger.rose) this.begin(this.accents[i]);
      if (!(this.at < this.end) && this.left == 0) {
        out[i] = 0;
        continue;
      }
      if (this.pitch[i] != this.tunedFor) this.tune(this.pitch[i]);
      out[i] = toRails(this.next()) * weight;
    }
  }

  rests(_samples: i32): bool {
    return (
      !(this.at < this.end) &&
      this.left == 0 &&
      this.trigger.rests &&
      this.out.volts[BLOCK - 1] == 0
    );
  }

  /** Starts it; the sound that was playing begins to fade out. */
  private begin(accent: f64): void {
    if (this.at < this.end) {
      this.lastAt = this.at;
      this.lastLevel = this.level;
      this.left = this.cut;
    }
    this.at = this.start;
    this.level = this.fullScale * gainOfDb(this.gain + this.perVolt * accent);
  }

  private tune(pitch: f64): void {
    this.tunedFor = pitch;
    const step = this.speed * exp2(pitch);
    // Written so that NaN counts as slow.
    this.step = step > SLOWEST ? Math.min(step, FASTEST) : SLOWEST;
  }

  /** The volts at this sample; both places move on. */
  private next(): f64 {
    let volts: f64 = 0;
    if (this.at < this.end) {
      volts = this.level * this.faded(this.at);
      this.at += this.step;
    }
    if (this.left > 0) {
      if (this.lastAt < this.end) {
        const share = f64(this.left) / f64(this.cut + 1);
        volts += share * this.lastLevel * this.faded(this.lastAt);
        this.lastAt += this.step;
      }
      this.left -= 1;
    }
    return volts;
  }

  /** The file's value at a place, faded out before an end that is not the file's own. */
  private faded(at: f64): f64 {
    const left = this.end - at;
    return left < this.fade ? (left / this.fade) * this.read(at) : this.read(at);
  }

  /** The file's value at a place: the sum over the kernel's reach, or the sample itself. */
  private read(at: f64): f64 {
    const list = this.list;
    const length = list.length;
    const whole = Math.floor(at);
    if (this.step == 1 && whole == at) return at < f64(length) ? list[i32(at)] : 0;
    const cutoff = this.step > 1 ? CUTOFF / this.step : CUTOFF;
    const reach = ZEROS / cutoff;
    const first = i32(Math.max(0, Math.ceil(at - reach)));
    const last = i32(Math.min(f64(length - 1), Math.floor(at + reach)));
    const kernel = this.kernel;
    const scale = cutoff * ENTRIES;
    let sum: f64 = 0;
    for (let n = first; n <= last; n++) {
      const place = Math.abs(at - f64(n)) * scale;
      const entry = i32(place);
      const here = kernel[entry];
      sum += list[n] * (here + (place - f64(entry)) * (kernel[entry + 1] - here));
    }
    return cutoff * sum;
  }
}
