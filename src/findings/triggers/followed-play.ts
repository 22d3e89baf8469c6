/** What a rhythm that follows pulses plays, given the pulses that are known to reach it, as the engine plays it. */

import { USUAL_RATE } from '../../engine/usual-rate.ts';
import type { GatePulse } from '../../modules/gates.ts';
import type { JackRef, Patch, PatchModule } from '../../patch/patch.ts';
import { Following } from '../../timing/following.ts';
import type { Cause } from '../../timing/pulses.ts';
import { FOLLOWED, hasPlug, rhythmSettings } from '../../timing/rhythm.ts';
import type { SongExtent } from './span.ts';

/** A stroke of a channel, or a pulse of the clock output. */
export interface PlayedStroke {
  readonly sample: number;
  /** Of the pattern, from 1. */
  readonly step: number;
  readonly cause: Cause;
}

/** A stroke, with the index of its channel and the bar that it is in, from 1. */
export interface FollowedStroke extends PlayedStroke {
  readonly channel: number;
  readonly bar: number;
}

export interface FollowedPlay {
  readonly strokes: readonly FollowedStroke[];
  readonly clocks: readonly PlayedStroke[];
}

/** What an input has noticed. */
interface Arriving {
  readonly noticed: readonly GatePulse[];
  readonly span: SongExtent;
}

/** What happens at an input, in the order in which it counts within one sample. */
const ACTS = ['go', 'stop', 'reset', 'pulse'] as const;

interface Arrival {
  readonly sample: number;
  readonly act: (typeof ACTS)[number];
}

/**
 * Plays it; undefined where it is not known what reaches it.
 * @param sampleRate Hz, of all samples.
 */
export function followedPlay(
  module: PatchModule,
  patch: Patch,
  triggers: { readonly at: (jack: JackRef) => Arriving | undefined },
  sampleRate = USUAL_RATE,
): FollowedPlay | undefined {
  const [clock, run, reset] = FOLLOWED.map((jack) => triggers.at({ module: module.name, jack }));
  const hasRun = hasPlug(patch, module, 'run-in');
  if (clock === undefined || (hasRun && run === undefined)) return undefined;
  if (reset === undefined && hasPlug(patch, module, 'reset-in')) return undefined;
  const strokes: FollowedStroke[] = [];
  const clocks: PlayedStroke[] = [];
  const following = new Following(rhythmSettings(module.settings), {
    sampleRate,
    seed: patch.seed,
    module: module.name,
    until: clock.span.seconds,
    onStroke: ({ sample, step, bar, cause }, channel) =>
      strokes.push({ sample, step, bar, cause, channel }),
  });
  const take = (sample: number): void => {
    for (const { volts, cause, sample: at, step } of following.take(sample))
      if (cause === 'clock' && volts > 0) clocks.push({ sample: at, step, cause });
  };
  if (hasRun) following.stop(0);
  for (const { sample, act } of arrivals(clock, hasRun ? run : undefined, reset)) {
    while (following.next < sample) take(following.next);
    if (act === 'go') following.go();
    else following[act](sample);
    if (following.next <= sample) take(sample);
  }
  const end = clock.span.seconds * sampleRate;
  while (following.next < end) take(following.next);
  return { strokes: strokes.toSorted((a, b) => a.sample - b.sample), clocks };
}

function arrivals(
  clock: Arriving,
  run: Arriving | undefined,
  reset: Arriving | undefined,
): readonly Arrival[] {
  const of = (
    train: Arriving | undefined,
    act: Arrival['act'],
    at = ({ start }: GatePulse): number => start,
  ): readonly Arrival[] => train?.noticed.map((pulse) => ({ sample: at(pulse), act })) ?? [];
  const rank = ({ act }: Arrival): number => ACTS.indexOf(act);
  return [
    ...of(run, 'go'),
    ...of(run, 'stop', ({ end }) => end),
    ...of(reset, 'reset'),
    ...of(clock, 'pulse'),
  ].sort((a, b) => a.sample - b.sample || rank(a) - rank(b));
}
