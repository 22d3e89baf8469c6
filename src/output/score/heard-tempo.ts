/** The tempo at which a rhythm sequencer that follows pulses was heard, to count its bars and steps by. */

import type { Happening } from '../../engine/happening.ts';
import type { RhythmSettings } from '../../timing/rhythm.ts';
import type { HeardTempo } from './time-score.ts';

/**
 * Gives the settings of a rhythm as if it went by itself at the mean rate of the pulses that it got.
 * @param heard what happened at its `clock-in`.
 * @returns the settings as they are where fewer than two pulses came.
 */
export function atHeardTempo(
  name: string,
  settings: RhythmSettings,
  heard: readonly Happening[],
): { readonly settings: RhythmSettings; readonly tempo: HeardTempo } {
  const times = heard.filter(({ edge }) => edge === 'on').map(({ time }) => time);
  const [first, last] = [times[0], times.at(-1)];
  const pulses = times.length;
  const set = { settings, tempo: { name, pulses, bpm: undefined, uneven: 0 } };
  if (first === undefined || last === undefined || pulses < 2) return set;
  const period = (last - first) / (pulses - 1);
  const uneven = times
    .slice(1)
    .reduce((most, time, i) => Math.max(most, Math.abs(time - (times[i] as number) - period)), 0);
  const { count, per } = settings.follows;
  const tempoOf = (stepsPerQuarter: number): number =>
    Number((60 / (period * count * (per === 'step' ? stepsPerQuarter : 1))).toPrecision(6));
  const patterns = settings.patterns.map((pattern) => ({
    ...pattern,
    tempo: tempoOf(pattern.stepsPerQuarter),
  }));
  const song = settings.song.map(({ tempo: _, ...entry }) => entry);
  const bpm = tempoOf(patterns[song[0]?.pattern ?? 0]?.stepsPerQuarter ?? 1);
  return {
    settings: { ...settings, tempo: bpm, patterns, song },
    tempo: { name, pulses, bpm, uneven: uneven / period },
  };
}
