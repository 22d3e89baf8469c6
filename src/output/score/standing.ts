/** What a score counts: how inputs answer, where followers stand, when lengths meet again. */

import type { TriggerJack } from '../../engine/control-path.ts';
import { followerLength } from '../../engine/followers.ts';
import type { Happening } from '../../engine/happening.ts';
import { leastCommonMultiple } from '../../modules/dsp/extremes.ts';
import { jackName, type PatchModule } from '../../patch/patch.ts';
import { toNumber } from '../../timing/fixed.ts';
import type { RhythmSettings } from '../../timing/rhythm.ts';
import { songOf } from '../../timing/song.ts';
import type { ByJack } from './lanes.ts';
import type { Bar, InputAnswer, Meeting, Standing } from './time-score.ts';

/** s; sums of times are off by less. */
export const SLACK = 1e-9;

/** Says what a trigger input notices of what is sent. */
export function answerOf(
  { module, jack, origins, counted }: TriggerJack,
  byJack: ByJack,
): InputAnswer {
  const name = jackName({ module: module.name, jack: jack.name });
  const noticed = (byJack.get(name) ?? []).filter(({ edge }) => edge === 'on');
  const latencies = noticed.flatMap(({ latency }) => latency ?? []);
  const sent = [...origins].reduce(
    (sum, origin) => sum + (byJack.get(origin) ?? []).filter(({ edge }) => edge === 'rise').length,
    0,
  );
  return {
    jack: name,
    origins: [...origins],
    noticed: noticed.length,
    sent: counted || origins.size === 0 ? undefined : sent,
    latency:
      latencies.length === 0
        ? undefined
        : {
            least: latencies.reduce((a, b) => Math.min(a, b)),
            most: latencies.reduce((a, b) => Math.max(a, b)),
          },
  };
}

/** Says where a follower stands at every bar, and when it stands as at the start. */
export function standingOf(
  module: PatchModule,
  settings: RhythmSettings,
  wholeBars: readonly Bar[],
  byJack: ByJack,
  { sampleRate, seconds }: { sampleRate: number; seconds: number },
): Standing {
  const length = followerLength(module) as number;
  const all = byJack.get(`${module.name}.clock`) ?? [];
  const steps = all.filter(({ edge }) => edge === 'step');
  const resets = (byJack.get(`${module.name}.reset`) ?? []).filter(({ edge }) => edge === 'on');
  const sampleOf = (time: number): number => Math.round(time * sampleRate);
  const atBars = wholeBars.map(({ number, start, end }) => ({
    bar: number,
    position: steps.find(({ sample }) => sample >= sampleOf(start) && sample < sampleOf(end))
      ?.position,
  }));
  const song = songOf(settings, 1);
  const from = sampleOf(toNumber(song.duration - song.pass));
  const to = sampleOf(toNumber(song.duration));
  const inPass = ({ sample }: Happening): boolean => sample >= from && sample < to;
  const complete = song.pass > 0n && to <= sampleOf(seconds);
  const clocks = complete ? steps.filter(inPass).length : undefined;
  const resetting = resets.filter(inPass).length;
  const passes =
    clocks === undefined || clocks === 0 || resetting > 0
      ? undefined
      : leastCommonMultiple([clocks, length]) / clocks;
  return {
    name: module.name,
    length,
    atBars,
    clocks,
    resets: resetting,
    meets:
      passes === undefined
        ? undefined
        : { passes, bars: (passes * Number(song.parts)) / Number(song.partsPerBar) },
  };
}

/** Finds the patterns with lines that drift against them. */
export function meetingsOf({
  patterns,
  song,
  channels,
  'beats-per-bar': beats,
}: RhythmSettings): Meeting[] {
  return patterns.flatMap(({ name, length, lines, stepsPerQuarter }, index): Meeting[] => {
    const odd = lines.filter(({ steps }) => steps.length < length && length % steps.length !== 0);
    if (odd.length === 0 || !song.some(({ pattern }) => pattern === index)) return [];
    const steps = leastCommonMultiple([length, ...odd.map((line) => line.steps.length)]);
    return [
      {
        pattern: name,
        lines: odd.map((line) => ({
          channel: channels[line.channel]?.name ?? '',
          steps: line.steps.length,
        })),
        length,
        steps,
        bars: steps / (stepsPerQuarter * beats),
      },
    ];
  });
}
