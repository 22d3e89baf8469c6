/** What the result of a blind test is worth. */

/**
 * The chance that someone who only guesses is right this often or more: the upper tail of the binomial
 * distribution, sum over i >= right of C(trials, i) / 2^trials.
 * @param trials at most 50, up to which the sum is exact.
 */
export function chanceOfGuessing(right: number, trials: number): number {
  let ways = 1;
  let sum = 0;
  for (let i = trials; i >= right; i--) {
    sum += ways;
    ways = (ways * i) / (trials - i + 1);
  }
  return sum / 2 ** trials;
}

/** Says what a result shows. 5 % is the usual bound; it is a convention, not a law. */
export function verdictOf(right: number, trials: number, chance: number): string {
  const percent = 100 * chance;
  const shown =
    percent >= 99.95
      ? '100'
      : percent >= 10
        ? percent.toFixed(0)
        : percent >= 0.1
          ? percent.toFixed(1)
          : 'less than 0.1';
  const odds = `Right ${right} of ${trials} times. By guessing alone, that or better has a chance of ${shown} %.`;
  return chance <= 0.05
    ? `${odds} You told them apart.`
    : `${odds} That is no proof that you told them apart: it would take 5 % or less. It is no proof that they sound the same either.`;
}
