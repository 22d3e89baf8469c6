/** How often a property is tried: a little in every test run, much more in `npm run search`. */

const times = Number(process.env.SEARCH ?? 1);

/** @param usual runs in an ordinary test run. */
export function runs(usual: number): { numRuns: number } {
  return { numRuns: usual * times };
}
