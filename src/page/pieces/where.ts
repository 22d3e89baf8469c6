/** Places in the loop, in words. */

/** A loop's length and bars, to give places in it in words. */
export interface LoopRuler {
  /** s at which its bars start; none where they are not known. */
  readonly bars: readonly number[];
  readonly frames: number;
  readonly sampleRate: number;
}

/** As `bar 2, 3.41 s`. @param share of the loop, 0 to 1. */
export function whereWords(share: number, { bars, frames, sampleRate }: LoopRuler): string {
  const seconds = (share * frames) / sampleRate;
  const bar = bars.filter((time) => time <= seconds + 1e-9 && time < frames / sampleRate).length;
  return `${bar > 0 ? `bar ${bar}, ` : ''}${seconds.toFixed(2)} s`;
}

/** Shares of the loop at which its bars begin, and its end. */
export function barShares({ bars, frames, sampleRate }: LoopRuler): readonly number[] {
  const starts = bars.map((time) => (time * sampleRate) / frames);
  // A bar that begins as the loop ends is its first bar again.
  return [...starts.filter((start) => start < 1 - 1e-6), 1];
}

/** The share at which the last beat began; a beat is a quarter of a bar. */
export function beatBefore(share: number, loop: LoopRuler | undefined): number {
  if (loop === undefined) return 0;
  const shares = barShares(loop);
  const index = shares.findLastIndex((start) => start <= share);
  const start = shares[index] ?? 0;
  const beat = ((shares[index + 1] ?? 1) - start) / 4;
  // A tiny margin, so that the start of a beat is not taken for the beat before it.
  return beat > 0 ? start + Math.floor((share - start) / beat + 1e-9) * beat : start;
}

/** As `−23.1 dB`. */
export function decibels(value: number, digits = 1): string {
  const text = Math.abs(value).toFixed(digits);
  return `${value < 0 && Number(text) !== 0 ? '−' : ''}${text} dB`;
}
