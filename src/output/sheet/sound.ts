/** Plays a patch once for its sheet: the clip as bytes, and what the charts of its sound show. */

import type { Prepared } from '../../engine/prepared.ts';
import { type Stem, stemsOf } from '../../engine/stems.ts';
import { Take } from '../../engine/take.ts';
import { USUAL_RATE } from '../../engine/usual-rate.ts';
import { type Listener, rehearsedSeconds } from '../../findings/rehearsal.ts';
import { thirdOctaves } from '../../measure/spectrum/bands.ts';
import { LongTermSpectrumMeter } from '../../measure/spectrum/long-term-spectrum.ts';
import { type JackRef, jackName } from '../../patch/patch.ts';
import { type Length, playedSeconds } from '../../timing/length.ts';
import { WavMemory } from '../../wav/wav-bytes.ts';
import { BarCues } from '../bar-cues.ts';
import type { Point } from '../chart/lines.ts';
import {
  type EnvelopeVolts,
  envelopeVolts,
  type HitTime,
  levelEnvelopes,
} from './level-envelopes.ts';

export interface SheetSound {
  /** Hz. */
  readonly sampleRate: number;
  /** The mean of the channels, 1.0 being full scale. */
  readonly mix: Float64Array;
  /** What the mix is the sum of; the mix alone if that is one voice. */
  readonly voices: readonly SheetVoice[];
  /** A WAV file of 16 bits. */
  readonly wav: Uint8Array;
  /** Whether the song is longer than what was played. */
  readonly shortened: boolean;
}

export interface SheetVoice {
  readonly name: string;
  /** Level of one hit, dB of full scale over ms from where it starts: the highest sample of the last 10 ms. */
  readonly hit: readonly Point[];
  /** When that is; absent for silence. */
  readonly time?: HitTime;
  /** Volts of the envelopes that open it, through that hit; absent where they are not drawn. */
  readonly envelopes?: readonly EnvelopeVolts[];
  /** Levels of third-octave bands, dB over Hz; a full-scale sine reads 0 dB. */
  readonly bands: readonly Point[];
}

/** The most that a sheet plays, s: beyond, browsers open it slowly. */
export const MOST_SECONDS = 180;

/** A song plays until it has died away; a stated length ends at its end. */
const UNTIL_SILENCE = { unit: 'silence' } as const;
const NO_TAIL = { unit: 'seconds', value: 0 } as const;

export interface SheetSoundOptions {
  readonly length: Length;
  /** Listens in place of a rehearsal, where as much is played as one would. */
  readonly listener: Listener;
  /** Called some times a second with the seconds done. */
  readonly onProgress?: (seconds: number) => void;
}

/**
 * Plays a patch.
 * @param of has exactly one output module.
 */
export async function playForSheet(
  of: Prepared,
  { length, listener, onProgress }: SheetSoundOptions,
): Promise<SheetSound> {
  const { patch } = of;
  const shortened = playedSeconds(patch, length) > MOST_SECONDS;
  const stems = stemsOf(of);
  const cues = new BarCues(of);
  const take = new Take(of, {
    sampleRate: USUAL_RATE,
    onStep: cues.onStep,
    length: shortened ? { unit: 'seconds', value: MOST_SECONDS } : length,
    tail: length.unit === 'song' && !shortened ? UNTIL_SILENCE : NO_TAIL,
    stems,
    probes: listener.jacks,
  });
  const rehearsed = Math.round(rehearsedSeconds(patch, listener) * USUAL_RATE);
  const isHeard = rehearsed <= take.musicFrames;
  if (isHeard) listener.begin(take.channels, take.probes, rehearsed);
  const wav = new WavMemory(
    {
      sampleRate: USUAL_RATE,
      channels: take.channels.length,
      depth: '16',
      title: patch.title,
      cues: () => cues.within(USUAL_RATE, take.musicFrames),
    },
    take.musicFrames,
  );
  const mixed: Float64Array[] = [];
  const meters = metersOf(stems, take);
  for (let frames = take.read(); frames > 0; frames = take.read()) {
    wav.add(take.channels, frames);
    if (isHeard) listener.read(take.frames - frames, frames);
    mixed.push(meanOf(take.channels, frames));
    for (const meter of meters) meter.add(frames);
    onProgress?.(take.frames / USUAL_RATE);
  }
  return {
    sampleRate: USUAL_RATE,
    mix: joined(mixed, take.frames),
    voices: withVolts(
      of,
      stems,
      meters.map((meter) => meter.finish()),
    ),
    wav: await wav.finish(),
    shortened,
  };
}

/** A voice that is drawn alone is drawn with its envelopes. */
function withVolts(
  of: Prepared,
  stems: readonly Stem[],
  voices: readonly SheetVoice[],
): readonly SheetVoice[] {
  const [voice, ...others] = voices;
  const jack = stems[0]?.jack;
  if (voice?.time === undefined || jack === undefined || others.length > 0) return voices;
  const work = envelopeVolts(of, levelEnvelopes(of.nets, jack), voice.time);
  for (;;) {
    const { done, value } = work.next();
    if (done) return [{ ...voice, envelopes: value }];
  }
}

function metersOf(stems: readonly Stem[], take: Take): VoiceMeter[] {
  if (stems.length < 2) return [new VoiceMeter(nameOf(stems[0]?.jack), take.channels)];
  return stems.map(
    ({ jack }, index) => new VoiceMeter(nameOf(jack), take.stems[index] as Float64Array[]),
  );
}

function nameOf(jack: JackRef | undefined): string {
  return jack === undefined ? 'nothing' : jackName(jack);
}

function meanOf(channels: readonly Float64Array[], frames: number): Float64Array {
  const mean = new Float64Array(frames);
  for (const channel of channels)
    for (let n = 0; n < frames; n++)
      mean[n] = (mean[n] as number) + (channel[n] as number) / channels.length;
  return mean;
}

function joined(pieces: readonly Float64Array[], length: number): Float64Array {
  const whole = new Float64Array(length);
  let at = 0;
  for (const piece of pieces) {
    whole.set(piece, at);
    at += piece.length;
  }
  return whole;
}

/** The picture of a hit shows at most so much, and so much before it, ms. */
const SHOWN_MS = 1200;
const LEAD_MS = 10;
/** To find hits, levels are smoothed over so many blocks: 21 ms, a wave of 50 Hz. */
const SMOOTHED = 8;
/** A hit's front rises by this power ratio (6 dB) within so many blocks (64 ms) ... */
const RISE = 4;
const WITHIN = 24;
/** ... to within 20 dB of the voice's loudest. */
const NEAR = 0.01;
/** Power that counts as silence: -120 dBFS. */
const SILENT = 1e-12;
/** Samples of which the highest is kept: half a millisecond. */
const STEP = 24;
/** A level is the highest of so many steps up to it: 10 ms, the half wave of 50 Hz. */
const HELD = 20;
/** A hit starts where it rises most above the 10 ms before, or above so much of its height (-40 dB) ... */
const QUIET = 0.01;
/** ... so many ms at most from where its smoothed level rises, and is shown down to -66 dB of its height. */
const AROUND_MS = 40;
const SHOWN_DB = 66;

/** Listens to one voice: the power of every block, its highest samples, and its spectrum. */
export class VoiceMeter {
  private readonly name: string;
  private readonly signals: readonly Float64Array[];
  private readonly spectrum: LongTermSpectrumMeter;
  private readonly powers: number[] = [];
  private readonly peaks: number[] = [];
  private readonly blockMs: number;
  /** Of the step under way: its highest sample, and how many there were. */
  private highest = 0;
  private counted = 0;

  constructor(name: string, signals: readonly Float64Array[]) {
    this.name = name;
    this.signals = signals;
    this.spectrum = new LongTermSpectrumMeter(USUAL_RATE, signals.length);
    this.blockMs = (1000 * (signals[0]?.length ?? 0)) / USUAL_RATE;
  }

  add(frames: number): void {
    this.spectrum.add(this.signals, frames);
    let sum = 0;
    for (let n = 0; n < frames; n++) {
      for (const signal of this.signals) {
        const value = signal[n] as number;
        sum += value ** 2;
        this.highest = Math.max(this.highest, Math.abs(value));
      }
      this.counted += 1;
      if (this.counted < STEP) continue;
      this.peaks.push(this.highest);
      [this.highest, this.counted] = [0, 0];
    }
    this.powers.push(sum / frames / this.signals.length);
  }

  finish(): SheetVoice {
    const bands = thirdOctaves(this.spectrum.finish().strips, 0.5);
    const hit = this.hit();
    return {
      name: this.name,
      hit: hit?.points ?? [],
      ...(hit && { time: hit.time }),
      bands: bands.map(({ hz, db }): Point => [hz, db]),
    };
  }

  /** The hit with the most time until the next; of several alike, the first. Undefined for silence. */
  private hit(): { readonly points: readonly Point[]; readonly time: HitTime } | undefined {
    const { blockMs } = this;
    const powers = smoothed(this.powers);
    const most = powers.reduce((a, b) => Math.max(a, b), 0);
    if (most <= SILENT) return undefined;
    const rises = powers.map(
      (power, index) => power > NEAR * most && power > RISE * (powers[index - WITHIN] ?? 0),
    );
    const fronts = rises.flatMap((rise, index) =>
      rise && rises[index - 1] !== true ? [index] : [],
    );
    let [front = 0, end = powers.length] = fronts;
    fronts.forEach((one, index) => {
      const next = fronts[index + 1] ?? powers.length;
      if (next - one <= end - front) return;
      [front, end] = [one, next];
    });
    return this.drawn(front * blockMs, end * blockMs);
  }

  /** The level of a hit around its front, ms, as it is: the highest sample of the last 10 ms. */
  private drawn(
    front: number,
    end: number,
  ): { readonly points: readonly Point[]; readonly time: HitTime } {
    const { peaks } = this;
    const stepMs = (1000 * STEP) / USUAL_RATE;
    const near = Math.round(AROUND_MS / stepMs);
    const at = Math.round(front / stepMs);
    const height = highestOf(peaks, at - near, at + 2 * near);
    const start = steepest(peaks, at - near, at + near, QUIET * height);
    const first = Math.max(0, start - Math.round(LEAD_MS / stepMs));
    // A rise just before the next front belongs to the next hit.
    const until = end >= peaks.length * stepMs - 1 ? end : end - AROUND_MS;
    let last = Math.min(
      peaks.length,
      Math.round(until / stepMs),
      start + Math.round(SHOWN_MS / stepMs),
    );
    const floor = height * 10 ** (-SHOWN_DB / 20);
    while (last > start + HELD && (peaks[last - 1] as number) < floor) last -= 1;
    const points: Point[] = [];
    for (let step = first; step < last; step++) {
      // What rang before the hit is shown as it is, up to where the hit starts.
      const held = highestOf(peaks, Math.max(step - HELD + 1, step < start ? 0 : start), step + 1);
      points.push([(step + 1 - start) * stepMs, held ** 2 > SILENT ? 20 * Math.log10(held) : null]);
    }
    const seconds = (step: number): number => (step * STEP) / USUAL_RATE;
    return { points, time: { start: seconds(start), from: seconds(first), to: seconds(last) } };
  }
}

/** The step that is the most times as high as those before it, of which less than `floor` counts as that. */
function steepest(peaks: readonly number[], from: number, to: number, floor: number): number {
  let found = Math.max(0, from);
  let most = 0;
  for (let step = found; step < Math.min(to, peaks.length); step++) {
    const rise = (peaks[step] as number) / Math.max(floor, highestOf(peaks, step - HELD, step));
    if (rise > most) [found, most] = [step, rise];
  }
  return found;
}

function highestOf(peaks: readonly number[], from: number, to: number): number {
  let highest = 0;
  for (let step = Math.max(0, from); step < Math.min(to, peaks.length); step++)
    highest = Math.max(highest, peaks[step] as number);
  return highest;
}

/** The mean over {@link SMOOTHED} blocks around each. */
function smoothed(powers: readonly number[]): number[] {
  return powers.map((_, index) => {
    const around = powers.slice(
      Math.max(0, index - SMOOTHED / 2),
      Math.min(powers.length, index + SMOOTHED / 2),
    );
    return around.reduce((a, b) => a + b, 0) / around.length;
  });
}
