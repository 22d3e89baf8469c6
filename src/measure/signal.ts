/** Everything that is measured of a recording, taken in block by block, in memory that stays flat. */

import { type Band, thirdOctaves } from './bands.ts';
import { History } from './history.ts';
import { type Hit, HitMeter } from './hits.ts';
import { LongTermSpectrumMeter } from './long-term-spectrum.ts';
import { LoudnessMeter } from './loudness.ts';
import { Mixdown } from './mixdown.ts';
import { OffsetBlocker } from './offset-blocker.ts';
import { OnsetDetector } from './onsets.ts';
import { PeakMeter } from './peak.ts';
import { centroid, flatness } from './spectrum.ts';
import { estimateTempo, type Tempo } from './tempo.ts';
import { TruePeakMeter } from './true-peak.ts';

/** One array a channel; the samples, 1.0 being full scale, are read before the next block is asked for. */
export interface SampleBlock {
  readonly channels: readonly (Float32Array | Float64Array)[];
  /** How many samples of each array count. */
  readonly frames: number;
}

export interface SampleSource {
  /** Hz. */
  readonly sampleRate: number;
  /** How many channels each block has. */
  readonly channels: number;
  readonly blocks: Iterable<SampleBlock> | AsyncIterable<SampleBlock>;
}

export interface Measures {
  readonly sampleRate: number;
  readonly channels: number;
  readonly frames: number;
  readonly seconds: number;
  /** Sample peak over the channels; null for silence. */
  readonly peakDbfs: number | null;
  /** True peak by ITU-R BS.1770, annex 2; null for silence. */
  readonly truePeakDbtp: number | null;
  /** Integrated loudness by ITU-R BS.1770, annex 1; null for silence and rates it is not defined for. */
  readonly loudnessLufs: number | null;
  /** Peak over rms, dB; null for silence. */
  readonly crestDb: number | null;
  /** The steady value the signal rests at, of full scale, averaged over the channels. */
  readonly dcOffset: number;
  /** Of the long-term spectrum above 15 Hz; null for silence. */
  readonly centroidHz: number | null;
  readonly flatness: number | null;
  /** A full-scale sine reads 0 dB in its band. */
  readonly bands: readonly Band[];
  /** s. */
  readonly onsets: readonly number[];
  /** The first `MOST_HITS` of them. */
  readonly hits: readonly Hit[];
  readonly tempo: Tempo | null;
}

/** Hits beyond this are counted as onsets, and no more: ten minutes of sixteenths. */
export const MOST_HITS = 6000;
/** A hit is followed this long, s. */
const LONGEST_HIT = 8;
/** What comes before a hit is kept for comparison, s. */
const LEAD = 0.05;
/** The end of a hit stays clear of the next onset, s. */
const GUARD = 0.001;
/** Under this lie drift and offset, Hz. */
const LOWEST_HZ = 15;
/** A sine of full scale has this mean square. */
const SINE_POWER = 0.5;
const BLOCK = 4096;

/**
 * Measures a recording.
 * @returns see {@link Measures}; for a recording without samples all that can be null is.
 * @throws RangeError if the sample rate is not from 1 kHz to 1 MHz, or there is no channel;
 * Error naming the frame if a sample is not a finite number.
 */
export async function measureSignal(source: SampleSource): Promise<Measures> {
  const meter = new SignalMeter(source.sampleRate, source.channels);
  for await (const block of source.blocks) meter.add(block);
  return meter.finish();
}

/** The same, for samples that are handed over as they are made. */
export class SignalMeter {
  private readonly sampleRate: number;
  private readonly channels: number;
  private readonly peak = new PeakMeter();
  private readonly truePeak: TruePeakMeter;
  private readonly loudness: LoudnessMeter | null;
  private readonly spectrum: LongTermSpectrumMeter;
  private readonly blockers: readonly OffsetBlocker[];
  private readonly mixdown: Mixdown;
  private readonly onsets: OnsetDetector;
  private readonly hitMeter: HitMeter;
  private readonly block: readonly Float64Array[];
  private readonly history: History;
  private readonly hits: Hit[] = [];
  private readonly reported: number[] = [];
  private filled = 0;
  private frames = 0;
  private sum = 0;
  private squares = 0;

  constructor(sampleRate: number, channels: number) {
    if (!(sampleRate >= 1000 && sampleRate <= 1e6)) {
      throw new RangeError(`a sample rate from 1 kHz to 1 MHz was expected, not ${sampleRate} Hz`);
    }
    if (!(channels >= 1)) throw new RangeError('there is no channel to measure');
    this.sampleRate = sampleRate;
    this.channels = channels;
    this.truePeak = new TruePeakMeter(channels);
    this.loudness =
      sampleRate >= 8000 && sampleRate <= 384000 ? new LoudnessMeter(sampleRate, channels) : null;
    this.spectrum = new LongTermSpectrumMeter(sampleRate, channels);
    this.blockers = Array.from({ length: channels }, () => new OffsetBlocker(sampleRate, BLOCK));
    this.mixdown = new Mixdown(channels, BLOCK);
    this.onsets = new OnsetDetector(sampleRate, (sample) => this.onsetAt(sample));
    this.hitMeter = new HitMeter(sampleRate);
    this.block = Array.from({ length: channels }, () => new Float64Array(BLOCK));
    this.history = new History(Math.ceil((LONGEST_HIT + 0.5) * sampleRate) + 2 * BLOCK);
  }

  /** Takes in a block of any length; how the samples are split changes nothing. */
  add({ channels, frames }: SampleBlock): void {
    for (let from = 0; from < frames; ) {
      const count = Math.min(BLOCK - this.filled, frames - from);
      this.block.forEach((buffer, c) => {
        const samples = channels[c];
        if (samples === undefined) throw new RangeError(`channel ${c + 1} is missing`);
        buffer.set(samples.subarray(from, from + count), this.filled);
      });
      this.filled += count;
      from += count;
      if (this.filled === BLOCK) this.endBlock();
    }
  }

  /** Ends the recording. */
  finish(): Measures {
    this.endBlock();
    const onsets = this.onsets.finish();
    this.endHits(this.frames, true);
    const times = onsets.map(({ sample }) => sample / this.sampleRate);
    const kept = new Set(times);
    const { strips, bins } = this.spectrum.finish();
    const truePeak = this.truePeak.finish();
    const loudness = this.loudness?.integrated() ?? Number.NEGATIVE_INFINITY;
    const power = this.squares / Math.max(1, this.frames * this.channels);
    return {
      sampleRate: this.sampleRate,
      channels: this.channels,
      frames: this.frames,
      seconds: this.frames / this.sampleRate,
      peakDbfs: db(this.peak.peak),
      truePeakDbtp: db(Math.max(truePeak, this.peak.peak)),
      loudnessLufs: Number.isFinite(loudness) ? loudness : null,
      crestDb: power > 0 ? db(this.peak.peak / Math.sqrt(power)) : null,
      dcOffset: this.sum / Math.max(1, this.frames * this.channels),
      centroidHz: centroid(strips, LOWEST_HZ),
      flatness: flatness(bins),
      bands: thirdOctaves(strips, SINE_POWER),
      onsets: times,
      hits: this.hits.filter(({ time }) => kept.has(time)),
      tempo: estimateTempo(
        times,
        onsets.map(({ power: loud }) => loud),
      ),
    };
  }

  private endBlock(): void {
    const { block, filled: count } = this;
    this.sumUp(count);
    this.peak.add(block, count);
    this.truePeak.add(block, count);
    this.loudness?.add(block, count);
    this.spectrum.add(
      block.map((samples, c) => (this.blockers[c] as OffsetBlocker).run(samples, count)),
      count,
    );
    const mixed = this.mixdown.run(block, count);
    this.history.add(mixed, count);
    this.frames += count;
    this.filled = 0;
    this.onsets.add(mixed, count);
    this.endHits(this.frames, false);
  }

  private sumUp(count: number): void {
    let sum = 0;
    let squares = 0;
    for (const samples of this.block) {
      for (let n = 0; n < count; n++) {
        const value = samples[n] as number;
        sum += value;
        squares += value * value;
      }
    }
    // A number that is none makes the sums one too.
    if (!Number.isFinite(squares)) throw new Error(this.notFinite(count));
    this.sum += sum;
    this.squares += squares;
  }

  private notFinite(count: number): string {
    for (let n = 0; n < count; n++) {
      const c = this.block.findIndex((samples) => !Number.isFinite((samples[n] as number) ** 2));
      if (c >= 0) {
        return `the sample at frame ${this.frames + n} of channel ${c + 1} is ${this.block[c]?.[n]}, not a number that can be measured`;
      }
    }
    return 'a sample is not a number that can be measured';
  }

  private onsetAt(sample: number): void {
    this.reported.push(sample);
  }

  /** Measures the hits whose end is known: where the next starts, or where they are long enough. */
  private endHits(now: number, isEnd: boolean): void {
    const longest = Math.round(LONGEST_HIT * this.sampleRate);
    while (this.reported.length > 0) {
      const onset = this.reported[0] as number;
      const next = this.reported[1];
      if (next === undefined && !isEnd && now - onset < longest) return;
      const guarded = next === undefined ? now : next - Math.round(GUARD * this.sampleRate);
      this.reported.shift();
      if (this.hits.length < MOST_HITS) this.measureHit(onset, Math.min(guarded, onset + longest));
    }
  }

  private measureHit(onset: number, end: number): void {
    const lead = Math.min(onset, Math.round(LEAD * this.sampleRate));
    const samples = this.history.centred(onset - lead, Math.max(end, onset + 1));
    this.hits.push(
      this.hitMeter.measure(samples, {
        startSample: onset - lead,
        onset: lead,
        end: samples.length,
        quiet: this.onsets.quietest,
      }),
    );
  }
}

function db(gain: number): number | null {
  return gain > 0 ? 20 * Math.log10(gain) : null;
}
