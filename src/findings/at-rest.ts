/**
 * The volts of a net while nothing plays, as the engine has them: the patch run for a moment with a rhythm that
 * never starts. It tells a gate that idles low from one that idles high, whatever stands in between.
 */

import type { InputLevels, NetLevels } from '../electrical/levels.ts';
import type { Net } from '../electrical/nets.ts';
import type { Prepared } from '../engine/prepared.ts';
import { BLOCK, Renderer } from '../engine/renderer.ts';
import type { JackRef } from '../patch/patch.ts';
import { unplayable } from '../patch/texts.ts';
import type { Context } from './finding.ts';

/** Hz; the lowest that the engine takes, since nothing here is heard. */
const RATE = 8000;
/** Blocks of the engine, 0.26 s: longer than a pulse or delay of usual length takes to end. */
const BLOCKS = 16;
/** V; nets that move less than this stand still. */
const STILL = 1e-3;

/**
 * Finds the resting volts of jacks.
 * @returns V for each, undefined where the voltage keeps moving, as a free-running clock's does, or
 *   where the patch cannot run because it has not exactly one output.
 */
export function voltsAtRest(of: Prepared, jacks: readonly JackRef[]): (number | undefined)[] {
  if (jacks.length === 0 || unplayable(of.patch).length > 0) return jacks.map(() => undefined);
  const renderer = new Renderer(of, {
    sampleRate: RATE,
    edgesOf: () => () => undefined,
    probes: jacks,
  });
  const low = jacks.map(() => Number.POSITIVE_INFINITY);
  const high = jacks.map(() => Number.NEGATIVE_INFINITY);
  for (let block = 0; block < BLOCKS; block++) {
    renderer.next();
    // The first half is for what has to come to rest.
    if (block < BLOCKS / 2) continue;
    renderer.probes.forEach((volts, index) => {
      for (let i = 0; i < BLOCK; i++) {
        low[index] = Math.min(low[index] as number, volts[i] as number);
        high[index] = Math.max(high[index] as number, volts[i] as number);
      }
    });
  }
  return jacks.map((_, index) => {
    const [from, to] = [low[index] as number, high[index] as number];
    return to - from < STILL ? from : undefined;
  });
}

/** An input that a rule looks at more closely: its net's levels, and its volts at rest as {@link voltsAtRest} has them. */
interface SuspectInput extends Pick<NetLevels, 'net' | 'low' | 'high'> {
  readonly jack: JackRef;
  readonly trigger: InputLevels['trigger'] | undefined;
  readonly rest: number | undefined;
}

/** The inputs of a sort, on nets of a sort. */
export function suspectsAtRest(
  { levels, prepared }: Context,
  isOn: (net: Net) => boolean,
  isOne: (input: InputLevels) => boolean,
): readonly SuspectInput[] {
  const suspects = [...levels.values()].flatMap(({ net, inputs, low, high }) =>
    (isOn(net) ? inputs.filter(isOne) : []).map(({ terminal, trigger }) => {
      const jack = { module: terminal.module.name, jack: terminal.jack.name };
      return { net, jack, trigger, low, high };
    }),
  );
  const resting = voltsAtRest(
    prepared,
    suspects.map(({ jack }) => jack),
  );
  return suspects.map((suspect, index) => ({ ...suspect, rest: resting[index] }));
}
