// What a patch's author may write, with or without bad intentions: sixty modules in no part, names of
// forty letters, lines of 64 steps, titles from right to left, and texts that would be markup, script or
// controls. The built page is looked at, on a screen, on a phone and on paper. A file that is broken,
// gone or replaced is in `states.test.ts`.

import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { scratch } from '../cli/run.ts';
import { printedPages } from '../pdf.ts';
import { browsing, handOut, inPage, settled } from './browser.ts';

const { visit } = browsing();

const VOICES = 14;
/** A name of forty letters. */
const long = (start: string): string =>
  `${start}-abcdefghijklmnopqrstuvwxyzabcdefghijklm`.slice(0, 40);
const PATTERN = long('sixty-four-steps');

/** Fourteen voices of four modules, two mixers and what belongs to them, none in a part. */
function large(): string {
  const voices = Array.from({ length: VOICES }, (_, index) => {
    const name = (what: string): string => (index === 0 ? long(what) : `${what}${index}`);
    return {
      channel: name('hit'),
      hiss: name('hiss'),
      bright: name('bright'),
      shape: name('shape'),
      level: name('level'),
    };
  });
  const modules = voices.flatMap(({ hiss, bright, shape, level }) => [
    `  ${hiss}: { kind: noise }`,
    `  ${bright}: { kind: filter }`,
    `  ${shape}: { kind: envelope, mode: trigger, decay: 80 ms }`,
    `  ${level}: { kind: amplifier }`,
  ]);
  const cables = voices.flatMap(({ channel, hiss, bright, shape, level }, index) => [
    `  - drums.${channel} -> ${shape}.trigger`,
    `  - ${shape}.out -> ${level}.control`,
    `  - ${hiss}.white -> ${bright}.in`,
    `  - ${bright}.low -> ${level}.in`,
    `  - ${level}.out -> mix${Math.floor(index / 8)}.in-${(index % 8) + 1}`,
  ]);
  const lines = voices.map(
    ({ channel }) => `        ${channel}: "${'x---x-x-x-?-x-f-'.repeat(4)}"`,
  );
  return `title: Sixty modules
modules:
  drums:
    kind: rhythm
    tempo: 120 bpm
    channels: [${voices.map(({ channel }) => channel).join(', ')}]
    patterns:
      ${PATTERN}:
        length: 64
${lines.join('\n')}
    song: [${PATTERN}]
${modules.join('\n')}
  mix0: { kind: mixer }
  mix1: { kind: mixer }
  both: { kind: mixer }
  out: { kind: output }
cables:
${cables.join('\n')}
  - mix0.out -> both.in-1
  - mix1.out -> both.in-2
  - both.out -> out.left
`;
}

/** A hat whose title, words and seed are this. */
function worded(words: string): string {
  const text = JSON.stringify(words);
  return `title: ${text}
about: ${text}
seed: ${text}
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [hat], patterns: { groove: { hat: "x-x- x-x-" } }, song: [groove] }
  hiss: { kind: noise }
  shape: { kind: envelope, mode: trigger, decay: 80 ms }
  level: { kind: amplifier }
  out: { kind: output }
cables: [drums.hat -> shape.trigger, shape.out -> level.control, hiss.white -> level.in, level.out -> out.left]
`;
}

/** The hand-out of a patch, once its engine has drawn all. */
async function opened(text: string, width = 1280): Promise<Page> {
  const folder = scratch();
  writeFileSync(join(folder, 'bad.yaml'), text);
  const { page } = await visit(handOut(folder, 'bad'), {
    viewport: { width, height: 800 },
  });
  await settled(page);
  await page.locator('[data-island=sound] .drawing').first().waitFor();
  await page.locator('[data-island=score] .timed').first().waitFor();
  return page;
}

/** What is cut off at the right without a way to scroll there. */
const CUT = `[...document.querySelectorAll('body *')].filter((one) => {
  const { right, width } = one.getBoundingClientRect();
  if (width === 0 || right <= innerWidth + 1 || one.closest('svg, .unseen')) return false;
  for (let up = one.parentElement; up; up = up.parentElement)
    if (['auto', 'scroll', 'hidden', 'clip'].includes(getComputedStyle(up).overflowX)) return false;
  return true;
}).map((one) => one.outerHTML.slice(0, 120))`;

/** Words of a diagram that reach out of the box of their block. */
const OUT_OF_BOX = `[...document.querySelectorAll('[data-island=diagram] g[id]')].flatMap((drawing) => {
  let box;
  return [...drawing.children].flatMap((one) => {
    if (one.localName === 'rect' && one.getAttribute('fill') === 'var(--paper)') box = one.getBoundingClientRect();
    // The legend comes after all blocks.
    if (one.localName === 'path') box = undefined;
    const words = one.localName === 'text' ? one : one.querySelector('text');
    if (box === undefined || words === null) return [];
    const { left, right } = words.getBoundingClientRect();
    return left < box.left - 1 || right > box.right + 1 ? [words.textContent] : [];
  });
})`;

describe('sixty modules in no part, names of forty letters, lines of 64 steps', () => {
  it('are all on the page, none wider than it, and on paper', async () => {
    const page = await opened(large());
    expect(await inPage(page, 'document.documentElement.scrollWidth')).toBe(1280);
    expect(await inPage(page, CUT)).toEqual([]);
    expect(await page.locator('.module').count()).toBe(4 * VOICES + 5);
    expect(await page.locator('[data-row="0"][data-step="63"]').count()).toBe(1);
    // Every name is within the box that it stands in.
    const out = await inPage<string[]>(page, OUT_OF_BOX);
    expect(out).toEqual([]);
    await page.setViewportSize({ width: 390, height: 800 });
    expect(await inPage(page, 'document.documentElement.scrollWidth')).toBe(390);
    expect(await inPage(page, CUT)).toEqual([]);
    const pages = printedPages(await page.pdf({ preferCSSPageSize: true, format: 'A4' }));
    const letters = pages.map((one) => one.letters).join('');
    for (const name of [long('hit'), long('shape'), PATTERN, 'level13'])
      expect(letters).toContain(name.replaceAll('fi', 'ﬁ'));
    // Nothing is so wide that all of the paper is shrunk for it: a running title has 8 pt.
    const title = pages[1]?.texts[0];
    expect(title?.size).toBeGreaterThan(7.9);
    await page.close();
  });
});

describe('a title', () => {
  it.each([
    ['from right to left', 'طبل صغير للتجربة الأولى'],
    ['in other scripts and signs', '手太鼓の一番 \u{1F941} Ünïçødé Ζωή हिन्दी'],
  ])('%s is shown as it is', async (_, words) => {
    const page = await opened(worded(words), 390);
    expect(await page.title()).toBe(`${words}: patch sheet`);
    expect(await page.locator('h1').textContent()).toBe(words);
    expect(await inPage(page, 'document.documentElement.scrollWidth')).toBe(390);
    await page.close();
  });
});

const MARKUP =
  '<img src=x onerror="globalThis.hit=1"></script><script>globalThis.hit=2</script>"); } * { display: none } /* {{hit}} &amp; %s';

describe('a hostile text', () => {
  it('stays a text, without what would turn, hide or end others', async () => {
    const controls = ['\u202E', '\u2066', '\u0000', '\u0007', '\u001B'];
    const words = `${MARKUP} ${controls.join('evil')}`;
    const page = await opened(worded(words));
    const shown = `${MARKUP} ${controls.map(() => '\uFFFD').join('evil')}`;
    expect(await page.locator('h1').textContent()).toBe(shown);
    expect(await inPage(page, 'globalThis.hit')).toBeUndefined();
    expect(await page.locator('h1 *, .about img, .about script').count()).toBe(0);
    // The style says the title for paper: it is a text there too, and turns nothing.
    const styles = await page.locator('style').allTextContents();
    expect(styles.join('')).not.toMatch(/\\20[0-9a-f]{2} |\\206[0-9a-f] |\\feff /);
    const [first] = printedPages(await page.pdf({ preferCSSPageSize: true, format: 'A4' }));
    const running = first?.letters.slice(0, 200) ?? '';
    expect(running).toContain('<imgsrc=xonerror="globalThis.hit=1">');
    expect(running).not.toContain('live');
    await page.close();
  });
});
