/** Taps from a keyboard or a pipe. */

import { createInterface } from 'node:readline';
import { InvalidArgumentError } from 'commander';
import { type Tapped, tempoOfTaps } from '../timing/taps.ts';
import { wrongRequest } from './exit.ts';
import { isTempo, TEMPO_RANGE, timeArgument } from './options.ts';

/** s; after a pause this long a new series of taps begins. */
const PAUSE = 3;
/**
 * Share of a beat. Random taps are 0.29 off, the standard deviation of an even spread; those of
 * someone who taps along about 0.05 (common practice, no source).
 */
const MOST_UNEVEN = 0.15;
const CTRL_C = '\u0003';
const CTRL_D = '\u0004';
const ESCAPE = '\u001b';
const ENDS: ReadonlySet<string> = new Set(['q', '\r', '\n', CTRL_C, CTRL_D, ESCAPE]);

/**
 * Takes taps until Enter, q or the end of the input.
 * @throws Stop for fewer than two.
 */
export async function tap(): Promise<Tapped> {
  const times = process.stdin.isTTY ? await fromKeys() : await fromLines();
  const tapped = tempoOfTaps(times);
  if (tapped === undefined)
    throw wrongRequest('--tap: at least two taps at different times are needed to find a tempo.');
  const { tempo, spread } = tapped;
  if (!isTempo(tempo))
    throw wrongRequest(
      `--tap: these taps come ${Number(tempo.toPrecision(3))} times a minute, which is not a tempo here: ${TEMPO_RANGE} was expected.`,
    );
  if (spread > MOST_UNEVEN * (60 / tempo))
    throw wrongRequest(
      `--tap: these taps are too uneven to be a tempo: they lie ${(spread * 1000).toFixed(0)} ms off a beat of ${(60_000 / tempo).toFixed(0)} ms. Tap again.`,
    );
  return tapped;
}

/** Shows the tempo as it is tapped, on standard error. */
function fromKeys(): Promise<readonly number[]> {
  const { stdin, stderr } = process;
  let times: number[] = [];
  stderr.write('Press a key in time; Enter or q ends.\n');
  stdin.setRawMode(true);
  stdin.setEncoding('utf8');
  stdin.resume();
  return new Promise((resolve) => {
    const take = (keys: string): void => {
      const now = performance.now() / 1000;
      if (ENDS.has(keys)) {
        stdin.off('data', take);
        stdin.setRawMode(false);
        stdin.pause();
        stderr.write('\n');
        resolve(times);
        return;
      }
      if (now - (times.at(-1) ?? now) > PAUSE) times = [];
      times.push(now);
      const tapped = tempoOfTaps(times);
      if (tapped !== undefined) stderr.write(`\r${described(tapped)}\u001b[K`);
    };
    stdin.on('data', take);
  });
}

/** A time on a line, in seconds or with its unit, is a tap at that time; an empty line is a tap when it arrives. */
async function fromLines(): Promise<readonly number[]> {
  const times: number[] = [];
  const lines = createInterface({ input: process.stdin });
  for await (const line of lines) {
    const now = performance.now() / 1000;
    const at = line.trim() === '' ? now : timeOf(line);
    const last = times.at(-1) ?? Number.NEGATIVE_INFINITY;
    if (at < last) throw wrongRequest(`--tap: ${line.trim()} comes before the tap at ${last} s.`);
    times.push(at);
  }
  return times;
}

function timeOf(line: string): number {
  try {
    return timeArgument()(line);
  } catch (error) {
    if (!(error instanceof InvalidArgumentError)) throw error;
    throw wrongRequest(`--tap ${line.trim()}: ${error.message} An empty line is a tap as well.`);
  }
}

/** `92.3 bpm, 12 taps, 8 ms either way`. */
export function described({ tempo, spread, taps }: Tapped): string {
  return `${tempo.toFixed(1)} bpm, ${taps} taps, ${(spread * 1000).toFixed(0)} ms either way`;
}
