// The built hand-out as it is printed, once its scripts run: nobody can press a button on
// paper, so it must show all of the patch, as the page without scripts does.

import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { surveyOf } from '../../src/findings/survey.ts';
import { blanksOf } from '../../src/findings/survey-blanks.ts';
import { KINDS } from '../../src/modules/kinds.ts';
import { surveyPage } from '../../src/output/sheet/survey-page.ts';
import type { Patch } from '../../src/patch/patch.ts';
import { readPatch } from '../../src/patch/read.ts';
import { scratch } from '../cli/run.ts';
import { fromPage, patchFiles } from '../output/handout.ts';
import { printedPages } from '../pdf.ts';
import { browsing, handOut, handOutOf } from './browser.ts';

const PATCH = `title: All that a rhythm has
seed: '"b  c'
rack: cabinet.yaml
modules:
  drums:
    kind: rhythm
    tempo: 92 bpm
    swing: 58 %
    gate: 12.5 ms
    channels: [hat, kick, a-rather-long-channel-name]
    notes: { hat: 42, kick: 36 }
    patterns:
      groove:
        hat: { steps: "x-?- x-xX | x-f- x-4-", chance: 70%, flam: 22 ms, gate: 50 %, at: { 11: { flam: 12 ms }, 3: { chance: 20 % } } }
        kick: "X--- x---"
        a-rather-long-channel-name: "----"
      long:
        from: groove
        tempo: 96 bpm
        length: 64
        a-rather-long-channel-name: { steps: "xxxxxxxx-xxxxxxx-xxxxxxx-xxxxxxx-xxxxxxx-xxxxxxx-xxxxxxx-xxxxxxx", swing: 60 %, at: { 1: { gate: 10 ms }, 3: { gate: 10 ms } } }
      triplets: { from: groove, steps-per-quarter: 3, clock: 2 per quarter, hat: "X-x x-x" }
    song: [groove, { pattern: triplets, repeats: 2, tempo: 100 bpm, swing: 50 % }, { pattern: long, chance: 10 % }]
  walk: { kind: step-sequencer, rows: { a: [C2, Eb2, 0.3 V] }, gates: "x-x" }
  shape: { kind: envelope, unit: shaper, attack: 0.4 ms, decay: dial 3.45, release: 16 ms tau }
  hiss: { kind: noise }
  split: { kind: multiple }
  ring: { kind: ring }
  vca: { kind: amplifier }
  out: { kind: output }
cables:
  - drums.hat -> shape.trigger
  - drums.clock -> walk.clock
  - shape.out -> vca.control
  - hiss.white -> vca.in
  - vca.out -> out.left
`;
const RACK = `title: A small cabinet
units:
  shaper:
    kind: envelope
    fixed: { sustain: 0 %, peak: 4800 mV }
    dials: { decay: { 0: 2 ms, 5: 120 ms, 10: 10 s }, attack: { 0: 0.1 ms, 10: 2 s } }
`;

const { plainPage } = browsing();

function read(text: string): Patch {
  const { patch, problems } = readPatch(text, {
    file: 'all.yaml',
    kinds: KINDS,
    loadRack: () => RACK,
  });
  if (patch === undefined) throw new Error(`${problems.map(({ message }) => message)}\n${text}`);
  return patch;
}

describe('the printed page of a hand-out', () => {
  it('tells all of the patch, and is not wider than the paper', async () => {
    const folder = scratch();
    writeFileSync(join(folder, 'all.yaml'), PATCH);
    writeFileSync(join(folder, 'cabinet.yaml'), RACK);
    const url = handOut(folder, 'all');
    // A4 between its margins: 210 mm less twice 12 mm, at the 96 px to an inch of CSS.
    const width = Math.floor((186 / 25.4) * 96);
    const page = await plainPage({ viewport: { width, height: 1000 } });
    await page.goto(url);
    await page.locator('.pattern table').first().waitFor();
    await page.emulateMedia({ media: 'print' });
    await page.locator('.paper .turned li').first().waitFor();
    const wide = await page.evaluate('document.documentElement.scrollWidth');
    expect(wide).toBeLessThanOrEqual(width);
    const texts = patchFiles(fromPage(await page.content()));
    const [patch, again] = [read(PATCH), read(texts.get('rebuilt.yaml') as string)];
    expect(again).toMatchObject({ seed: patch.seed });
    const settings = ({ modules }: Patch): object =>
      Object.fromEntries(modules.map((module) => [module.name, module.settings]));
    expect(settings(again)).toEqual(settings(patch));
    const units = ({ modules }: Patch): unknown[] => modules.map(({ unit }) => unit?.name);
    expect(units(again)).toEqual(units(patch));
    const cables = (one: Patch): string[] =>
      one.cables
        .map(({ from, to }) => `${from.module}.${from.jack} ${to.module}.${to.jack}`)
        .sort();
    expect(cables(again)).toEqual(cables(patch));
  });
});

/** pt: the least that small print is set in, common practice, no source; less a hair for rounding. */
const SMALLEST = 7 - 0.01;
/** pt: a section's heading is larger than all else on its page but the title. */
const HEADING = 11.5;
/** pt from the page's foot, in which its number stands. */
const FOOT = 36;

describe('the paper', () => {
  it.each([
    // So many pages are what a patch of ten modules, and one of 118 in eight voices, may take.
    ['closed-hat', 'Closed hat, first idea', 2],
    ['kit-of-eight', 'Kit of eight', 10],
  ])('of %s is readable and short', async (name, title, most) => {
    const page = await plainPage({ viewport: { width: 1280, height: 800 } });
    await page.goto(handOutOf(name));
    // What stands there first, for the whole patch, and what the engine draws of what plays.
    const early = printedPages(await page.pdf({ preferCSSPageSize: true, format: 'A4' }));
    // Its charts have a line and a legend for each voice, so that a kit takes a page more until then.
    expect(early.length).toBeLessThanOrEqual(most + 1);
    await page.locator('[data-island=score] .timed').first().waitFor();
    await page.locator('[data-island=sound] .drawing').first().waitFor();
    await page.locator('.pattern table').first().waitFor();
    await page.locator('.paper .turned li').first().waitFor({ state: 'attached' });
    // What the voices' buttons say are names, which paper has too.
    const buttons = await page.locator(':not([data-island=voices] *) > button').allTextContents();
    const pages = printedPages(await page.pdf({ preferCSSPageSize: true, format: 'A4' }));
    expect(pages.length).toBeLessThanOrEqual(most);
    // What harms is told before the first plug goes in.
    expect(pages[0]?.letters).toContain('Careforpeopleandgear');
    await page.emulateMedia({ media: 'print' });
    const columns = (await page.evaluate(`[...document.querySelectorAll('.cables tbody tr')].map(
      (row) => Math.round(row.children[3].getBoundingClientRect().left - row.getBoundingClientRect().left),
    )`)) as number[];
    // Cables of several voices are tables of their own, and one list to the eye.
    expect(new Set(columns).size).toBe(1);
    pages.forEach(({ texts, letters }, index) => {
      expect(letters).toContain(`${title.replace(/\s/g, '').replaceAll('fi', 'ﬁ')}:patchsheet`);
      expect(letters).toContain(`${index + 1}of${pages.length}`);
      const seen = texts.filter(({ words }) => words.trim() !== '');
      const small = seen.filter(({ size }) => size < SMALLEST).map(({ words }) => words);
      expect(small.join('')).toBe('');
      // Nothing that asks for a hand.
      for (const words of buttons.map((one) => one.replace(/\s/g, '')))
        if (words.length >= 6) expect(letters).not.toContain(words);
      // A heading stands over something of its section.
      const body = seen.filter(({ height }) => height > FOOT);
      for (const { size, height, words } of body)
        if (size > HEADING)
          expect(
            body.some((one) => one.size < HEADING && one.height < height - size),
            `${words} at the foot of page ${index + 1}`,
          ).toBe(true);
    });
  });
});

describe('the form of a survey', () => {
  it('has room to write, whole borders and whole quantities, however long the names are', async () => {
    const long = 'a-rather-long-name-for-the-first-rhythm';
    const text = PATCH.replaceAll('drums', long)
      .replaceAll('shape', 'an-envelope-with-a-name-as-long')
      .replace('rack: cabinet.yaml\n', '')
      .replace(', unit: an-envelope-with-a-name-as-longr', '')
      .replace('decay: dial 3.45', 'decay: 40 ms');
    const patch = read(text);
    const blanks = blanksOf(patch);
    expect(blanks.length).toBeGreaterThan(2);
    const file = join(scratch(), 'survey.html');
    writeFileSync(file, surveyPage('Survey', surveyOf(patch), blanks, []));
    const page = await plainPage({
      viewport: { width: Math.floor((186 / 25.4) * 96), height: 1000 },
    });
    await page.goto(`file://${file}`);
    const pages = printedPages(await page.pdf({ preferCSSPageSize: true, format: 'A4' }));
    const seen = pages.flatMap(({ texts }) => texts.filter(({ words }) => words.trim() !== ''));
    expect(seen.filter(({ size }) => size < SMALLEST)).toEqual([]);
    // The second table begins under its heading, and goes on overleaf.
    const under = pages.find(({ letters }) => letters.includes('Worthknowing'));
    expect(under?.letters).toContain('Found,+-howmuch');
    await page.emulateMedia({ media: 'print' });
    const laid = (await page.evaluate(`(() => {
      const edge = document.querySelector('main').getBoundingClientRect().right;
      const facts = [...document.querySelectorAll('table.facts tbody tr')];
      return {
        // Half of a border lies outside its table.
        inside: [...document.querySelectorAll('table.form')].map(
          (table) => edge - table.getBoundingClientRect().right,
        ),
        room: facts.map((row) => row.querySelector('.room').getBoundingClientRect().width),
        // A quantity on one line is as high as one line.
        lines: facts.map((row) => {
          const range = document.createRange();
          range.selectNodeContents(row.children[2]);
          return range.getClientRects().length;
        }),
      };
    })()`)) as { inside: number[]; room: number[]; lines: number[] };
    expect(Math.min(...laid.inside)).toBeGreaterThanOrEqual(1);
    // Common practice, no source: a value with its unit and its doubt takes 30 mm of handwriting.
    expect(Math.min(...laid.room)).toBeGreaterThan((30 / 25.4) * 96);
    expect(new Set(laid.lines)).toEqual(new Set([1]));
  });
});
