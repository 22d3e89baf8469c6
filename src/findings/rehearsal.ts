/**
 * A rehearsal: the patch played by the engine itself, for what only the signal can tell. It is the beginning of
 * the render, sample by sample, as much as can be played in a moment.
 */

import type { Netlist } from '../electrical/nets.ts';
import type { Prepared } from '../engine/prepared.ts';
import { StemMix } from '../engine/stem-mix.ts';
import { jacksOfStem, type Stem } from '../engine/stems.ts';
import { Take } from '../engine/take.ts';
import { USUAL_RATE } from '../engine/usual-rate.ts';
import { LoudnessMeter } from '../measure/loudness/loudness.ts';
import { comparatorOf } from '../modules/dsp/trigger-input.ts';
import type { InputFacts } from '../modules/facts.ts';
import type { GatePulse } from '../modules/gates.ts';
import { type JackRef, jackName, type Patch } from '../patch/patch.ts';
import { unplayable } from '../patch/texts.ts';
import { playedSeconds } from '../timing/length.ts';

/** s at most. */
const LONGEST = 30;
/**
 * Time that it may take, s, estimated from what a sample of a module costs: at first, before the JavaScript
 * engine has compiled its loops, and later.
 */
const MOST_TIME = 0.15;
const COLD_TIME = 100e-9;
const WARM_TIME = 10e-9;
const COLD_SAMPLES = 6400;
/** s of which the loudness is measured, at most: enough for a mix, and done quickly. */
const LOUD_SECONDS = 30;
/** LUFS: a mix that is sure to reach this is not soft, and is not measured further once no voice needs it. */
const LOUD_ENOUGH = -29;
/** LU: a voice within this of a mix that is loud enough is not measured further; and how often that is looked at, s. */
const WELL_HEARD = 12;
const ASKED_EACH = 0.5;
/** Parts in which the steady volts are looked at. */
const PARTS = 16;

/** Which jacks to listen at, beside the output. */
export interface Meters {
  /** Trigger inputs whose pulses are wanted. */
  readonly pulses: readonly { readonly jack: JackRef; readonly facts: InputFacts }[];
  /** Jacks whose volts are wanted, and the size of volts that they cannot exceed, or should not. */
  readonly volts: readonly { readonly jack: JackRef; readonly limit: number }[];
  /** The voices of the mix. */
  readonly voices: readonly Stem[];
  /** V of a sample of 1. */
  readonly fullScale: number;
}

/** What came to trigger inputs. */
export interface HeardPulses {
  /** s that were heard. */
  readonly seconds: number;
  /** Whether that is all of the song. */
  readonly complete: boolean;
  readonly pulses: ReadonlyMap<string, readonly GatePulse[]>;
}

export interface Rehearsal extends HeardPulses {
  /** Left, or left and right. */
  readonly channels: readonly HeardChannel[];
  readonly volts: ReadonlyMap<string, HeardVolts>;
  /**
   * Of the whole, by ITU-R BS.1770, LUFS; -Infinity for silence. Of a mix that is loud enough, and in which
   * every voice is well heard, as far as told that.
   */
  readonly loudness: number;
  readonly voices: readonly HeardVoice[];
}

export interface HeardVoice {
  readonly jack: JackRef;
  /** In the mix, LUFS; -Infinity for silence. Of a voice that is well heard, as far as told that. */
  readonly loudness: number;
  /** Whether it came near the mix while that was loud enough, and was measured no further. */
  readonly isWellHeard: boolean;
  /** V at the output, the highest on either side. */
  readonly peak: number;
}

export interface HeardChannel {
  /** Highest size of a sample, 1 being full scale, and when it came, s. */
  readonly peak: number;
  readonly peakAt: number;
  /** Samples above full scale, and when the first came, s. */
  readonly over: number;
  readonly firstOver: number;
  /** The mean of each of several parts of equal length, 1 being full scale. */
  readonly means: readonly number[];
}

export interface HeardVolts {
  /** V. */
  readonly low: number;
  readonly high: number;
  /** Share of the second half of what was heard for which their size was at the limit or above. */
  readonly atLimit: number;
}

/** Plays a patch; undefined if it has not exactly one output or nothing to play. */
export function rehearse(of: Prepared, listener: Listener): Rehearsal | undefined {
  const { patch } = of;
  if (unplayable(patch).length > 0) return undefined;
  const take = new Take(of, {
    sampleRate: USUAL_RATE,
    length: { unit: 'seconds', value: rehearsedSeconds(patch, listener) },
    tail: { unit: 'seconds', value: 0 },
    probes: listener.jacks,
  });
  listener.begin(take.channels, take.probes, take.musicFrames);
  for (let start = 0, given = take.read(); given > 0; start += given, given = take.read())
    listener.read(start, given);
  return listener.heard(patch);
}

/**
 * Plays only what leads to the trigger inputs that a listener listens at, as long as {@link rehearse} would: the
 * pulses are the same, and the sound costs nothing.
 * @param sampleRate Hz, of the pulses.
 */
export function rehearsePulses(
  of: Prepared,
  listener: Listener,
  sampleRate = USUAL_RATE,
): HeardPulses | undefined {
  const { patch } = of;
  if (unplayable(patch).length > 0) return undefined;
  const alone = listener.ofPulses();
  const take = new Take(of, {
    sampleRate,
    length: { unit: 'seconds', value: rehearsedSeconds(patch, listener) },
    tail: { unit: 'seconds', value: 0 },
    probes: alone.jacks,
    part: { runs: leadingTo(alone.jacks, of.nets), feeds: [] },
  });
  alone.begin([], take.probes, take.musicFrames);
  for (let start = 0, given = take.read(); given > 0; start += given, given = take.read())
    alone.read(start, given);
  return alone.heard(patch, sampleRate);
}

/** The names of the modules that drive some jacks, and of all that drive these. */
function leadingTo(jacks: readonly JackRef[], { at }: Netlist): ReadonlySet<string> {
  const names = new Set<string>();
  const left = jacks.map(at);
  for (let net = left.pop(); left.length > 0 || net !== undefined; net = left.pop())
    for (const { module } of net?.outputs ?? []) {
      if (names.has(module.name)) continue;
      names.add(module.name);
      for (const { name, direction } of module.jacks)
        if (direction === 'in') left.push(at({ module: module.name, jack: name }));
    }
  return names;
}

/** How long a rehearsal is, s: as much of the song as can be played in a moment. */
export function rehearsedSeconds(patch: Patch, { jacks }: Listener): number {
  const work = patch.modules.length + jacks.length;
  return Math.min(songLength(patch), LONGEST, samplesFor(work) / USUAL_RATE);
}

/** Listens to a take while it is played, in a rehearsal or a render. */
export class Listener {
  /** The jacks that the take must probe. */
  readonly jacks: readonly JackRef[];

  private readonly meters: Meters;
  private channels: readonly ChannelMeter[] = [];
  private pulses: readonly PulseMeter[] = [];
  private volts: readonly VoltMeter[] = [];
  private mix: MixMeter | undefined;
  private voices: readonly RehearsedVoice[] = [];
  private frames = 0;

  constructor(meters: Meters) {
    this.meters = meters;
    this.jacks = [
      ...[...meters.pulses, ...meters.volts].map(({ jack }) => jack),
      ...meters.voices.flatMap(jacksOfStem),
    ];
  }

  /** One that listens at the trigger inputs alone. */
  ofPulses(): Listener {
    return new Listener({ ...this.meters, volts: [], voices: [] });
  }

  /**
   * @param channels the output's channels, filled again before each `read`; 1 is full scale.
   * @param probes volts of `jacks`, likewise.
   * @param frames of the music, at {@link USUAL_RATE}; what comes after them is not listened to.
   */
  begin(channels: readonly Float64Array[], probes: readonly Float64Array[], frames: number): void {
    const { pulses, volts } = this.meters;
    this.frames = frames;
    this.channels = channels.map((samples) => new ChannelMeter(samples, frames));
    this.pulses = pulses.map(
      ({ facts }, index) => new PulseMeter(probes[index] as Float64Array, facts),
    );
    this.volts = volts.map(
      ({ limit }, index) =>
        new VoltMeter(probes[pulses.length + index] as Float64Array, frames, limit),
    );
    this.mix = new MixMeter(channels, Math.min(frames, LOUD_SECONDS * USUAL_RATE));
    const taps = probes.slice(pulses.length + volts.length).values();
    this.voices = this.meters.voices.map(
      (stem) => new RehearsedVoice(stem, taps, this.meters.fullScale),
    );
  }

  /** Listens to the next `given` frames, the first of which is frame `start`. */
  read(start: number, given: number): void {
    const count = Math.min(given, this.frames - start);
    if (count <= 0) return;
    for (const meter of this.channels) meter.read(start, count);
    for (const meter of this.pulses) meter.read(start, count);
    for (const meter of this.volts) meter.read(start, count);
    const loud = Math.min(count, LOUD_SECONDS * USUAL_RATE - start);
    if (loud <= 0) return;
    if (this.mix?.isKnown === true) return;
    this.mix?.read(loud);
    for (const meter of this.voices) meter.read(loud, this.mix);
    this.mix?.ask(start + loud, this.voices);
  }

  /**
   * What was heard; undefined if it was nothing.
   * @param sampleRate Hz, of the take.
   */
  heard(patch: Patch, sampleRate = USUAL_RATE): Rehearsal | undefined {
    if (this.frames === 0) return undefined;
    const { pulses, volts } = this.meters;
    return {
      seconds: this.frames / sampleRate,
      complete: this.frames >= Math.round(songLength(patch) * sampleRate),
      channels: this.channels,
      pulses: new Map(pulses.map(({ jack }, i) => [jackName(jack), this.pulses[i]?.pulses ?? []])),
      volts: new Map(volts.map(({ jack }, i) => [jackName(jack), this.volts[i] as HeardVolts])),
      loudness: this.mix?.loudness ?? Number.NEGATIVE_INFINITY,
      voices: this.voices,
    };
  }
}

/** Samples that so many modules and meters can process in the time there is. */
function samplesFor(work: number): number {
  const cold = MOST_TIME / (work * COLD_TIME);
  if (cold <= COLD_SAMPLES) return Math.floor(cold);
  return (
    COLD_SAMPLES + Math.floor((MOST_TIME - work * COLD_TIME * COLD_SAMPLES) / (work * WARM_TIME))
  );
}

function songLength(patch: Patch): number {
  return playedSeconds(patch, { unit: 'song' });
}

class ChannelMeter implements HeardChannel {
  peak = 0;
  peakAt = 0;
  over = 0;
  firstOver = 0;
  readonly means: number[] = new Array(PARTS).fill(0);
  private readonly samples: Float64Array;
  private readonly part: number;

  constructor(samples: Float64Array, frames: number) {
    this.samples = samples;
    this.part = frames / PARTS;
  }

  read(start: number, given: number): void {
    const { samples, means } = this;
    const part = Math.min(Math.floor(start / this.part), PARTS - 1);
    let { peak, over } = this;
    let sum = 0;
    for (let i = 0; i < given; i++) {
      const sample = samples[i] as number;
      const size = Math.abs(sample);
      sum += sample;
      if (size > peak) {
        peak = size;
        this.peakAt = (start + i) / USUAL_RATE;
      }
      if (size > 1) {
        if (over === 0) this.firstOver = (start + i) / USUAL_RATE;
        over += 1;
      }
    }
    this.peak = peak;
    this.over = over;
    means[part] = (means[part] as number) + sum / this.part;
  }
}

/** The loudness of all channels together. */
class MixMeter {
  /** Whether the rest of the song can change no figure that is reported. */
  isKnown = false;
  private readonly channels: readonly Float64Array[];
  private readonly frames: number;
  private readonly meter: LoudnessMeter;
  private asked = 0;

  constructor(channels: readonly Float64Array[], frames: number) {
    this.channels = channels;
    this.frames = frames;
    this.meter = new LoudnessMeter(USUAL_RATE, channels.length);
  }

  /** Asks now and then whether all is known. */
  ask(frame: number, voices: readonly RehearsedVoice[]): void {
    if (frame < this.asked + ASKED_EACH * USUAL_RATE) return;
    this.asked = frame;
    // One voice alone is the mix.
    this.isKnown =
      (voices.length < 2 || voices.every(({ isWellHeard }) => isWellHeard)) &&
      this.meter.atLeast(this.frames) >= LOUD_ENOUGH;
  }

  get loudness(): number {
    return this.meter.integrated();
  }

  read(given: number): void {
    this.meter.add(this.channels, given);
  }
}

/**
 * The loudness of one voice as it is in the mix: its jack's volts, once, with the power of both sides; each side by
 * itself where volts move their gains.
 */
class RehearsedVoice implements HeardVoice {
  readonly jack: JackRef;
  private highest = 0;
  private frames = 0;
  isWellHeard = false;
  private readonly gain: number;
  private readonly moved: StemMix | undefined;
  private readonly signals: readonly Float64Array[];
  private readonly meter: LoudnessMeter;

  /** @param taps blocks of the volts of `jacksOfStem`: of so many the next. */
  constructor(stem: Stem, taps: Iterator<Float64Array>, fullScale: number) {
    const { jack, gains, ways } = stem;
    this.jack = jack;
    if (ways !== undefined) {
      this.moved = new StemMix(stem, taps, 2, fullScale);
      this.signals = this.moved.channels;
      this.gain = fullScale;
      this.meter = new LoudnessMeter(USUAL_RATE, 2);
      return;
    }
    this.signals = [taps.next().value as Float64Array];
    this.gain = Math.max(Math.abs(gains[0]), Math.abs(gains[1]));
    const power = (gains[0] * gains[0] + gains[1] * gains[1]) / (fullScale * fullScale);
    this.meter = new LoudnessMeter(USUAL_RATE, 1, [power]);
  }

  get loudness(): number {
    return this.meter.integrated();
  }

  get peak(): number {
    return this.highest * this.gain;
  }

  /** Silence before the first sound is left out: the gate leaves it out in any case. */
  read(given: number, mix: MixMeter | undefined): void {
    if (this.isWellHeard) return;
    this.moved?.run(given);
    let { highest } = this;
    for (const signal of this.signals)
      for (let i = 0; i < given; i++) {
        const size = Math.abs(signal[i] as number);
        if (size > highest) highest = size;
      }
    this.highest = highest;
    if (highest === 0) return;
    this.meter.add(this.signals, given);
    this.frames += given;
    if (mix === undefined || this.frames < ASKED_EACH * USUAL_RATE) return;
    this.frames = 0;
    // A mix that still swells tells nothing yet: its voices swell with it.
    const whole = mix.loudness;
    this.isWellHeard = whole >= LOUD_ENOUGH && this.loudness > whole - WELL_HEARD;
  }
}

class PulseMeter {
  readonly pulses: { start: number; end: number }[] = [];
  private readonly volts: Float64Array;
  private readonly sign: number;
  /** Thresholds, times `sign`. */
  private readonly onVolts: number;
  private readonly offVolts: number;
  private isOn = false;

  constructor(volts: Float64Array, facts: InputFacts) {
    this.volts = volts;
    const [sign, on, off] = comparatorOf(facts, USUAL_RATE);
    this.sign = sign;
    this.onVolts = sign * on;
    this.offVolts = sign * off;
  }

  /** As the comparator of an input that notices even the shortest pulse, from one edge to the next. */
  read(start: number, given: number): void {
    const { volts, sign, onVolts, offVolts, pulses } = this;
    for (let i = 0; i < given; i++) {
      if (this.isOn) {
        while (i < given && !(sign * (volts[i] as number) <= offVolts)) i++;
        if (i < given) (pulses.at(-1) as { end: number }).end = start + i;
      } else {
        while (i < given && !(sign * (volts[i] as number) >= onVolts)) i++;
        if (i < given) pulses.push({ start: start + i, end: Number.POSITIVE_INFINITY });
      }
      if (i < given) this.isOn = !this.isOn;
    }
  }
}

class VoltMeter implements HeardVolts {
  low = Number.POSITIVE_INFINITY;
  high = Number.NEGATIVE_INFINITY;
  private near = 0;
  private counted = 0;
  private readonly volts: Float64Array;
  private readonly half: number;
  private readonly limit: number;

  constructor(volts: Float64Array, frames: number, limit: number) {
    this.volts = volts;
    this.half = frames / 2;
    this.limit = limit;
  }

  get atLimit(): number {
    return this.counted === 0 ? 0 : this.near / this.counted;
  }

  read(start: number, given: number): void {
    const { volts, limit } = this;
    let { low, high } = this;
    let near = 0;
    for (let i = 0; i < given; i++) {
      const v = volts[i] as number;
      if (v < low) low = v;
      if (v > high) high = v;
      if (v >= limit || v <= -limit) near += 1;
    }
    this.low = low;
    this.high = high;
    if (start < this.half) return;
    this.counted += given;
    this.near += near;
  }
}
