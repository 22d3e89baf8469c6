/** The accessibility rules of axe-core, WCAG 2.2 A and AA among them, tested on an open page. */

import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { Page } from 'playwright-core';
import { expect } from 'vitest';

const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const RULES = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];

/**
 * Expects a page to keep the rules. Its own policy must let the checker in (`bypassCSP`).
 * @param within a selector of the part to check, where the rest has been checked.
 */
export async function expectAccessible(page: Page, within = 'html'): Promise<void> {
  await page.evaluate(AXE);
  // A control that the strip half covers after a jump counts as too small to be hit.
  await page.evaluate('scrollTo(0, 0)');
  // Only the words of violations leave the page: a list of all that passes is megabytes.
  const { broken, kept } = (await page.evaluate(
    `axe.run(${JSON.stringify(within)}, { runOnly: ${JSON.stringify(RULES)}, resultTypes: ['violations'] })
      .then(({ violations, passes }) => ({
        broken: violations.map(({ id, nodes }) => id + ': ' + nodes[0]?.html.slice(0, 200)),
        kept: passes.map(({ id }) => id),
      }))`,
  )) as { broken: string[]; kept: string[] };
  expect(broken).toEqual([]);
  // It did check something, colours too.
  expect(kept).toContain('color-contrast');
}
