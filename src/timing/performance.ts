/**
 * A rhythm module playing: its pulses, stretch by stretch, and the sample up to which they are all
 * known. Queues hold little more than a stretch's worth, however long the performance.
 */

import { Clock, PULSE_SECONDS } from './clock.ts';
import { nearestSample, samplesOf, split, toNumber } from './fixed.ts';
import { type StepStretch, startOfStep, stretchesOf } from './grid.ts';
import { pulseAt, Queue } from './pulses.ts';
import type { RhythmSettings } from './rhythm.ts';
import { barOfStep, type Section, type Song, sectionsOf, songOf } from './song.ts';
import { Strokes, type StrokesOptions } from './strokes.ts';

export interface PerformanceOptions extends StrokesOptions {
  /**
   * When the performance stops, s. No stroke or clock pulse starts at or after it, nor does the grace
   * stroke of a flam whose main stroke would; `run` goes low; gates that are high end in their own
   * time. Without it the song repeats for ever.
   */
  readonly until?: number;
}

/** An end worked out in doubles may lie this much past the step that it was meant to leave out, s. */
const END_SLACK = 1e-9;

export class Performance {
  /** One a channel. */
  readonly channels: readonly Queue[];
  readonly clock = new Queue();
  /** One pulse each; that of `run` never ends where the performance does not. */
  readonly run = new Queue();
  readonly start = new Queue();
  /** All pulses that start before this sample are in the queues, or have been taken from them. */
  horizon = 0;
  /** Whether there are no pulses but those in the queues. */
  over: boolean;

  private last: StepStretch | undefined;
  private readonly sampleRate: number;
  private readonly until: number;
  private readonly beatsPerBar: number;
  private readonly strokes: Strokes;
  private readonly clockwork: Clock;
  private readonly stretches: Iterator<StepStretch, void>;
  /** Samples by which a stroke may come before its stretch. */
  private readonly early: number;

  /** @throws RangeError for numbers that are not finite, and a tempo or rate that is not positive. */
  constructor(settings: RhythmSettings, { until, ...options }: PerformanceOptions) {
    const { sampleRate } = options;
    if (Number.isNaN(until)) throw new RangeError('expected a time for the end, got NaN');
    const end = until ?? Number.POSITIVE_INFINITY;
    this.sampleRate = sampleRate;
    this.until = end - END_SLACK;
    this.over = !(this.until > 0);
    this.channels = settings.channels.map(() => new Queue());
    this.beatsPerBar = settings['beats-per-bar'];
    this.strokes = new Strokes(settings, options);
    this.clockwork = new Clock(sampleRate, this.beatsPerBar);
    const song = songOf(settings, sampleRate);
    this.stretches = stretchesOfSong(song);
    const { earliest } = this.strokes;
    this.early = earliest > 0 ? Math.ceil(earliest * sampleRate) + 1 : 0;
    if (this.over) return;
    const length = samplesOf(PULSE_SECONDS, sampleRate);
    const { whole, fraction } = split(song.countIn?.groove.duration ?? 0n);
    const start = pulseAt(sampleRate, whole, fraction, length, 'start', false, 1, 1);
    if (start.time < this.until) this.start.add(start);
    this.run.add({
      ...start,
      cause: 'run',
      time: 0,
      sample: 0,
      endTime: end,
      end: endSample(end, sampleRate),
      bar: 1 - (song.countIn?.bars ?? 0),
    });
  }

  /** Adds the pulses of the next stretch to the queues. */
  advance(): void {
    const { value: stretch } = this.stretches.next();
    if (stretch === undefined || !this.isBeforeEnd(stretch.section, stretch.from)) {
      this.over = true;
      this.horizon = Number.POSITIVE_INFINITY;
      return;
    }
    this.last = stretch;
    this.strokes.play(stretch, this.until, this.channels);
    this.clockwork.play(stretch, this.until, this.clock);
    this.horizon = nearestSample(stretch.end.whole, stretch.end.fraction) - this.early;
  }

  /** The bar and the step, both from 1, that a performance with an end was in when it ended. */
  placeOfEnd(): { bar: number; step: number } {
    if (this.last === undefined) return { bar: 1, step: 1 };
    const { section, from, to } = this.last;
    let step = to - 1;
    while (step > from && !this.isBeforeEnd(section, step)) step--;
    return { bar: barOfStep(section, step, this.beatsPerBar), step: step + 1 };
  }

  private isBeforeEnd(section: Section, step: number): boolean {
    return toNumber(startOfStep(section, step)) / this.sampleRate < this.until;
  }
}

function endSample(seconds: number, sampleRate: number): number {
  if (seconds === Number.POSITIVE_INFINITY) return seconds;
  const { whole, fraction } = samplesOf(seconds, sampleRate);
  return Math.max(1, nearestSample(whole, fraction));
}

function* stretchesOfSong(song: Song): Generator<StepStretch, void> {
  for (const section of sectionsOf(song)) yield* stretchesOf(section);
}
