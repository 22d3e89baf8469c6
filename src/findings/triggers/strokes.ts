/** Strokes that were meant for an input, and the pulses that came of them. */

import type { GatePulse } from '../../modules/gates.ts';
import type { WrittenStroke } from './played.ts';
import { lastBy } from './pulses.ts';

export interface MatchedStroke extends WrittenStroke {
  /** Index into `pulses` of the pulse that starts with it. */
  readonly pulse: number | undefined;
  /** Whether it has none because an earlier pulse was still on. */
  readonly merged: boolean;
  /** Whether it is the second or a later stroke of a flam or a ratchet. */
  readonly tight: boolean;
  /** Samples since the stroke before; Infinity for the first. */
  readonly since: number;
}

/** s after a stroke in which its pulse may start: what comparators in a row may take, and more. */
const SLACK = 0.002;
/** s; strokes of two channels this close together sound as one and need one trigger. */
const TOGETHER = 0.01;

/**
 * Finds which strokes have a pulse of their own.
 * @param onsets in order.
 * @param end s; strokes so near to it that their pulse may come after it are left out.
 * @param sampleRate Hz, of onsets and pulses.
 */
export function pulsedStrokes(
  onsets: readonly WrittenStroke[],
  pulses: readonly GatePulse[],
  end: number,
  sampleRate: number,
): MatchedStroke[] {
  const strokes: MatchedStroke[] = [];
  const [slack, together] = [SLACK * sampleRate, TOGETHER * sampleRate];
  const lastOf = new Map<string, WrittenStroke>();
  for (const onset of onsets) {
    const { sample, source } = onset;
    if (sample + slack >= end * sampleRate) break;
    const last = lastBy(pulses, ({ start }) => start, sample + slack);
    const pulse = pulses[last];
    const answers = pulse !== undefined && pulse.start >= sample;
    const before = strokes.at(-1);
    const since = before === undefined ? Number.POSITIVE_INFINITY : sample - before.sample;
    const isOn = pulse !== undefined && pulse.end >= sample;
    const soundsAsOne = before !== undefined && before.source !== source && since < together;
    strokes.push({
      ...onset,
      pulse: answers ? last : undefined,
      merged: !answers && isOn && !soundsAsOne,
      tight: isTight(lastOf.get(source), onset),
      since,
    });
    lastOf.set(source, onset);
  }
  return strokes;
}

/** Whether a stroke belongs with the one of its channel before it. */
function isTight(before: WrittenStroke | undefined, stroke: WrittenStroke): boolean {
  if (before === undefined) return false;
  if (before.cause === 'grace') return true;
  const together = before.bar === stroke.bar && before.step === stroke.step;
  return together && before.cause === 'ratchet' && stroke.cause === 'ratchet';
}
