/**
 * Which strokes of a recording are a ratchet's: equal strokes at even distances, quicker than sixteenths. The grace
 * strokes of drags and ruffs are as quick and as even, but softer than the stroke that they lead to, and that one is on
 * the beat or a part of it, where of a ratchet the first is.
 */

import type { LoneStroke } from './heard-hits.ts';

/** s: the nearest strokes of a ratchet, the nearest of two, which would be a flam, and the farthest. */
const NEAREST = 0.015;
const NEAREST_OF_TWO = 0.036;
const FARTHEST = 0.12;
/** How near they are at most, as a share of a sixteenth: two swung sixteenths are farther apart. */
const QUICKER = 0.72;
/** How much the distances may differ, as a ratio, and by less than this in any case, s: an onset is told to 2 ms. */
const UNEVEN = 1.25;
const PLACED = 0.005;
/**
 * dB: how much softer grace strokes are than their main stroke, and how much where nothing else tells; and by how much a ratchet's
 * strokes differ, as noise does by itself.
 */
const LOUDER = 1.5;
const SURELY_LOUDER = 4.5;
const UNLIKE = 6;
/** The most strokes of drags and ruffs. */
const MOST_OF_A_RUFF = 4;
const SIXTEENTHS = 4;
/**
 * Where the second of two sixteenths may be, and how near its neighbours, as shares of a straight one; and the fewest
 * that show it.
 */
const [EARLIEST, LATEST] = [0.85, 1.55];
const APART = 0.42;
const FEWEST = 2;
/** As a share of a sixteenth: a stroke so near a step is on it. s: grace strokes are no farther apart. */
const ON_STEP = 0.12;
const FARTHEST_GRACE = 0.036;

/**
 * Marks the strokes of ratchets.
 * @param strokes by time.
 * @param bpm quarter notes a minute.
 * @param start of the first beat, s.
 */
export function withRatchets(
  strokes: readonly LoneStroke[],
  bpm: number,
  start: number,
): readonly LoneStroke[] {
  const sixteenth = 60 / bpm / SIXTEENTHS;
  const found = [...strokes];
  const second = secondOf(strokes, sixteenth, start);
  const off = ({ time }: LoneStroke): number => {
    const at = placeIn(time, sixteenth, start);
    return Math.min(at, Math.abs(at - second), 2 - at);
  };
  for (let n = 0; n < strokes.length; ) {
    const end = endOf(strokes, n, Math.min(FARTHEST, QUICKER * sixteenth));
    const run = strokes.slice(n, end);
    const [first, last] = [run[0] as LoneStroke, run.at(-1) as LoneStroke];
    const apart = (last.time - first.time) / (run.length - 1);
    // A stroke that is nearer to a run than its strokes are to one another makes it something else.
    const around = Math.min(
      first.time - (strokes[n - 1]?.time ?? Number.NEGATIVE_INFINITY),
      (strokes[end]?.time ?? Number.POSITIVE_INFINITY) - last.time,
    );
    const isRatchet =
      run.length > 1 &&
      around > apart / UNEVEN &&
      isEqual(run, apart) &&
      (run.length > MOST_OF_A_RUFF ||
        off(first) < off(last) ||
        // What fills a step is followed by the next one as evenly.
        (off(first) < ON_STEP && (leadDb(run) < LOUDER || apart > FARTHEST_GRACE)));
    if (isRatchet)
      for (let m = n; m < end; m++) found[m] = { ...(strokes[m] as LoneStroke), apart };
    // The last of an even run may begin the next.
    n = run.length > 1 && !isRatchet ? end - 1 : end;
  }
  return found;
}

/** Index after the last stroke that follows evenly from stroke `n` on. @param longest s. */
function endOf(strokes: readonly LoneStroke[], n: number, longest: number): number {
  let [least, most] = [longest, 0];
  let end = n + 1;
  for (; end < strokes.length; end++) {
    const apart = (strokes[end] as LoneStroke).time - (strokes[end - 1] as LoneStroke).time;
    if (apart < NEAREST || apart > longest) break;
    least = Math.min(least, apart);
    most = Math.max(most, apart);
    if (most > Math.max(UNEVEN * least, least + PLACED)) break;
  }
  return end;
}

/** Whether strokes are as loud as one another, and far enough apart for as many. */
function isEqual(run: readonly LoneStroke[], apart: number): boolean {
  const spread =
    loudestOf(run) -
    run.reduce((least, one) => Math.min(least, one.peakDbfs), Number.POSITIVE_INFINITY);
  const isSurelyLed = run.length <= MOST_OF_A_RUFF && leadDb(run) >= SURELY_LOUDER;
  return spread <= UNLIKE && !isSurelyLed && (run.length > 2 || apart >= NEAREST_OF_TWO);
}

/** Where in a pair of sixteenths, in straight ones. */
function placeIn(time: number, sixteenth: number, start: number): number {
  const at = (time - start) / sixteenth;
  return at - 2 * Math.floor(at / 2);
}

/** Where the second of two sixteenths comes, by the strokes that nothing is near. */
function secondOf(strokes: readonly LoneStroke[], sixteenth: number, start: number): number {
  const places = strokes.flatMap(({ time }, n) => {
    const before = strokes[n - 1]?.time ?? Number.NEGATIVE_INFINITY;
    const after = strokes[n + 1]?.time ?? Number.POSITIVE_INFINITY;
    const at = placeIn(time, sixteenth, start);
    const isAlone = Math.min(time - before, after - time) > APART * sixteenth;
    return isAlone && at > EARLIEST && at < LATEST ? [at] : [];
  });
  places.sort((a, b) => a - b);
  return places.length < FEWEST ? 1 : (places[places.length >> 1] as number);
}

/** By how much the last is louder than the loudest before it, dB. */
function leadDb(run: readonly LoneStroke[]): number {
  return (run.at(-1)?.peakDbfs ?? 0) - loudestOf(run.slice(0, -1));
}

function loudestOf(run: readonly LoneStroke[]): number {
  return run.reduce((most, { peakDbfs }) => Math.max(most, peakDbfs), Number.NEGATIVE_INFINITY);
}
