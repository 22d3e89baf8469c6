/**
 * How often a property is tried, and with which seed.
 *
 * An ordinary run tries the same cases every time, so that the same sources give the same result; `npm
 * run search` tries many more, different ones each time. Vitest loads this file before every test file.
 */

import fc from 'fast-check';
import './same-samples.ts';

const times = Number(process.env.SEARCH ?? 1);

if (times === 1) fc.configureGlobal({ seed: 1 });
else fc.configureGlobal({ numRuns: 100 * times });

/**
 * @param usual runs in an ordinary test run.
 * @param least runs in a search, where the usual ones times the search's factor are fewer.
 */
export function runs(usual: number, least = 0): { numRuns: number } {
  return { numRuns: times === 1 ? usual : Math.max(usual * times, least) };
}
