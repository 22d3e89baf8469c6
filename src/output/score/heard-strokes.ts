/**
 * The strokes of rhythm sequencers that follow pulses: the control path is played for them, as a render plays
 * it. As for the rows of a sequencer, their time is that of the pulse that is sent: a follower answers it
 * later by the shortest pulse that it notices, which is taken off.
 */

import type { Prepared } from '../../engine/prepared.ts';
import { Renderer } from '../../engine/renderer.ts';
import { USUAL_RATE } from '../../engine/usual-rate.ts';
import type { Stroke } from '../../timing/edges.ts';
import { CLOCK_IN, isFollowing } from '../../timing/rhythm.ts';

/**
 * Plays a patch's control path.
 * @param seconds how much, from the start of the performance.
 * @returns by module the strokes of its channels, those of each in order; empty where nothing follows.
 */
export function heardStrokes(
  of: Prepared,
  seconds: number,
): ReadonlyMap<string, readonly Stroke[]> {
  const { patch } = of;
  const followers = patch.modules.filter((module) => isFollowing(patch, module));
  const heard = new Map(followers.map(({ name }) => [name, [] as Stroke[]]));
  if (followers.length === 0) return heard;
  const late = new Map(
    followers.map(({ name, jacks }) => {
      const jack = jacks.find((one) => one.name === CLOCK_IN);
      return [name, (jack?.direction === 'in' && jack.facts.trigger?.shortest) || 0];
    }),
  );
  const renderer = new Renderer(of.path, {
    sampleRate: USUAL_RATE,
    until: seconds,
    onStroke: ({ name }, pulse, channel) => {
      const by = late.get(name) ?? 0;
      const time = Math.max(0, pulse.time - by);
      const endTime = Math.max(time, pulse.endTime - by);
      heard.get(name)?.push({ ...pulse, time, endTime, channel });
    },
  });
  const frames = Math.round(seconds * USUAL_RATE);
  while (renderer.position < frames) renderer.next();
  return heard;
}
