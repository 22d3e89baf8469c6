/**
 * A rhythm sequencer that follows pulses: what it plays, as they come.
 *
 *   pulse      the song goes on by a pulse: what is due at the pulse is played at its sample
 *   between    what is due a share f of a pulse later comes f x P later, P being the time between the last
 *              two pulses; if the next pulse comes first, it is played at that pulse
 *   before     until the second pulse, P is that of the module's own tempo
 *   flam       a grace stroke that belongs to a later pulse comes where that pulse is expected, P later
 *              (2 P, ...), if that is before the next pulse is expected, and otherwise waits for that; if there
 *              was no time for it, it falls on its pulse and the main stroke follows
 *   reset      armed: the next pulse is the first of the song, without a count-in; what is left of the
 *              pulse before is still played. At the same sample the reset comes first
 *   stop       pulses pass unnoticed, strokes between pulses are dropped, gates that are high end in
 *              their time, `run` falls
 *   go         the next pulse goes on where it stopped, with the P from before
 *
 * A gate or a clock pulse that is a share of a step or a period goes by P when it begins. `run` rises
 * with the first pulse. Places in the song are exact fractions, so that nothing drifts against the pulses.
 *
 * Source: what a sequencer with a clock input does; common practice, no source.
 */

import { smallest } from '../modules/dsp/extremes.ts';
import { Chance } from '../modules/dsp/random.ts';
import { nearestSample, type Split, samplesOf } from './fixed.ts';
import { type Due, type DueStep, dueSteps, type Lasting } from './pulse-plan.ts';
import { Outputs, type Pulse, pulseAt, Queue, type TimedEdge } from './pulses.ts';
import type { RhythmSettings } from './rhythm.ts';
import { longestFlam } from './strokes.ts';

export interface FollowingOptions {
  /** Hz. */
  readonly sampleRate: number;
  readonly seed: string;
  readonly module: string;
  /** When it stops, s: no pulse is taken and no stroke starts at or after it. Never unless given. */
  readonly until?: number;
  /** Told each stroke as it starts, with the index of its channel. */
  readonly onStroke?: ((stroke: Pulse, channel: number) => void) | undefined;
  /**
   * Told each step as its pulse comes: when it begins, in samples, without swing; its bar, from 1 (less in a
   * count-in); its place in the pattern, from 1.
   */
  readonly onStep?: ((sample: number, bar: number, step: number) => void) | undefined;
}

/** A place worked out in doubles may be this much under the pulse that it is at. */
const SLACK = 1e-9;
/** As for a performance: an end may lie this much past the step that it was meant to leave out, s. */
const END_SLACK = 1e-9;

/** What waits to be played. */
interface Waiting {
  readonly due: Due;
  /** Pulses since the first one taken, and the part of a pulse after it. */
  readonly pulse: number;
  readonly rest: number;
  /** When it comes, in samples; infinity while that is not known. */
  at: number;
  /** When its grace stroke comes, likewise; undefined for none, or once it has come. */
  grace: number | undefined;
  /** Pulses taken when `at` was worked out. */
  knownAt: number;
}

export class Following {
  readonly channels: readonly Queue[];
  readonly clock = new Queue();
  readonly run = new Queue();
  readonly start = new Queue();
  horizon = 0;
  /** The sample at which something comes next, unless a pulse does before. */
  next = Number.POSITIVE_INFINITY;

  private readonly settings: RhythmSettings;
  private readonly options: FollowingOptions;
  private readonly chances: readonly Chance[];
  private readonly outputs: Outputs;
  /** Samples. */
  private readonly end: number;
  private readonly until: number;
  /** The longest flam there may be. */
  private readonly ahead: number;
  private steps: Iterator<DueStep, void>;
  private step: DueStep | undefined;
  /** Steps that are planned and have not begun, and the pulse at which each does. */
  private coming: { readonly step: DueStep; readonly pulse: number; readonly rest: number }[] = [];
  /** Steps that have begun, and where and when the latest did. */
  private begun = 0;
  private place = { bar: 1, step: 1 };
  private waiting: Waiting[] = [];
  /** Pulses before the one at which the song began last. */
  private origin = 0;
  /** Pulses taken, and the sample of the latest. */
  private count = 0;
  private last: number | undefined;
  /** Samples between two pulses. */
  private period: number;
  private isRunning = true;
  private isSounding = false;
  private clockEnd = -1;
  private readonly lengths = new Map<number, Split>();

  /** @throws RangeError for a tempo or a rate that is not positive. */
  constructor(settings: RhythmSettings, options: FollowingOptions) {
    const { sampleRate, seed, module, until = Number.POSITIVE_INFINITY } = options;
    this.settings = settings;
    this.options = options;
    this.chances = settings.channels.map(({ name }) => new Chance(seed, module, name));
    this.outputs = new Outputs(settings);
    this.channels = settings.channels.map(() => new Queue());
    this.until = (until - END_SLACK) * sampleRate;
    this.end =
      until === Number.POSITIVE_INFINITY ? until : Math.max(1, Math.round(until * sampleRate));
    this.period = ownPeriod(settings) * sampleRate;
    this.ahead = longestFlam(settings) * sampleRate;
    this.steps = dueSteps(settings, this.chances, 0);
    this.step = this.steps.next().value ?? undefined;
  }

  /** Takes a pulse. */
  pulse(sample: number): void {
    if (!this.isRunning || sample >= this.end) return;
    if (this.last !== undefined) this.period = sample - this.last;
    this.last = sample;
    this.count += 1;
    if (!this.isSounding) this.sound(sample);
    this.plan(sample);
  }

  /** Takes a reset; before the first pulse, or a second before the next, it changes nothing. */
  reset(sample: number): void {
    if (this.origin === this.count) return;
    this.waiting = this.waiting.filter(({ pulse }) => pulse < this.count);
    this.coming = [];
    this.origin = this.count;
    this.steps = dueSteps({ ...this.settings, 'count-in': 0 }, this.chances, this.begun);
    this.step = this.steps.next().value ?? undefined;
    if (this.last !== undefined) this.plan(sample);
  }

  /** Lets it stand. */
  stop(sample: number): void {
    if (!this.isRunning) return;
    this.isRunning = false;
    this.last = undefined;
    this.waiting = this.waiting.filter(({ pulse }) => pulse >= this.count);
    for (const one of this.waiting)
      if (one.grace !== undefined) one.grace = Number.POSITIVE_INFINITY;
    if (this.isSounding) this.outputs.stop(sample, this.options.sampleRate);
    this.isSounding = false;
    this.look();
  }

  /** Lets it go on. */
  go(): void {
    this.isRunning = true;
  }

  /** Gives the edges up to a sample, which is not before one that was asked for. */
  take(sample: number): readonly TimedEdge[] {
    const stays: Waiting[] = [];
    for (const one of this.waiting) {
      if (one.grace !== undefined && nearest(one.grace) <= sample) {
        this.play({ ...one.due, cause: 'grace', accent: false }, one.grace);
        one.grace = undefined;
      }
      if (nearest(one.at) <= sample) this.play(one.due, one.at);
      else stays.push(one);
    }
    this.waiting = stays;
    this.horizon = sample + 1;
    const edges = this.outputs.take(this);
    this.look();
    return edges;
  }

  /** Bar and step of the latest step. */
  placeOfEnd(): { readonly bar: number; readonly step: number } {
    return this.place;
  }

  private sound(sample: number): void {
    const { sampleRate, until = Number.POSITIVE_INFINITY } = this.options;
    this.isSounding = true;
    this.run.add({
      cause: 'run',
      time: sample / sampleRate,
      endTime: until,
      sample,
      end: this.end,
      accent: false,
      bar: this.step?.bar ?? 1,
      step: this.step?.step ?? 1,
    });
  }

  /** Works out what is to come up to the next pulse, and the grace strokes before later ones. */
  private plan(sample: number): void {
    const { count, period } = this;
    const last = this.last as number;
    const horizon = count + this.ahead / period;
    for (let { step } = this; step !== undefined; { step } = this) {
      const { pulse, rest } = this.placed(step.place);
      if (pulse + rest >= horizon - SLACK) break;
      this.coming.push({ step, pulse, rest });
      for (const due of step.due) this.waiting.push(this.waitingFor(due));
      this.step = this.steps.next().value ?? undefined;
    }
    /** Samples at which a place lies, as far as the period tells. */
    const timeOf = ({ pulse, rest }: { readonly pulse: number; readonly rest: number }): number =>
      last + (pulse - (count - 1) + rest) * period;
    while (this.coming[0] !== undefined && this.coming[0].pulse < count) {
      const [first] = this.coming.splice(0, 1);
      if (first === undefined) continue;
      this.begin(first.step);
      this.options.onStep?.(timeOf(first), first.step.bar, first.step.step);
    }
    for (const one of this.waiting) {
      const flam = one.due.flam * this.options.sampleRate;
      if (one.knownAt === count) continue;
      if (one.pulse < count - 1) {
        // What the pulse before has left comes now, a flam's main stroke after its grace stroke.
        if (one.at <= sample) continue;
        one.at = one.grace === undefined ? sample : sample + flam;
        if (one.grace !== undefined) one.grace = sample;
        one.knownAt = count;
        continue;
      }
      const main = timeOf(one);
      const isNow = one.pulse < count;
      if (isNow) {
        one.at = main;
        one.knownAt = count;
      }
      if (one.grace === undefined) continue;
      const isLeft = main >= this.until || (!isNow && main - flam >= last + period - SLACK);
      one.grace = isLeft ? Number.POSITIVE_INFINITY : Math.max(main - flam, sample);
      if (isNow) one.at = Math.max(main, one.grace + flam);
    }
    this.look();
  }

  private begin({ bar, step }: DueStep): void {
    this.place = { bar, step };
    if (bar > 0) this.begun += 1;
  }

  private waitingFor(due: Due): Waiting {
    const later = Number.POSITIVE_INFINITY;
    const grace = due.flam > 0 ? later : undefined;
    return { due, ...this.placed(due.place), at: later, grace, knownAt: -1 };
  }

  private placed({ whole, fraction }: Split): { readonly pulse: number; readonly rest: number } {
    const over = Math.floor(fraction + SLACK);
    return { pulse: this.origin + whole + over, rest: Math.max(0, fraction - over) };
  }

  private play(due: Due, at: number): void {
    if (!(at < this.until)) return;
    const whole = Math.floor(at);
    const { cause, accent, bar, step, output } = due;
    const { sampleRate } = this.options;
    const length = this.lengthOf(due.lasts);
    const pulse = pulseAt(sampleRate, whole, at - whole, length, cause, accent, bar, step);
    if (output === 'start') this.start.add(pulse);
    else if (output !== 'clock') {
      this.channels[output]?.add(pulse);
      this.options.onStroke?.(pulse, output);
    } else if (pulse.sample > this.clockEnd) {
      this.clockEnd = pulse.end;
      this.clock.add(pulse);
    }
  }

  private lengthOf(lasts: readonly Lasting[]): Split {
    const all = lasts.map(({ unit, value }) => {
      if (unit === 'seconds') return this.known(value);
      const samples = value * this.period;
      const whole = Math.floor(samples);
      return { whole, fraction: samples - whole };
    });
    return all.reduce((a, b) => (b.whole + b.fraction < a.whole + a.fraction ? b : a));
  }

  /** A time in seconds, in samples: there are only a few different ones. */
  private known(seconds: number): Split {
    const known = this.lengths.get(seconds) ?? samplesOf(seconds, this.options.sampleRate);
    this.lengths.set(seconds, known);
    return known;
  }

  /** Finds when something comes next. */
  private look(): void {
    const times = this.waiting.map(({ at, grace }) => Math.min(at, grace ?? at));
    // `run` rises with a pulse at which nothing else may be due.
    this.next = Math.min(nearest(smallest(times)), this.outputs.nextFall, this.run.first);
  }
}

/** The sample nearest to a time in samples. */
function nearest(at: number): number {
  const whole = Math.floor(at);
  return at === Number.POSITIVE_INFINITY ? at : nearestSample(whole, at - whole);
}

/** s between two pulses at the tempo at which the song begins. */
function ownPeriod({ follows, song, patterns, tempo }: RhythmSettings): number {
  const [entry] = song;
  const pattern = entry && patterns[entry.pattern];
  const quarter = 60 / (entry?.tempo ?? pattern?.tempo ?? tempo);
  const steps = follows.per === 'step' ? (pattern?.stepsPerQuarter ?? 1) : 1;
  return quarter / (follows.count * steps);
}
