/** What is measured of a recording as a whole: levels, loudness and the long-term spectrum. */

import { type Condition, ConditionMeter } from './condition.ts';
import { LOWEST_HZ } from './hits/hits.ts';
import type { LoudnessStep } from './loudness/gates.ts';
import { LoopLoudnessMeter } from './loudness/loop-loudness.ts';
import { hasLoudness, LoudnessMeter } from './loudness/loudness.ts';
import { TruePeakMeter } from './loudness/true-peak.ts';
import { OffsetBlocker } from './offset-blocker.ts';
import { EVEN, EvenBlocks, type SampleBlock } from './samples.ts';
import { type Band, thirdOctaves } from './spectrum/bands.ts';
import { LongTermSpectrumMeter } from './spectrum/long-term-spectrum.ts';
import { centroid, flatness } from './spectrum/spectrum.ts';

export interface Overall {
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
  /** Its faults: hum, drift, channels that run against one another. */
  readonly condition: Condition;
}

/** True peak from which hits are more than the noise of a recording of 16 bits, dBTP; chosen. */
const FAINTEST_DB = -66;

/** A sine of full scale has this mean square. */
const SINE_POWER = 0.5;

/** Which loudness is wanted, if not that of the recording as it is, played once. */
export interface WantedLoudness {
  /** The weight of each channel; 1 if left out. */
  readonly weights?: readonly number[] | undefined;
  /** Whether it is that of the recording played round and round; false if left out. */
  readonly isLoop?: boolean;
  /**
   * Whether the recording is to be brought to the loudness of others. Short hits that are all under the gate then have
   * the loudness that they would have at full scale, less that gain. False if left out.
   */
  readonly isToBeLevelled?: boolean;
}

export class OverallMeter {
  private readonly sampleRate: number;
  private readonly channels: number;
  private readonly even: EvenBlocks;
  private readonly truePeak: TruePeakMeter;
  private readonly loudness: LoudnessMeter | LoopLoudnessMeter | null;
  private readonly isToBeLevelled: boolean;
  private readonly spectrum: LongTermSpectrumMeter;
  private readonly blockers: readonly OffsetBlocker[];
  private readonly condition: ConditionMeter;
  private frames = 0;
  private sum = 0;
  private squares = 0;

  /**
   * @throws RangeError if the sample rate is not from 1 kHz to 1 MHz, or there is no channel.
   */
  constructor(sampleRate: number, channels: number, wanted: WantedLoudness = {}) {
    if (!(sampleRate >= 1000 && sampleRate <= 1e6)) {
      throw new RangeError(`a sample rate from 1 kHz to 1 MHz was expected, not ${sampleRate} Hz`);
    }
    if (!(channels >= 1)) throw new RangeError('there is no channel to measure');
    this.sampleRate = sampleRate;
    this.channels = channels;
    this.even = new EvenBlocks(channels, this);
    this.truePeak = new TruePeakMeter(channels);
    this.loudness = hasLoudness(sampleRate)
      ? new (wanted.isLoop ? LoopLoudnessMeter : LoudnessMeter)(
          sampleRate,
          channels,
          wanted.weights,
        )
      : null;
    this.isToBeLevelled = wanted.isToBeLevelled ?? false;
    this.spectrum = new LongTermSpectrumMeter(sampleRate, channels);
    this.condition = new ConditionMeter(sampleRate, channels);
    this.blockers = Array.from({ length: channels }, () => new OffsetBlocker(sampleRate, EVEN));
  }

  /**
   * Takes in a block of any length; how the samples are split changes nothing.
   * @throws Error naming the frame if a sample is not a finite number.
   */
  add(block: SampleBlock): void {
    this.even.add(block);
  }

  /** Ends the recording. */
  finish(): Overall {
    this.even.end();
    const { strips, bins } = this.spectrum.finish();
    const truePeak = this.truePeak.finish();
    const { samplePeak } = this.truePeak;
    const loudness = this.integrated(db(Math.max(truePeak, samplePeak)));
    const power = this.squares / Math.max(1, this.frames * this.channels);
    return {
      sampleRate: this.sampleRate,
      channels: this.channels,
      frames: this.frames,
      seconds: this.frames / this.sampleRate,
      peakDbfs: db(samplePeak),
      truePeakDbtp: db(Math.max(truePeak, samplePeak)),
      loudnessLufs: Number.isFinite(loudness) ? loudness : null,
      crestDb: power > 0 ? db(samplePeak / Math.sqrt(power)) : null,
      dcOffset: this.sum / Math.max(1, this.frames * this.channels),
      centroidHz: centroid(strips, LOWEST_HZ),
      flatness: flatness(bins),
      bands: thirdOctaves(strips, SINE_POWER),
      condition: this.condition.finish(samplePeak),
    };
  }

  /**
   * The loudness of the recording at every gain, in steps from the one that `finish` gives; none without one.
   * @param loudnessLufs what `finish` gave.
   */
  loudnessSteps(loudnessLufs: number | null): readonly LoudnessStep[] {
    return loudnessLufs === null ? [] : (this.loudness?.loudnessSteps(loudnessLufs) ?? []);
  }

  private integrated(peakDb: number | null): number {
    const { loudness } = this;
    if (loudness === null) return Number.NEGATIVE_INFINITY;
    const own = loudness.integrated();
    const isFaint = !Number.isFinite(own) && peakDb !== null && peakDb > FAINTEST_DB;
    return isFaint && this.isToBeLevelled ? loudness.integrated(-peakDb) + peakDb : own;
  }

  take(block: readonly Float64Array[], count: number): void {
    this.sumUp(block, count);
    this.truePeak.add(block, count);
    this.condition.add(block, count);
    this.loudness?.add(block, count);
    this.spectrum.add(
      block.map((samples, c) => (this.blockers[c] as OffsetBlocker).run(samples, count)),
      count,
    );
    this.frames += count;
  }

  private sumUp(block: readonly Float64Array[], count: number): void {
    let sum = 0;
    let squares = 0;
    for (const samples of block) {
      for (let n = 0; n < count; n++) {
        const value = samples[n] as number;
        sum += value;
        squares += value * value;
      }
    }
    // NaN in a sample makes the sums NaN too.
    if (!Number.isFinite(squares)) throw new Error(this.notFinite(block, count));
    this.sum += sum;
    this.squares += squares;
  }

  private notFinite(block: readonly Float64Array[], count: number): string {
    for (let n = 0; n < count; n++) {
      const c = block.findIndex((samples) => !Number.isFinite((samples[n] as number) ** 2));
      if (c >= 0) {
        return `the sample at frame ${this.frames + n} of channel ${c + 1} is ${block[c]?.[n]}, not a number that can be measured`;
      }
    }
    return 'a sample is not a number that can be measured';
  }
}

function db(gain: number): number | null {
  return gain > 0 ? 20 * Math.log10(gain) : null;
}
