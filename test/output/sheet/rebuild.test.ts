// A hand-out is complete: from its text alone, page and Markdown each, the patch can be rebuilt, with the
// same settings, jacks and cables, and renders the same bytes.

import { readdirSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Take } from '../../../src/engine/take.ts';
import { KINDS } from '../../../src/modules/kinds.ts';
import { plainlyPlaced } from '../../../src/output/diagram/plain.ts';
import { outlineOf } from '../../../src/output/sheet/sheet.ts';
import { sheetMarkdown } from '../../../src/output/sheet/sheet-markdown.ts';
import { sheetPage } from '../../../src/output/sheet/sheet-page.ts';
import type { Patch } from '../../../src/patch/patch.ts';
import { readPatch } from '../../../src/patch/read.ts';
import { randomPatch } from '../../engine/random-patch.ts';
import { shipped } from '../../patch-of.ts';
import { runs } from '../../runs.ts';
import { randomRhythm } from '../../timing/random-rhythm.ts';
import { fromMarkdown, fromPage, type Handout, patchFiles } from '../handout.ts';
import { example } from '../sheet-patches.ts';

const NAMES = readdirSync(fileURLToPath(new URL('../../../patches/', import.meta.url)))
  .filter((name) => name.endsWith('.yaml'))
  .map((name) => name.replace(/\.yaml$/, ''));

/** The hand-out of a patch as a page and as Markdown, read. Pictures and findings tell nothing more. */
async function handouts(patch: Patch): Promise<readonly (readonly [string, Handout])[]> {
  const sheet = { ...outlineOf(patch), findings: [] };
  const place = (figure: Parameters<typeof plainlyPlaced>[0]) =>
    Promise.resolve(plainlyPlaced(figure));
  return [
    ['page', fromPage(await sheetPage(sheet, { clip: false, place }))],
    ['Markdown', fromMarkdown(sheetMarkdown(sheet))],
  ];
}

function rebuilt(handout: Handout, loadRack?: (path: string) => string): Patch {
  const files = patchFiles(handout);
  const { patch, problems } = readPatch(files.get('rebuilt.yaml') as string, {
    file: 'rebuilt.yaml',
    kinds: KINDS,
    load: (path) => files.get(path),
    ...(loadRack && { loadRack }),
  });
  if (patch === undefined)
    throw new Error(
      `${problems.map(({ message }) => message).join('\n')}\n${[...files].join('\n')}`,
    );
  return patch;
}

/** What decides a render: seed, modules with their settings and jacks, cables. Their order does not. */
function essence({ seed, modules, cables }: Patch): object {
  return {
    seed,
    modules: Object.fromEntries(
      modules.map(({ name, definition, settings, jacks, unit }) => [
        name,
        { kind: definition.kind, settings, jacks, unit: unit?.name },
      ]),
    ),
    cables: cables
      .map(({ from, to }) => `${from.module}.${from.jack} -> ${to.module}.${to.jack}`)
      .sort(),
  };
}

function bytes(patch: Patch, seconds: number): Buffer {
  const take = new Take(patch, {
    sampleRate: 48_000,
    length: { unit: 'seconds', value: seconds },
    tail: { unit: 'seconds', value: 0 },
  });
  const parts: Buffer[] = [];
  for (let given = take.read(); given > 0; given = take.read())
    for (const channel of take.channels)
      parts.push(Buffer.from(Float64Array.from(channel.subarray(0, given)).buffer));
  return Buffer.concat(parts);
}

async function expectRebuilt(
  patch: Patch,
  seconds: number,
  loadRack?: (path: string) => string,
): Promise<void> {
  const expected = essence(patch);
  const sound = bytes(patch, seconds);
  for (const [form, handout] of await handouts(patch)) {
    const again = rebuilt(handout, loadRack);
    expect(essence(again), form).toEqual(expected);
    expect(bytes(again, seconds).equals(sound), form).toBe(true);
  }
}

describe('the hand-out rebuilds', () => {
  it.each(NAMES)('%s', async (name) => {
    await expectRebuilt(example(name), 0.5);
  });

  it.each(['closed-hat', 'two-bar-kit'])('%s on the teaching cabinet', async (name) => {
    await expectRebuilt(example(name, true), 0.5, shipped);
  });

  it('what is given as positions of dials, to the last digit', async () => {
    const patch = example('closed-hat', true, ['shape.decay=dial 3.4567']);
    await expectRebuilt(patch, 0.3, shipped);
  });

  it('a part with settings of its own, and one used twice', async () => {
    const envelope = example('kit-of-eight').modules.find(
      ({ name, definition }) => name.includes('.') && definition.kind === 'envelope',
    );
    await expectRebuilt(
      example('kit-of-eight', false, [`${envelope?.name}.decay=91.2500 ms`]),
      0.3,
    );
  });

  it('random patches of every kind, with rhythms that use all that a rhythm has', async () => {
    let read = 0;
    const seed = fc.oneof(
      // Half a surrogate pair is no text that a file can hold.
      fc.string({ unit: 'binary', minLength: 1 }).filter((text) => !/\p{Cs}/u.test(text)),
      fc.constantFrom(
        'tuesday',
        ' a',
        'b  c',
        '"',
        '\\u0041',
        'a`*_<b>|#&~',
        ' ',
        '\u2028',
        '· Seed: x',
      ),
    );
    await fc.assert(
      fc.asyncProperty(randomPatch, randomRhythm, seed, async ({ text }, rhythm, seed) => {
        const whole = text
          .replace(/^ {2}drums: .*$/m, () => `  drums: ${JSON.stringify(rhythm)}`)
          .replace(/^/, () => `seed: ${JSON.stringify(seed)}\n`);
        const { patch, problems } = readPatch(whole, { file: 'random.yaml', kinds: KINDS });
        // Two settings of a random module may exclude one another; the rhythm and the seed are right.
        if (patch === undefined) {
          expect(problems.filter(({ place }) => place.line <= 3)).toEqual([]);
          return;
        }
        read += 1;
        await expectRebuilt(patch, 0.05);
      }),
      runs(80),
    );
    expect(read).toBeGreaterThan(60);
  });
});
