/** Everything that is measured of a recording, taken in block by block, in memory that stays flat. */

import { type Band, thirdOctaves } from './bands.ts';
import { History } from './history.ts';
import { type Hit, HitMeter } from './hits.ts';
import { LongTermSpectrumMeter } from './long-term-spectrum.ts';
import { LoudnessMeter } from './loudness.ts';
import { Mixdown } from './mixdown.ts';
import { OffsetBlocker } from './offset-blocker.ts';
import { type Onset, OnsetDetector } from './onsets.ts';
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
  /** When hits set in, s. Strokes that the ear does not tell apart, as of a clap, are one hit. */
  readonly onsets: readonly number[];
  /** The first `MOST_HITS` of them. */
  readonly hits: readonly Hit[];
  readonly tempo: Tempo | null;
}

/** What may be left out by those who do not need it, since it takes time. */
export interface Wanted {
  /** Without, `tempo` is null. */
  readonly tempo: boolean;
  /** Without, the hits' `centroidHz` and `flatness` are null, and they have no bands. */
  readonly hitSpectra: boolean;
}

const EVERYTHING: Wanted = { tempo: true, hitSpectra: true };

/** Hits beyond this are counted as onsets, and no more: ten minutes of sixteenths. */
export const MOST_HITS = 6000;
/**
 * Strokes that follow one another within this are heard as one hit, s. Source: the ear takes the
 * first of two like sounds and what comes up to 30 ms after it for one; H. Haas, Ueber den Einfluss
 * eines Einfachechos auf die Hoersamkeit von Sprache, Acustica 1 (1951) 49-58 (from memory).
 */
const ONE_HIT = 0.03;
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
  private readonly wanted: Wanted;
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
  /** Strokes by hits, of those hits that are not measured yet, and of all. */
  private readonly waiting: number[][] = [];
  private readonly groups: number[][] = [];
  private filled = 0;
  private frames = 0;
  private sum = 0;
  private squares = 0;

  constructor(sampleRate: number, channels: number, wanted = EVERYTHING) {
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
    this.wanted = wanted;
    this.hitMeter = new HitMeter(sampleRate, wanted.hitSpectra);
    this.block = Array.from({ length: channels }, () => new Float64Array(BLOCK));
    this.history = new History(Math.ceil((LONGEST_HIT + 0.5) * sampleRate) + 2 * BLOCK);
  }

  /** Takes in a block of any length; how the samples are split changes nothing. */
  add({ channels, frames }: SampleBlock): void {
    for (let from = 0; from < frames; ) {
      const whole = this.wholeBlock(channels, from, frames);
      if (whole !== undefined) {
        this.measure(whole, BLOCK);
        from += BLOCK;
        continue;
      }
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
    const kept = new Set(onsets.map(({ sample }) => sample));
    const groups = this.groups.map((strokes) => strokes.filter((sample) => kept.has(sample)));
    const { strips, bins } = this.spectrum.finish();
    const truePeak = this.truePeak.finish();
    const { samplePeak } = this.truePeak;
    const loudness = this.loudness?.integrated() ?? Number.NEGATIVE_INFINITY;
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
      onsets: groups.flatMap(([first]) => (first === undefined ? [] : [first / this.sampleRate])),
      hits: this.hits.flatMap((hit, index) => this.withStrokes(hit, groups[index] ?? [])),
      tempo: this.wanted.tempo ? this.tempoOf(onsets) : null,
    };
  }

  /** A block that lies there whole, which need not be copied first. */
  private wholeBlock(
    channels: SampleBlock['channels'],
    from: number,
    frames: number,
  ): readonly Float64Array[] | undefined {
    if (this.filled > 0 || frames - from < BLOCK || channels.length < this.channels) return;
    const block: Float64Array[] = [];
    for (let c = 0; c < this.channels; c++) {
      const samples = channels[c];
      if (!(samples instanceof Float64Array)) return;
      block.push(samples.subarray(from, from + BLOCK));
    }
    return block;
  }

  private endBlock(): void {
    const { filled } = this;
    this.filled = 0;
    this.measure(this.block, filled);
  }

  private measure(block: readonly Float64Array[], count: number): void {
    this.sumUp(block, count);
    this.truePeak.add(block, count);
    this.loudness?.add(block, count);
    this.spectrum.add(
      block.map((samples, c) => (this.blockers[c] as OffsetBlocker).run(samples, count)),
      count,
    );
    const mixed = this.mixdown.run(block, count);
    this.history.add(mixed, count);
    this.frames += count;
    this.onsets.add(mixed, count);
    this.endHits(this.frames, false);
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
    // A number that is none makes the sums one too.
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

  private onsetAt(sample: number): void {
    const group = this.groups[this.groups.length - 1];
    const last = group?.[group.length - 1] ?? Number.NEGATIVE_INFINITY;
    if (group !== undefined && sample - last < ONE_HIT * this.sampleRate) {
      group.push(sample);
      return;
    }
    const strokes = [sample];
    this.groups.push(strokes);
    this.waiting.push(strokes);
  }

  /** Measures the hits whose end is known: where the next starts, or where they are long enough. */
  private endHits(now: number, isEnd: boolean): void {
    const longest = Math.round(LONGEST_HIT * this.sampleRate);
    while (this.waiting.length > 0) {
      const strokes = this.waiting[0] as number[];
      const onset = strokes[0] as number;
      const next = this.waiting[1]?.[0];
      if (next === undefined && !isEnd && now - onset < longest) return;
      const guarded = next === undefined ? now : next - Math.round(GUARD * this.sampleRate);
      this.waiting.shift();
      if (this.hits.length < MOST_HITS)
        this.measureHit(strokes, Math.min(guarded, onset + longest));
    }
  }

  private measureHit(strokes: readonly number[], end: number): void {
    const onset = strokes[0] as number;
    const start = Math.max(0, onset - Math.round(LEAD * this.sampleRate));
    const samples = this.history.centred(start, Math.max(end, onset + 1));
    this.hits.push(
      this.hitMeter.measure(samples, {
        startSample: start,
        onset: onset - start,
        strokes: strokes.map((stroke) => stroke - start).filter((at) => at < samples.length),
        end: samples.length,
        quiet: this.onsets.quietest,
      }),
    );
  }

  /** The hit with those of its strokes that turned out to be some; nothing if none did. */
  private withStrokes(hit: Hit, samples: readonly number[]): readonly Hit[] {
    const strokes = samples.map((sample) => sample / this.sampleRate);
    const [time] = strokes;
    return time === undefined ? [] : [{ ...hit, time, strokes }];
  }

  /** Strokes are what is played to the beat; grace notes are left out there. */
  private tempoOf(onsets: readonly Onset[]): Tempo | null {
    return estimateTempo(
      onsets.map(({ sample }) => sample / this.sampleRate),
      onsets.map(({ power }) => power),
    );
  }
}

function db(gain: number): number | null {
  return gain > 0 ? 20 * Math.log10(gain) : null;
}
