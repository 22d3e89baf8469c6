/** The music of a recording: all its hits on one line, in bars of four quarters from the first on. */

import type { Music, Section, Stroke } from './music.ts';
import { TabError } from './transcribe.ts';

export interface HeardHit {
  /** s. */
  readonly time: number;
  readonly peakDbfs: number;
}

/** dB over and under the middle of all hits. By experience, no source. */
const ACCENT = 2.5;
const GHOST = -8;
const BAR = 4;
const SIXTEENTHS = 4;
const MOST_BARS = 20_000;
/** Quarter notes: half a sixteenth and less is a hit that is a little off. */
const NEAR = 0.08;

/**
 * @param hits by time.
 * @param bpm quarter notes a minute.
 * @throws TabError where there are no hits, or too many bars.
 */
export function hitsMusic(hits: readonly HeardHit[], bpm: number): Music {
  const [first] = hits;
  if (first === undefined) throw new TabError('no hits were found in it.');
  const levels = hits.map(({ peakDbfs }) => peakDbfs).sort((a, b) => a - b);
  const middle = levels[levels.length >> 1] as number;
  const early = startOf(hits, bpm);
  const strokes = hits.map(({ time, peakDbfs }): Stroke => {
    const soft = peakDbfs <= middle + GHOST ? 'ghost' : 'plain';
    return {
      at: ((time - first.time) * bpm) / 60 - early,
      line: 0,
      strength: peakDbfs >= middle + ACCENT ? 'accent' : soft,
      loudness: 10 ** (peakDbfs / 20),
    };
  });
  const last = (strokes.at(-1) as Stroke).at;
  const bars = Math.floor((last + NEAR) / BAR) + 1;
  if (bars > MOST_BARS) throw new TabError(`it has ${bars} bars, more than ${MOST_BARS}.`);
  const sections = Array.from({ length: bars }, (_, bar): Section => {
    const start = BAR * bar;
    return { start, end: start + BAR, bpm, bar: bar + 1, within: 0 };
  });
  return { lines: [{ name: 'hit' }], strokes, sections, beatsPerBar: BAR, remarks: [] };
}

/** By how much the grid is later than the first hit, so that the hits near it lie around it. */
function startOf(hits: readonly HeardHit[], bpm: number): number {
  const [first] = hits;
  const off = hits.flatMap(({ time }) => {
    const at = ((time - (first?.time ?? 0)) * bpm) / 60;
    const late = at - Math.round(at * SIXTEENTHS) / SIXTEENTHS;
    return Math.abs(late) < NEAR / 2 ? [late] : [];
  });
  off.sort((a, b) => a - b);
  return off[off.length >> 1] ?? 0;
}
