/** Plays a patch and writes its score. */

import { isFollower } from '../../engine/followers.ts';
import type { Happening } from '../../engine/happening.ts';
import { type Prepared, prepared } from '../../engine/prepared.ts';
import { type PathListener, trace } from '../../engine/trace.ts';
import type { Patch } from '../../patch/patch.ts';
import { toNumber } from '../../timing/fixed.ts';
import {
  CLOCK_IN,
  isFollowing,
  type RhythmSettings,
  rhythmSettings,
  tempoLeaders,
} from '../../timing/rhythm.ts';
import { Ruler } from '../../timing/ruler.ts';
import { sectionsOf, songOf } from '../../timing/song.ts';
import { atHeardTempo } from './heard-tempo.ts';
import { lanesOf } from './lanes.ts';
import { answerOf, meetingsOf, SLACK, standingOf } from './standing.ts';
import { type Bar, CURVE_SECONDS, type ScoreSection, type TimeScore } from './time-score.ts';

export interface ScoreOptions {
  /** Hz. */
  readonly sampleRate: number;
  /** How much is played, s. */
  readonly seconds: number;
  /** Whether the curves of envelopes are wanted, as a chart draws them. */
  readonly curves: boolean;
  /** Is told all that happens, in order, by whoever wants that too and need not play the patch again. */
  readonly onHappening?: (happening: Happening) => void;
  /** Is told more of the same play. */
  readonly listener?: PathListener;
}

/** Bars that a score may have: it is held in memory and looked at by people. */
export const MOST_BARS = 1000;

/**
 * Plays a patch and writes its score. Bars and steps are those of its first rhythm sequencer that keeps its own time.
 * @returns undefined for a patch without a rhythm sequencer.
 */
export function scoreOf(of: Patch | Prepared, options: ScoreOptions): TimeScore | undefined {
  const work = scoring(of, options);
  for (;;) {
    const { done, value } = work.next();
    if (done) return value;
  }
}

/** The same in steps, one for each thing that happens, so that other work can come between. */
export function* scoring(
  of: Patch | Prepared,
  { sampleRate, seconds, curves: withCurves, onHappening, listener }: ScoreOptions,
): Generator<undefined, TimeScore | undefined> {
  const all = prepared(of);
  const { patch } = all;
  const [rhythm] = tempoLeaders(patch);
  if (rhythm === undefined) return undefined;
  const curves = new Map<string, number[]>();
  const happenings = trace(all, {
    sampleRate,
    seconds,
    ...(listener && { listener }),
    ...(withCurves && {
      onEnvelope: (module, volts, from, count) => {
        const curve = curves.get(module) ?? [];
        curves.set(module, curve);
        for (let i = 0; i < count; i++) {
          const bin = Math.floor((from + i) / sampleRate / CURVE_SECONDS);
          curve[bin] = Math.max(curve[bin] ?? 0, volts[i] as number);
        }
      },
    }),
  });
  const byJack = new Map<string, Happening[]>();
  for (const happening of happenings) {
    onHappening?.(happening);
    const known = byJack.get(happening.jack);
    if (known === undefined) byJack.set(happening.jack, [happening]);
    else known.push(happening);
    yield;
  }
  const own = rhythmSettings(rhythm.settings);
  const clock = byJack.get(`${rhythm.name}.${CLOCK_IN}`) ?? [];
  const heard = isFollowing(patch, rhythm) ? atHeardTempo(rhythm.name, own, clock) : undefined;
  const settings = heard?.settings ?? own;
  const ruler = new Ruler(settings);
  const bars = barsOf(ruler, settings['count-in'], seconds);
  const whole = bars.filter(({ number, end }) => end >= ruler.timeOfBar(number + 1) - SLACK);
  const { triggers } = all.control;
  return {
    title: patch.title,
    sampleRate,
    seconds,
    ruler,
    bars,
    sections: sectionsWithin(settings, seconds),
    lanes: lanesOf(patch, triggers, byJack, curves, seconds),
    answers: triggers.map((trigger) => answerOf(trigger, byJack)),
    followers: patch.modules
      .filter((module) => isFollower(module) && byJack.has(`${module.name}.clock`))
      .map((module) => standingOf(module, settings, whole, byJack, { sampleRate, seconds })),
    meetings: meetingsOf(settings),
    ...(heard && { heard: heard.tempo }),
  };
}

/** All of a patch that its score follows from, as a text to compare. */
export function scoreSource(of: Patch | Prepared): string {
  const { patch, control } = prepared(of);
  const { patch: played } = control;
  const { title, seed, cables } = patch;
  return JSON.stringify([
    title,
    seed,
    played.modules.map(({ name, definition, jacks, settings }) => [
      name,
      definition.kind,
      jacks,
      // A module that does not run only loads its nets.
      definition.create && settings,
    ]),
    cables.map(({ from, to }) => [from, to]),
  ]);
}

/** How many bars a score of a rhythm that keeps its own time has, before anything is played. */
export function barsScored(settings: RhythmSettings, seconds: number): number {
  return barsOf(new Ruler(settings), settings['count-in'], seconds).length;
}

function barsOf(ruler: Ruler, countIn: number, seconds: number): Bar[] {
  const bars: Bar[] = [];
  for (let number = 1 - countIn; bars.length < MOST_BARS; number++) {
    const start = ruler.timeOfBar(number);
    // What rounding leaves at the end is not a bar.
    if (start >= seconds - SLACK) break;
    bars.push({ number, start, end: Math.min(ruler.timeOfBar(number + 1), seconds) });
  }
  return bars;
}

function sectionsWithin(settings: RhythmSettings, seconds: number): ScoreSection[] {
  const found: ScoreSection[] = [];
  for (const { groove, start } of sectionsOf(songOf(settings, 1))) {
    const from = toNumber(start);
    if (from >= seconds - SLACK) break;
    const { pattern, swing } = groove;
    found.push({
      pattern: pattern.name,
      start: from,
      step: toNumber(groove.step),
      tempo: 60 / toNumber(groove.quarter),
      swing,
      stepsPerQuarter: pattern.stepsPerQuarter,
    });
  }
  return found;
}

/** A step that begins in a bar, numbered as its pattern counts it. */
export interface BarStep {
  readonly number: number;
  /** s; `straight` is where it would be without swing. */
  readonly time: number;
  readonly straight: number;
}

/** Gives the steps that begin in a bar. */
export function stepsOf(bar: Bar, sections: readonly ScoreSection[]): readonly BarStep[] {
  return sections.flatMap(({ start, step, swing }, index) => {
    const end = Math.min(sections[index + 1]?.start ?? bar.end, bar.end) - SLACK;
    const found: BarStep[] = [];
    for (let k = Math.max(0, Math.round((bar.start - start) / step)); ; k++) {
      const straight = start + k * step;
      if (straight >= end) return found;
      const time = straight + (k % 2 === 1 ? (2 * swing - 1) * step : 0);
      if (straight >= bar.start - SLACK) found.push({ number: k + 1, time, straight });
    }
  });
}
