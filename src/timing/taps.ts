/** The tempo of someone who taps along. */

export interface Tapped {
  /** Taps a minute. */
  readonly tempo: number;
  /** How far the taps lie from an even beat: standard deviation, s. */
  readonly spread: number;
  readonly taps: number;
}

/**
 * Finds the even beat nearest to taps: the line of least squares through their times. A tap that was left out
 * is taken for a rest, not for a slower beat. Source: linear regression, textbooks of statistics.
 * @param times s, in order.
 * @returns undefined for fewer than two taps, and for taps at one time.
 */
export function tempoOfTaps(times: readonly number[]): Tapped | undefined {
  const gaps = times.slice(1).map((time, index) => time - (times[index] as number));
  const typical = gaps.toSorted((a, b) => a - b)[Math.floor((gaps.length - 1) / 2)];
  if (typical === undefined || !(typical > 0)) return undefined;
  let beat = 0;
  const beats = [0, ...gaps.map((gap) => (beat += Math.max(1, Math.round(gap / typical))))];
  const count = times.length;
  const mean = (values: readonly number[]): number =>
    values.reduce((sum, value) => sum + value, 0) / count;
  const [middleBeat, middleTime] = [mean(beats), mean(times)];
  let product = 0;
  let square = 0;
  beats.forEach((each, index) => {
    product += (each - middleBeat) * ((times[index] as number) - middleTime);
    square += (each - middleBeat) * (each - middleBeat);
  });
  const period = product / square;
  const errors = beats.map((each, index) => {
    const error = (times[index] as number) - middleTime - period * (each - middleBeat);
    return error * error;
  });
  return { tempo: 60 / period, spread: Math.sqrt(mean(errors)), taps: count };
}
