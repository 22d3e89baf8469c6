/**
 * Strokes: what the channels play.
 *
 * - A line shorter than its pattern repeats, and keeps its place from one playing of the pattern to
 *   the next as long as no other pattern comes between, so that lines of different lengths drift
 *   apart and meet again. Another pattern starts all lines at their first step. A line longer than
 *   its pattern is cut at the pattern's length.
 * - The strokes of a ratchet divide the step equally, from where it starts, swing and all, to where
 *   the next one does.
 * - A flam's main stroke is on the step; its grace stroke comes before it by the flam's time, and is
 *   never accented. Where that would be before the performance starts, the grace stroke falls on the
 *   very start and the main stroke follows by the flam's time; in a loop, which has no start, it falls
 *   so much before the loop's end.
 * - A gate given as a share is that share of the step or, in a ratchet, of one stroke's part of it.
 * - A swing of the line is narrower than the song's, the pattern's and the module's; so are a gate of
 *   the line and, narrower still, the gate, the chance and the flam of a step.
 */

import type { Span } from '../modules/definition.ts';
import { Chance } from '../modules/dsp/random.ts';
import type { Line, Step } from '../modules/score.ts';
import { decimal, product, type Ratio, type Split, samplesOf } from './fixed.ts';
import { Grid, type StepStretch, shapeOfStep } from './grid.ts';
import { pulseAt, type Queue } from './pulses.ts';
import type { RhythmSettings } from './rhythm.ts';
import { barOfStep, type Groove } from './song.ts';

const NOTHING: Split = { whole: 0, fraction: 0 };

/** A step made ready: lists of splits are by the shape of the step. */
interface ReadyStep {
  readonly strokes: number;
  readonly accent: boolean;
  readonly ghost: boolean;
  readonly flam: Split | undefined;
  /** 1 for a step that is not left to chance. */
  readonly chance: number;
  readonly spacing: readonly Split[];
  readonly gate: readonly Split[];
}

interface ReadyLine {
  readonly channel: number;
  readonly grid: Grid;
  readonly steps: readonly ReadyStep[];
}

export interface StrokesOptions {
  /** Hz. */
  readonly sampleRate: number;
  /** The patch's seed and the module's name, which decide what chance does. */
  readonly seed: string;
  readonly module: string;
  /** Of a loop its length, s: the grace stroke of a flam at its start comes before its end. */
  readonly round?: number | undefined;
}

export class Strokes {
  /** How much earlier than its step a stroke may start, s. */
  readonly earliest: number;
  private readonly chances: readonly Chance[];
  private readonly ready = new Map<Groove, readonly ReadyLine[]>();
  private readonly settings: RhythmSettings;
  private readonly sampleRate: number;
  private readonly isPlayed: (channel: number) => boolean;
  /** The length of the loop that is played, samples. */
  private readonly round: Split | undefined;

  constructor(
    settings: RhythmSettings,
    { sampleRate, seed, module, round }: StrokesOptions,
    isPlayed: (channel: number) => boolean,
  ) {
    this.settings = settings;
    this.isPlayed = isPlayed;
    this.sampleRate = sampleRate;
    this.round = round === undefined ? undefined : samplesOf(round, sampleRate);
    this.chances = settings.channels.map(({ name }) => new Chance(seed, module, name));
    this.earliest = longestFlam(settings);
  }

  /**
   * Adds the strokes of a stretch's steps to the queues of their channels.
   * @param until s; steps from here on are not played.
   */
  play(stretch: StepStretch, until: number, queues: readonly Queue[]): void {
    for (const line of this.linesOf(stretch.section.groove)) {
      this.playLine(line, stretch, until, queues[line.channel] as Queue);
    }
  }

  private playLine(line: ReadyLine, stretch: StepStretch, until: number, queue: Queue): void {
    const { sampleRate, settings } = this;
    const { section } = stretch;
    const chance = this.chances[line.channel] as Chance;
    for (let k = stretch.from; k < stretch.to; k++) {
      const step = line.steps[(section.sinceChange + k) % line.steps.length] as ReadyStep;
      if (step.strokes === 0) continue;
      if (step.chance < 1 && chance.draw(section.firstStep + k) >= step.chance) continue;
      let whole = stretch.start.whole + line.grid.wholeTo(k, stretch);
      let fraction = stretch.start.fraction + line.grid.fractionTo(k, stretch);
      const { flam } = step;
      const isEarly = flam !== undefined && whole + fraction < flam.whole + flam.fraction;
      if (isEarly && this.round === undefined) ({ whole, fraction } = flam);
      if ((whole + fraction) / sampleRate >= until) continue;
      const shape = shapeOfStep(k, section.groove.pattern.length);
      const spacing = step.spacing[shape] as Split;
      const gate = step.gate[shape] as Split;
      const bar = barOfStep(section, k, settings['beats-per-bar']);
      const add = (
        at: number,
        rest: number,
        cause: 'hit' | 'ghost' | 'grace' | 'ratchet',
        accent: boolean,
      ) => {
        queue.add(pulseAt(sampleRate, at, rest, gate, cause, accent, bar, k + 1));
      };
      if (flam !== undefined) {
        const round = (isEarly ? this.round : undefined) ?? NOTHING;
        const at = round.whole + whole - flam.whole;
        const rest = round.fraction + fraction - flam.fraction;
        if ((at + rest) / sampleRate < until) add(at, rest, 'grace', false);
      }
      const one = step.ghost ? 'ghost' : 'hit';
      const cause = step.strokes > 1 ? 'ratchet' : one;
      for (let stroke = 0; stroke < step.strokes; stroke++) {
        const at = whole + stroke * spacing.whole;
        const rest = fraction + stroke * spacing.fraction;
        if ((at + rest) / sampleRate < until) add(at, rest, cause, step.accent);
      }
    }
  }

  private linesOf(groove: Groove): readonly ReadyLine[] {
    let lines = this.ready.get(groove);
    if (lines === undefined) {
      lines = groove.pattern.lines
        .filter((line) => line.steps.length > 0 && this.isPlayed(line.channel))
        .map((line) => this.readyLine(line, groove));
      this.ready.set(groove, lines);
    }
    return lines;
  }

  private readyLine(line: Line, groove: Groove): ReadyLine {
    const grid = new Grid(groove.step, line.swing ?? groove.swing);
    return {
      channel: line.channel,
      grid,
      steps: line.steps
        .slice(0, groove.pattern.length)
        .map((step) => this.readyStep(step, line, groove, grid)),
    };
  }

  private readyStep(step: Step, line: Line, groove: Groove, grid: Grid): ReadyStep {
    const part = { num: 1n, den: BigInt(Math.max(step.strokes, 1)) };
    const gate = step.gate ?? line.gate ?? this.settings.gate;
    return {
      strokes: step.strokes,
      accent: step.accent,
      ghost: step.ghost === true,
      flam: step.flam ? samplesOf(step.flamSpacing ?? groove.flam, this.sampleRate) : undefined,
      chance: step.maybe ? (step.chance ?? groove.chance) : 1,
      spacing: grid.shareOfStep(part),
      gate: this.gateLengths(gate, part, grid),
    };
  }

  private gateLengths(gate: Span, part: Ratio, grid: Grid): readonly Split[] {
    if (gate.unit === 'steps') return grid.shareOfStep(product(part, decimal(gate.value)));
    const length = samplesOf(gate.value, this.sampleRate);
    return [length, length, length];
  }
}

/** The longest flam that any step could have, s; 0 where no step has one. */
export function longestFlam({ flam, patterns, song }: RhythmSettings): number {
  const flams = patterns
    .flatMap((pattern) => pattern.lines)
    .flatMap((line) => line.steps)
    .filter((step) => step.flam);
  if (flams.length === 0) return 0;
  const feels = [...patterns, ...song].flatMap((feel) => feel.flam ?? []);
  const own = flams.flatMap((step) => step.flamSpacing ?? []);
  return [flam, ...feels, ...own].reduce((longest, each) => Math.max(longest, each), 0);
}
