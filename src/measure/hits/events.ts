/** Measures of a recording hit by hit: when hits begin, the figures of each, and their tempo. */

import type { DriftLeft } from '../mended.ts';
import { Mixdown } from '../mixdown.ts';
import { EVEN, EvenBlocks, type SampleBlock } from '../samples.ts';
import { gracesOf } from './flams/drags.ts';
import { AFTER, BEFORE, courseOf, HOP } from './flams/stroke-course.ts';
import { SampleHistory } from './history.ts';
import { type Hit, HitMeter } from './hits.ts';
import { type Onset, OnsetDetector } from './onsets.ts';
import { estimateTempo, type Tempo } from './tempo.ts';

export interface Events {
  /** When strokes begin, s: two for a flam, as many for a clap as there are hands. */
  readonly onsets: readonly number[];
  /** The first `MOST_HITS` of them. */
  readonly hits: readonly Hit[];
  readonly tempo: Tempo | null;
}

/** Measures that can be left out, since they take time. */
export interface WantedMeasures {
  /** Without it, `tempo` is null. */
  readonly tempo: boolean;
  /** Without it, the hits' `centroidHz` and `flatness` are null, and they have no bands. */
  readonly hitSpectra: boolean;
}

/** Hits beyond this are counted as onsets only: ten minutes of sixteenths. */
const MOST_HITS = 6000;
/** A hit is followed this long, s. */
const LONGEST_HIT = 8;
/** How much before a hit is kept for comparison, s. */
const LEAD = 0.05;
/** The end of a hit stays clear of the next onset, s. */
const GUARD = 0.001;

/** Takes in a recording whose samples are finite numbers, in memory that does not grow with its length. */
export class EventMeter {
  private readonly sampleRate: number;
  private readonly left: DriftLeft;
  private readonly wantsTempo: boolean;
  private readonly even: EvenBlocks;
  private readonly mixdown: Mixdown;
  private readonly onsets: OnsetDetector;
  private readonly hitMeter: HitMeter;
  private readonly history: SampleHistory;
  private readonly hits: Hit[] = [];
  /** The onsets, in samples, of hits that are not measured yet, and of all that are. */
  private readonly waiting: number[] = [];
  private readonly measured: number[] = [];
  /** Of the first of them, in their order: how their power goes on, also past the next. */
  private readonly courses: Float32Array[] = [];
  private frames = 0;

  /**
   * @param sampleRate Hz, from 1000 to 1 000 000.
   * @param wanted everything unless left out.
   * @param left of a drift that was removed: what is no louder is no hit.
   */
  constructor(
    sampleRate: number,
    channels: number,
    wanted: Partial<WantedMeasures> = {},
    left: DriftLeft = { peak: 0, peakAtStart: 0 },
  ) {
    const { tempo = true, hitSpectra = true } = wanted;
    this.sampleRate = sampleRate;
    this.left = left;
    this.wantsTempo = tempo;
    this.even = new EvenBlocks(channels, this);
    this.mixdown = new Mixdown(channels, EVEN);
    this.onsets = new OnsetDetector(sampleRate, (sample) => this.waiting.push(sample));
    this.hitMeter = new HitMeter(sampleRate, hitSpectra);
    this.history = new SampleHistory(Math.ceil((LONGEST_HIT + 0.5) * sampleRate) + 2 * EVEN);
  }

  /** Takes in a block of any length; how the samples are split changes nothing. */
  add(block: SampleBlock): void {
    this.even.add(block);
  }

  /** Ends the recording. */
  finish(): Events {
    this.even.end();
    const found = this.onsets.finish();
    this.endHits(this.frames, true);
    this.followCourses(true);
    const drift = new Set(
      this.measured.filter((_, index) => this.isDrift(this.hits[index] as Hit)),
    );
    const onsets = found.filter(({ sample }) => !drift.has(sample));
    const kept = new Set(onsets.map(({ sample }) => sample));
    // Some measured hits turn out to be no hits.
    const heard = this.hits.flatMap((hit, index) => {
      const sample = this.measured[index] as number;
      return kept.has(sample) ? [{ hit, sample, course: this.courses[index] as Float32Array }] : [];
    });
    const graces = gracesOf(
      heard.map(({ hit: { time, flam }, course }) => ({ time, flam, course })),
    );
    const hits = heard.map(({ hit }, index) => ({ ...hit, ...graces[index] }));
    const mains = new Map(heard.map(({ sample }, index) => [sample, mainOf(hits[index] as Hit)]));
    return {
      onsets: onsets.map(({ sample }) => sample / this.sampleRate),
      hits,
      tempo: this.wantsTempo ? this.tempoOf(onsets, mains) : null,
    };
  }

  /** Whether a hit may be only what is left of a drift. */
  private isDrift({ peakDbfs, reasons }: Hit): boolean {
    const { peak, peakAtStart } = this.left;
    const isAtStart = reasons.attack === 'cut-start';
    return 10 ** (peakDbfs / 20) < (isAtStart ? peakAtStart : peak);
  }

  take(block: readonly Float64Array[], count: number): void {
    const mixed = this.mixdown.run(block, count);
    this.history.add(mixed, count);
    this.frames += count;
    this.onsets.add(mixed, count);
    this.endHits(this.frames, false);
    this.followCourses(false);
  }

  /** Measures the hits whose end is known: where the next starts, or where they are long enough. */
  private endHits(now: number, isEnd: boolean): void {
    const longest = Math.round(LONGEST_HIT * this.sampleRate);
    while (this.waiting.length > 0) {
      const onset = this.waiting[0] as number;
      const next = this.waiting[1];
      if (next === undefined && !isEnd && now - onset < longest) return;
      const guarded = next === undefined ? now : next - Math.round(GUARD * this.sampleRate);
      this.waiting.shift();
      if (this.hits.length < MOST_HITS) this.measureHit(onset, Math.min(guarded, onset + longest));
    }
  }

  private measureHit(onset: number, end: number): void {
    const start = Math.max(0, onset - Math.round(LEAD * this.sampleRate));
    const samples = this.history.centred(start, Math.max(end, onset + 1));
    this.measured.push(onset);
    this.hits.push(
      this.hitMeter.measure(samples, {
        startSample: start,
        onset: onset - start,
        end: samples.length,
        quiet: this.onsets.quietest,
      }),
    );
  }

  /** Keeps the courses of hits that are measured, as soon as all of each is there. */
  private followCourses(isEnd: boolean): void {
    const [before, after] = [BEFORE, AFTER].map((hops) =>
      Math.ceil(hops * HOP * this.sampleRate),
    ) as [number, number];
    for (let n = this.courses.length; n < this.measured.length; n++) {
      const onset = this.measured[n] as number;
      if (!isEnd && onset + after > this.frames) return;
      const from = Math.max(0, onset - before);
      const samples = this.history.centred(from, Math.min(this.frames, onset + after));
      this.courses.push(courseOf(samples, onset - from, this.sampleRate));
    }
  }

  /**
   * Strokes are what is played to the beat; grace notes are left out there, also those within a hit.
   * @param mains s, of an onset that is a hit: when its main stroke comes.
   */
  private tempoOf(onsets: readonly Onset[], mains: ReadonlyMap<number, number>): Tempo | null {
    return estimateTempo(
      onsets.map(({ sample }) => mains.get(sample) ?? sample / this.sampleRate),
      onsets.map(({ power }) => power),
    );
  }
}

function mainOf({ time, flam, drag }: Hit): number {
  return drag?.time ?? flam?.time ?? time;
}
