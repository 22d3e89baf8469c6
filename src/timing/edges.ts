/**
 * A rhythm module's settings -> every change of every one of its outputs, in order, for ever.
 *
 * Time advances by stretches of a few steps: each stretch's pulses go into a queue per output, and what
 * can no longer be preceded by anything leaves the queues as edges. So memory stays flat however
 * long the performance, and the first edges come at once.
 *
 * An accent output is set at each of its channel's strokes: to the accent level at an accented one, to the
 * ghost level at a ghost stroke, to the grace level at the grace stroke of a flam, to 0 V at any other, and
 * holds in between, as a sample-and-hold does, so that a tail stays accented to its end. `start` gives one
 * pulse at the first step; `run` is high from the start, of a count-in if there is one, to the end.
 */

import type { PatchModule } from '../patch/patch.ts';
import { Clock, PULSE_SECONDS } from './clock.ts';
import { nearestSample, samplesOf, split, toNumber } from './fixed.ts';
import { type StepStretch, startOfStep, stretchesOf } from './grid.ts';
import { Outputs, type Pulse, pulseAt, Queue, type TimedEdge } from './pulses.ts';
import { type RhythmSettings, rhythmSettings } from './rhythm.ts';
import { barOfStep, type Section, type Song, sectionsOf, songOf } from './song.ts';
import { Strokes, type StrokesOptions } from './strokes.ts';

export interface PerformanceOptions extends StrokesOptions {
  /**
   * When the performance stops, s. No stroke or clock pulse starts at or after it, nor does the grace
   * stroke of a flam whose main stroke would; `run` goes low; gates that are high end in their own
   * time. Without it the song repeats for ever.
   */
  readonly until?: number;
  /**
   * Tells whether anybody listens to an output, counted as by {@link edges}. A clock that nobody hears, and a
   * channel of which nobody hears the gate or the accent, are not played. All are unless given.
   */
  readonly isHeard?: (output: number) => boolean;
}

/** An end worked out in doubles may lie this much past the step that it was meant to leave out, s. */
const END_SLACK = 1e-9;

/** A stroke of a channel, whether or not its gate rises: see {@link Pulse}. */
export interface Stroke extends Pulse {
  /** Index into the channels. */
  readonly channel: number;
}

/**
 * Gives a function whose calls give the edges of all outputs, by sample and then by output. Outputs
 * count as the jacks of the kind do: a gate for each channel, then an accent for each, then clock,
 * run and start. An output starts at 0 V; the edges of all but an accent go up and down by turns.
 * @returns the function; it returns undefined once a performance with an `until` is over, or at once
 * where that is not above 0.
 * @throws RangeError for numbers that are not finite, and for a tempo or rate that is not positive.
 */
export function edges(
  settings: RhythmSettings,
  options: PerformanceOptions,
): () => TimedEdge | undefined {
  const performance = new Performance(settings, options);
  const outputs = new Outputs(settings);
  return inTurn(performance, () => outputs.take(performance));
}

/** The same of a rhythm module in a patch, whose `seed` is among the options. */
export function edgesOf(
  { name, settings }: PatchModule,
  options: Omit<PerformanceOptions, 'module'>,
): () => TimedEdge | undefined {
  return edges(rhythmSettings(settings), { ...options, module: name });
}

/**
 * Gives a function whose calls give the strokes of all channels, by sample and then by channel, those
 * included that no edge shows because the gate was still high. It ends as {@link edges} does.
 * @throws RangeError as {@link edges} does.
 */
export function strokes(
  settings: RhythmSettings,
  options: PerformanceOptions,
): () => Stroke | undefined {
  const performance = new Performance(settings, options);
  return inTurn(performance, () =>
    performance.channels
      .flatMap((queue, channel) =>
        queue.takeBefore(performance.horizon).map((pulse) => ({ ...pulse, channel })),
      )
      .sort((a, b) => a.sample - b.sample || a.channel - b.channel),
  );
}

/** Hands out the items of one batch after another until the performance is over. */
function inTurn<T>(performance: Performance, nextBatch: () => readonly T[]): () => T | undefined {
  let batch: readonly T[] = [];
  let next = 0;
  return () => {
    while (next === batch.length) {
      if (performance.over) return undefined;
      performance.advance();
      batch = nextBatch();
      next = 0;
    }
    return batch[next++];
  };
}

/**
 * A rhythm module playing: its pulses, stretch by stretch, and the sample up to which they are all
 * known. Queues hold little more than a stretch's worth, however long the performance.
 */
class Performance {
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
  /** Undefined for one that nobody hears. */
  private readonly clockwork: Clock | undefined;
  private readonly stretches: Iterator<StepStretch, void>;
  /** Samples by which a stroke may come before its stretch. */
  private readonly early: number;

  /** @throws RangeError for numbers that are not finite, and a tempo or rate that is not positive. */
  constructor(
    settings: RhythmSettings,
    { until, isHeard = () => true, ...options }: PerformanceOptions,
  ) {
    const { sampleRate } = options;
    if (Number.isNaN(until)) throw new RangeError('expected a time for the end, got NaN');
    const end = until ?? Number.POSITIVE_INFINITY;
    this.sampleRate = sampleRate;
    this.until = end - END_SLACK;
    this.over = !(this.until > 0);
    this.channels = settings.channels.map(() => new Queue());
    this.beatsPerBar = settings['beats-per-bar'];
    const count = settings.channels.length;
    this.strokes = new Strokes(
      settings,
      options,
      (channel) => isHeard(channel) || isHeard(count + channel),
    );
    this.clockwork = isHeard(2 * count) ? new Clock(sampleRate, this.beatsPerBar) : undefined;
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
    this.clockwork?.play(stretch, this.until, this.clock);
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
