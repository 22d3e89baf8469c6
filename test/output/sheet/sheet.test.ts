// The sheet: its lists against the patch's file, its dials against their closed form, its clip against
// a render, its pages against what HTML and Markdown allow.

import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { Prepared } from '../../../src/engine/prepared.ts';
import { listenerFor } from '../../../src/findings/context.ts';
import { outsetOf } from '../../../src/findings/outset.ts';
import { renderClip } from '../../../src/output/clip.ts';
import { cableList } from '../../../src/output/sheet/cables.ts';
import { rhythmSheets } from '../../../src/output/sheet/patterns.ts';
import { moduleSettings } from '../../../src/output/sheet/settings.ts';
import { sheetOf } from '../../../src/output/sheet/sheet.ts';
import { sheetMarkdown } from '../../../src/output/sheet/sheet-markdown.ts';
import { sheetPage } from '../../../src/output/sheet/sheet-page.ts';
import { playForSheet } from '../../../src/output/sheet/sound.ts';
import { jackName, type Patch } from '../../../src/patch/patch.ts';
import { scratch } from '../../cli/run.ts';
import { patchFrom } from '../../patch-of.ts';
import { example, HOSTILE, hostilePatch } from '../sheet-patches.ts';

const LENGTH = { unit: 'bars', value: 1 } as const;
const NAMES = ['closed-hat', 'bass-line', 'two-bar-kit', 'kit-of-eight'];

function listed(patch: Patch): (readonly [string, string[]])[] {
  return cableList(patch).map(({ title, cables }) => [
    title,
    cables.map(({ from, to }) => `${jackName(from)} ${jackName(to)}`),
  ]);
}

describe('cableList', () => {
  it('follows the control path, then the sound, by hand in the closed hat', () => {
    expect(listed(example('closed-hat'))).toEqual([
      [
        'Control path',
        [
          'drums.hat adapt.voltage-in',
          'adapt.switch-out shape.trigger',
          'shape.out level.control',
          'drums.hat-accent accent.in',
          'accent.out touch.control',
        ],
      ],
      [
        'Sound',
        [
          'hiss.white bright.in',
          'bright.high soft.in',
          'soft.low level.in',
          'level.out touch.in',
          'touch.out out.left',
        ],
      ],
    ]);
  });

  it('puts clock and reset last', () => {
    const groups = listed(example('bass-line'));
    expect(groups.at(-1)).toEqual([
      'Clock and reset',
      ['drums.clock walk.clock', 'drums.again walk.reset'],
    ]);
  });

  it.each(NAMES)('lists every cable of %s once, numbered through', (name) => {
    const patch = example(name);
    const all = cableList(patch).flatMap(({ cables }) => cables);
    const names = (
      cables: readonly { from: Patch['cables'][0]['from']; to: Patch['cables'][0]['to'] }[],
    ): string[] => cables.map(({ from, to }) => `${jackName(from)} ${jackName(to)}`).sort();
    expect(names(all)).toEqual(names(patch.cables));
    expect(all.map(({ number }) => number)).toEqual(all.map((_, index) => index + 1));
  });

  it.each(NAMES)('goes on from a module of %s only when all that comes in is plugged', (name) => {
    for (const { cables } of cableList(example(name)))
      cables.forEach(({ to }, index) => {
        const leaving = cables.findIndex(({ from }) => from.module === to.module);
        // None of the examples has a circle.
        if (leaving >= 0) expect(leaving).toBeGreaterThan(index);
      });
  });

  it('lists circles too', () => {
    const patch = patchFrom(`modules:
  a: { kind: mixer }
  b: { kind: mixer }
cables: [a.out -> b.in-1, b.out -> a.in-1]`);
    expect(listed(patch)).toEqual([['Sound', ['a.out b.in-1', 'b.out a.in-1']]]);
  });
});

describe('moduleSettings', () => {
  const settings = (
    patch: Patch,
    module: string,
  ): Map<string, readonly [string, string | undefined]> =>
    new Map(
      moduleSettings(patch)
        .find(({ name }) => name === module)
        ?.settings.map(({ name, value, dial }) => [name, [value, dial]]),
    );

  it('gives the position of each dial that the rack has, to a tenth', () => {
    // On a log scale, p = p0 + (p1 - p0) ln(v / v0) / ln(v1 / v0), between the rack's measured points.
    const log = (p0: number, p1: number, v0: number, v1: number, v: number): string =>
      `dial ${Number((p0 + ((p1 - p0) * Math.log(v / v0)) / Math.log(v1 / v0)).toFixed(1))}`;
    const patch = example('closed-hat', true);
    expect(settings(patch, 'shape').get('decay')).toEqual(['110 ms', log(0, 5, 0.002, 0.12, 0.11)]);
    expect(settings(patch, 'shape').get('attack')).toEqual([
      '0.4 ms',
      log(0, 5, 0.0003, 0.04, 0.0004),
    ]);
    expect(settings(patch, 'bright').get('cutoff')).toEqual([
      '7 kHz',
      log(8, 10, 4600, 18_000, 7000),
    ]);
    expect(settings(patch, 'bright').get('q')).toEqual(['2', undefined]);
  });

  it('says when a value is beyond the dial', () => {
    // The longest decay that this unit was measured at is 10 s.
    const longer = example('closed-hat', true, ['shape.decay=11 s']);
    expect(settings(longer, 'shape').get('decay')).toEqual(['11 s', 'beyond the dial']);
  });

  it('writes the rows of a step sequencer as the file has them', () => {
    const walk = settings(example('bass-line'), 'walk');
    expect(walk.get('rows')?.[0]).toBe('{ pitch: [C2, C2, G1, Bb1, C2, Eb2] }');
    expect(walk.get('gates')?.[0]).toBe('xxx-xx');
  });

  it('leaves out the levels of inputs without a cable, unless the patch says them', () => {
    const patch = patchFrom(`modules:
  hiss: { kind: noise }
  sum: { kind: mixer, level-3: 40 %, level-7: 100 % }
  out: { kind: output }
cables: [hiss.white -> sum.in-1, hiss.pink -> sum.in-3, sum.out -> out.left]`);
    expect([...settings(patch, 'sum').keys()]).toEqual(['level-1', 'level-3', 'level-7']);
  });

  it('has values and no dials without a rack, and tells what the patch asks for', () => {
    const shape = moduleSettings(example('closed-hat')).find(({ name }) => name === 'shape');
    expect(shape?.settings.some(({ dial }) => dial !== undefined)).toBe(false);
    const given = shape?.settings.filter(({ given }) => given === 'value').map(({ name }) => name);
    expect(given?.sort()).toEqual(['attack', 'curve', 'decay', 'release', 'sustain', 'trigger']);
  });
});

describe('rhythmSheets', () => {
  it('writes patterns as the file has them', () => {
    const [drums] = rhythmSheets(example('two-bar-kit'));
    expect(drums?.song).toEqual(['first', 'answer']);
    // From the file; `answer` starts from `first` and replaces all of its channels.
    expect(drums?.patterns[1]?.lines[1]).toMatchObject({
      channel: 'snare',
      steps: '---- x--x ---- x-xx',
      signs: '----x--x----x-xx',
      own: '',
    });
  });
});

describe('playForSheet', () => {
  it('has the samples that render writes', async () => {
    const patch = example('two-bar-kit');
    const all = new Prepared(patch);
    const listener = listenerFor(outsetOf(all));
    const { wav } = await playForSheet(all, { length: LENGTH, listener });
    const path = join(scratch(), 'clip.wav');
    await renderClip(patch, {
      path,
      sampleRate: 48_000,
      depth: '16',
      length: LENGTH,
      tail: { unit: 'seconds', value: 0 },
      loop: false,
      stems: false,
      taps: [],
    });
    expect(dataOf(wav).equals(dataOf(readFileSync(path)))).toBe(true);
  });

  it('is silent without a fuss where nothing reaches the output', async () => {
    const patch = patchFrom(
      'modules: { out: { kind: output }, hiss: { kind: noise } }\ncables: []',
    );
    const sheet = await sheetOf(patch, { length: { unit: 'seconds', value: 0.2 } });
    expect(sheet.sound?.mix.every((value) => value === 0)).toBe(true);
    expect(await sheetPage(sheet, { clip: true })).not.toContain('Spectrum');
  });
});

/** The samples of a WAV file: RIFF chunks are an id, a length and so many bytes, padded to even. */
function dataOf(file: Uint8Array): Buffer {
  const bytes = Buffer.from(file);
  for (let at = 12; at < bytes.length; ) {
    const size = bytes.readUInt32LE(at + 4);
    if (bytes.toString('latin1', at, at + 4) === 'data')
      return bytes.subarray(at + 8, at + 8 + size);
    at += 8 + size + (size % 2);
  }
  throw new Error('no data chunk');
}

/** HTML elements that have no end tag (WHATWG HTML, 13.1.2). */
const VOID = new Set(['meta', 'br', 'input', 'img', 'link', 'hr', 'wbr']);

/** Checks that tags nest, and gives all attributes. */
function attributesOf(html: string): (readonly [element: string, name: string, value: string])[] {
  const open: string[] = [];
  const found: (readonly [string, string, string])[] = [];
  const body = html.replace(/^<!doctype html>/, '').replace(/<style>[^<]*<\/style>/g, '');
  const tags = /<(\/?)([a-zA-Z][\w-]*)((?:\s+[\w:-]+(?:="[^"<>]*")?)*)\s*(\/?)>/g;
  for (const [, slash, name = '', attributes = '', self] of body.matchAll(tags)) {
    for (const [, key = '', value = ''] of attributes.matchAll(/([\w:-]+)(?:="([^"]*)")?/g))
      found.push([name, key, value]);
    if (slash === '/') expect(open.pop()).toBe(name);
    else if (self !== '/' && !VOID.has(name)) open.push(name);
  }
  expect(open).toEqual([]);
  // What is left is text, with no angle bracket of its own.
  expect(body.replaceAll(tags, '')).not.toMatch(/[<>]/);
  return found;
}

async function writtenPage(name: string): Promise<string> {
  return sheetPage(await sheetOf(example(name, true), { length: LENGTH }), { clip: true });
}

const pages = new Map<string, Promise<string>>();

/** The page of an example with its clip, written once for all tests. */
function pageOf(name: string): Promise<string> {
  const page = pages.get(name) ?? writtenPage(name);
  pages.set(name, page);
  return page;
}

describe('sheetPage', () => {
  it.each(['closed-hat', 'bass-line', 'two-bar-kit'])('is well-formed for %s', async (name) => {
    const attributes = attributesOf(await pageOf(name));
    const ids = attributes.filter(([, key]) => key === 'id').map(([, , value]) => value);
    expect(new Set(ids).size).toBe(ids.length);
    for (const [, key, value] of attributes)
      if (key === 'aria-labelledby') expect(ids).toContain(value);
    // Nothing comes from elsewhere.
    for (const [, key, value] of attributes)
      if (key === 'src' || key === 'href') expect(value).toMatch(/^(?:data:|#)/);
  });

  it('is the same every time, and under 2 MB without its clip', async () => {
    const largest = await sheetOf(example('kit-of-eight', true), { length: LENGTH });
    const page = await sheetPage(largest, { clip: false });
    expect(page.length).toBeLessThan(2e6);
    expect(page).not.toContain('<audio');
    // Several voices, as in that kit, with their clip.
    expect(await writtenPage('two-bar-kit')).toBe(await pageOf('two-bar-kit'));
  });

  it('takes no hostile text for markup', async () => {
    const page = await sheetPage(await sheetOf(hostilePatch(), { length: LENGTH }), { clip: true });
    const attributes = attributesOf(page);
    expect(attributes.filter(([, key]) => key.startsWith('on'))).toEqual([]);
    expect(attributes.filter(([element]) => element === 'script')).toEqual([]);
    expect(page).toContain('&lt;script&gt;hit=1&lt;/script&gt;');
  });

  it('says so where the score is not all of the song', async () => {
    const song = (bars: number): Patch =>
      patchFrom(`modules:
  drums:
    kind: rhythm
    tempo: 120 bpm
    channels: [hit]
    patterns: { a: { hit: "x---|----|----|----" } }
    song: [${Array(bars).fill('a').join(', ')}]
cables: []`);
    const write = async (bars: number): Promise<string> =>
      sheetPage(await sheetOf(song(bars), { length: LENGTH }), { clip: false });
    // Bars of four quarters of half a second.
    expect(await write(9)).toContain('<p>The first 8 bars: 16 s of the song’s 18 s.</p>');
    expect(await write(8)).not.toContain('The first 8 bars');
  });

  it('has no empty section for a patch of one module', async () => {
    const patch = patchFrom('title: Lone\nmodules: { hiss: { kind: noise } }\ncables: []');
    const page = await sheetPage(await sheetOf(patch, { length: LENGTH }), { clip: true });
    attributesOf(page);
    const headings = [...page.matchAll(/<h2 [^>]*>([^<]*)/g)];
    expect(headings.map(([, words]) => words)).toEqual([
      'Care for people and gear',
      'Block diagram',
      'Settings',
      'Findings and cautions',
    ]);
  });
});

describe('sheetMarkdown', () => {
  it('has the cables as boxes to tick, and all sections', async () => {
    const text = sheetMarkdown(await sheetOf(example('closed-hat', true), { length: LENGTH }));
    expect(text).toContain('- [ ] 1. `drums.hat` to `adapt.voltage-in` (gate, trigger or clock)');
    expect(text.match(/^## .*$/gm)).toEqual([
      '## 1. Care for people and gear',
      '## 2. Cables',
      '## 3. Settings',
      '## 4. Score of time',
      '## 5. Volts at the triggers',
      '## 6. Findings and cautions',
    ]);
    expect(text).toContain('decay **110 ms** (dial 4.9)');
  });

  it('takes no hostile text for markup', async () => {
    const text = sheetMarkdown(await sheetOf(hostilePatch(), { length: LENGTH }));
    // CommonMark 0.31.2, 4.5 and 2.4: code between fences is as it is, a bracket after a backslash text.
    const outside = text.replace(/^(```+)\n[\s\S]*?\n\1$/gm, '');
    expect(outside.replaceAll(/\\[<>&]/g, '')).not.toMatch(/[<>&]/);
    expect(text).toContain(HOSTILE.slice(0, 2).replaceAll(/[<>]/g, '\\$&'));
  });
});
