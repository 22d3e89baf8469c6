/** How far apart the off-steps of a rhythm are from those of a module that follows it. */

import { USUAL_RATE } from '../../engine/usual-rate.ts';
import { median } from '../../measure/median.ts';
import { largest } from '../../modules/dsp/extremes.ts';
import type { PatchModule } from '../../patch/patch.ts';
import { isFollowing, rhythmSettings } from '../../timing/rhythm.ts';
import type { Context } from '../finding.ts';
import { followedPlay, type PlayedStroke } from './followed-play.ts';
import { lastBy } from './pulses.ts';
import type { Train } from './triggers.ts';

/** s; two hits further apart than this are heard as two. Source: common practice, no source. */
export const APART = 0.005;

/** What two play at the same off-steps. */
export interface OffStepsApart {
  readonly all: number;
  /** Those of them that are apart, and s by which the worst is, negative where the follower is first. */
  readonly apart: number;
  readonly most: number;
}

/** The first stroke of each step that a rhythm plays, in order; undefined where it is not known. */
export function strokesPlayed(
  module: PatchModule,
  context: Context,
): readonly PlayedStroke[] | undefined {
  if (isFollowing(context.patch, module))
    return firsts(followedPlay(module, context.patch, context.triggers)?.strokes);
  const played = context.triggers.playedBy(module);
  const { channels } = rhythmSettings(module.settings);
  const all = channels.flatMap(({ name }) => played.part(name).onsets);
  return firsts(all.toSorted((a, b) => a.sample - b.sample));
}

/** Without the grace strokes of flams, and the strokes of a ratchet after its first. */
function firsts(strokes: readonly PlayedStroke[] | undefined): readonly PlayedStroke[] | undefined {
  let last: PlayedStroke | undefined;
  return strokes?.filter((one) => {
    if (one.cause === 'grace') return false;
    const isFirst = one.cause !== 'ratchet' || last?.cause !== 'ratchet' || last.step !== one.step;
    last = one;
    return isFirst;
  });
}

/**
 * Compares the off-steps of two that both play.
 * @param step samples of a straight step.
 */
export function offStepsApart(
  leader: readonly PlayedStroke[],
  follower: readonly PlayedStroke[],
  step: number,
): OffStepsApart {
  const differences = (isOff: boolean, within: number): readonly number[] => {
    const isWanted = (one: PlayedStroke): boolean => (one.step % 2 === 0) === isOff;
    const others = leader.filter(isWanted);
    const own = follower.filter(isWanted);
    return own.flatMap(({ sample }) => {
      const before = lastBy(others, (one) => one.sample, sample);
      const near = [others[before], others[before + 1]]
        .flatMap((one) => (one === undefined ? [] : [sample - one.sample]))
        .sort((a, b) => Math.abs(a) - Math.abs(b));
      return near[0] !== undefined && Math.abs(near[0]) < within ? [near[0]] : [];
    });
  };
  // Lateness at every step is no swing.
  const late = median(differences(false, step / 2)) || 0;
  // Swing delays an off-step by half a step at most; swing of swing by one.
  const off = differences(true, step).map((samples) => (samples - late) / USUAL_RATE);
  const apart = off.filter((seconds) => Math.abs(seconds) > APART);
  const most = apart.reduce((worst, one) => (Math.abs(one) > Math.abs(worst) ? one : worst), 0);
  return { all: off.length, apart: apart.length, most };
}

/**
 * Samples of a straight step of a rhythm that follows pulses; undefined of fewer than three pulses.
 * @param pattern the index of its pattern; by default the first of its song.
 */
export function stepOf(
  module: PatchModule,
  { noticed }: Train,
  pattern?: number,
): number | undefined {
  const [first, last] = [noticed[0], noticed.at(-1)];
  if (first === undefined || last === undefined || noticed.length < 3) return undefined;
  const { follows, song, patterns } = rhythmSettings(module.settings);
  const steps = patterns[pattern ?? song[0]?.pattern ?? -1]?.stepsPerQuarter ?? 1;
  const period = (last.start - first.start) / (noticed.length - 1);
  return period * (follows.per === 'step' ? follows.count : follows.count / steps);
}

/**
 * Compares the off-steps of a rhythm that follows a pulse a step with those pulses.
 * @param strokes its own.
 */
export function offStepsAfterPulses(
  { noticed }: Train,
  strokes: readonly PlayedStroke[],
): OffStepsApart {
  const off = strokes.flatMap(({ sample, step }) => {
    const pulse = noticed[lastBy(noticed, ({ start }) => start, sample)];
    return step % 2 === 1 || pulse === undefined ? [] : [(sample - pulse.start) / USUAL_RATE];
  });
  const apart = off.filter((seconds) => seconds > APART);
  return { all: off.length, apart: apart.length, most: largest([0, ...apart]) };
}

/** Whether pulses come by turns early and late, as those of a clock do that swings. */
export function isUneven({ noticed }: Train): boolean {
  const gaps = noticed.slice(1).map(({ start }, i) => start - (noticed[i]?.start ?? 0));
  const turns = gaps.slice(1).map((gap, i) => Math.abs(gap - (gaps[i] ?? gap)));
  return median(turns) > APART * USUAL_RATE;
}
