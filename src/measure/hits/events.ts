/** What is measured of a recording hit by hit: when hits set in, what each is like, and their tempo. */

import { Mixdown } from '../mixdown.ts';
import { EVEN, EvenBlocks, type SampleBlock } from '../samples.ts';
import { History } from './history.ts';
import { type Hit, HitMeter } from './hits.ts';
import { type Onset, OnsetDetector } from './onsets.ts';
import { estimateTempo, type Tempo } from './tempo.ts';

export interface Events {
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
const MOST_HITS = 6000;
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

/** Takes in a recording whose samples are finite numbers, in memory that stays flat. */
export class EventMeter {
  private readonly sampleRate: number;
  private readonly wanted: Wanted;
  private readonly even: EvenBlocks;
  private readonly mixdown: Mixdown;
  private readonly onsets: OnsetDetector;
  private readonly hitMeter: HitMeter;
  private readonly history: History;
  private readonly hits: Hit[] = [];
  /** Strokes by hits, of those hits that are not measured yet, and of all. */
  private readonly waiting: number[][] = [];
  private readonly groups: number[][] = [];
  private frames = 0;

  /** @param sampleRate Hz, from 1000 to 1 000 000. */
  constructor(sampleRate: number, channels: number, wanted = EVERYTHING) {
    this.sampleRate = sampleRate;
    this.wanted = wanted;
    this.even = new EvenBlocks(channels, this);
    this.mixdown = new Mixdown(channels, EVEN);
    this.onsets = new OnsetDetector(sampleRate, (sample) => this.onsetAt(sample));
    this.hitMeter = new HitMeter(sampleRate, wanted.hitSpectra);
    this.history = new History(Math.ceil((LONGEST_HIT + 0.5) * sampleRate) + 2 * EVEN);
  }

  /** Takes in a block of any length; how the samples are split changes nothing. */
  add(block: SampleBlock): void {
    this.even.add(block);
  }

  /** Ends the recording. */
  finish(): Events {
    this.even.end();
    const onsets = this.onsets.finish();
    this.endHits(this.frames, true);
    const kept = new Set(onsets.map(({ sample }) => sample));
    const groups = this.groups.map((strokes) => strokes.filter((sample) => kept.has(sample)));
    return {
      onsets: groups.flatMap(([first]) => (first === undefined ? [] : [first / this.sampleRate])),
      hits: this.hits.flatMap((hit, index) => this.withStrokes(hit, groups[index] ?? [])),
      tempo: this.wanted.tempo ? this.tempoOf(onsets) : null,
    };
  }

  take(block: readonly Float64Array[], count: number): void {
    const mixed = this.mixdown.run(block, count);
    this.history.add(mixed, count);
    this.frames += count;
    this.onsets.add(mixed, count);
    this.endHits(this.frames, false);
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
