/** Taps from a keyboard or a pipe. */

import { createInterface } from 'node:readline';
import { type Tapped, tempoOfTaps } from '../../timing/taps.ts';
import { wrongRequest } from '../exit.ts';

/** s; after a pause this long someone starts anew. */
const PAUSE = 3;
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
    throw wrongRequest('--tap: two taps at least are needed, at different times, to know a tempo.');
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

/** A number on a line is a time in seconds; any other line is a tap when it comes. */
async function fromLines(): Promise<readonly number[]> {
  const times: number[] = [];
  const lines = createInterface({ input: process.stdin });
  for await (const line of lines) {
    const now = performance.now() / 1000;
    const time = line.trim() === '' ? now : Number(line);
    const last = times.at(-1) ?? Number.NEGATIVE_INFINITY;
    const at = Number.isFinite(time) ? time : now;
    if (at < last) throw wrongRequest(`--tap: ${line.trim()} comes before the tap at ${last} s.`);
    times.push(at);
  }
  return times;
}

/** `92.3 bpm, 12 taps, 8 ms either way`. */
export function described({ tempo, spread, taps }: Tapped): string {
  return `${tempo.toFixed(1)} bpm, ${taps} taps, ${(spread * 1000).toFixed(0)} ms either way`;
}
