// The newest finding is shown where a person has caused it, with the mend that the command line would make.

import { describe, expect, it } from 'vitest';
import { mended } from '../../../src/findings/mend/mending.ts';
import type { PatchChange } from '../../../src/page/protocol.ts';
import { readFiles } from '../../../src/page/worker/reading.ts';
import type { Patch } from '../../../src/patch/patch.ts';
import type { PatchTexts } from '../../../src/patch/texts.ts';
import { filesOf, Page } from './harness.ts';

const HAT = 'patches/closed-hat.yaml';

function set(module: string, setting: string, text: string) {
  return {
    type: 'change',
    change: { type: 'setting', module, setting, text } satisfies PatchChange,
  } as const;
}

/** The texts as they are after a request. */
async function textsAfter(page: Page, id: number): Promise<PatchTexts> {
  const { state } = await page.answer(id, 'state');
  return state.files;
}

async function hat(): Promise<Page> {
  const page = new Page();
  const id = page.send({ type: 'open', files: filesOf(HAT) });
  expect((await page.answer(id, 'findings')).told).toBeUndefined();
  return page;
}

// Source: the modules' own headers. An envelope notices no pulse under 1 ms, a switch trigger is a
// closure to ground, and a release shorter than the decay sets the tail once the gate has ended.
describe('a finding that a hand has made', () => {
  it.each([
    ['drums', 'gate', '0.2 ms', 'fault', 'shape.trigger'],
    ['shape', 'trigger', 'voltage', 'fault', 'shape.trigger'],
    ['shape', 'release', '20 ms', 'caution', 'shape'],
  ])('at %s.%s: %s, is told there as a %s of %s', async (module, setting, text, severity, what) => {
    const page = await hat();
    const id = page.send(set(module, setting, text));
    const { told } = await page.answer(id, 'findings');
    expect(told).toMatchObject({
      severity,
      counts: `1 ${severity}`,
      at: { type: 'setting', module, setting },
      isByHand: true,
    });
    expect(told?.headline.startsWith(`${what} `)).toBe(true);
    expect(told?.message).toContain(what);
  });

  it('stays told there while something else is moved, and is gone with its cause', async () => {
    const page = await hat();
    const before = await textsAfter(page, page.send(set('hiss', 'level', '2.2 V')));
    await page.answer(page.send(set('drums', 'gate', '0.2 ms')), 'findings');
    const later = page.send(set('bright', 'q', '3'));
    const { told } = await page.answer(later, 'findings');
    expect(told).toMatchObject({ at: { module: 'drums', setting: 'gate' }, isByHand: true });
    const undone = page.send({ type: 'open', files: before });
    expect((await page.answer(undone, 'findings')).told).toBeUndefined();
  });

  it('goes before one that was there', async () => {
    const page = await hat();
    await page.answer(page.send(set('drums', 'gate', '0.2 ms')), 'findings');
    const { told } = await page.answer(page.send(set('out', 'full-scale', '1 V')), 'findings');
    // The hat is silent by then: what is new is told only where there is something new.
    expect(told).toMatchObject({ at: { module: 'drums', setting: 'gate' } });
    await page.answer(page.send(set('drums', 'gate', '8 ms')), 'findings');
    const { told: clipped } = await page.answer(
      page.send(set('shape', 'release', '20 ms')),
      'findings',
    );
    expect(clipped).toMatchObject({ at: { module: 'shape', setting: 'release' } });
  });

  it('is told at its own cable or setting where no hand has made it', async () => {
    const page = new Page();
    const { texts } = filesOf(HAT);
    const text = (texts[HAT] ?? '').replace('gate: 8 ms', 'gate: 0.2 ms');
    const id = page.send({
      type: 'open',
      files: { main: HAT, set: [], texts: { ...texts, [HAT]: text } },
    });
    const { told } = await page.answer(id, 'findings');
    expect(told).toMatchObject({
      at: { type: 'cable', from: 'adapt.switch-out', to: 'shape.trigger' },
      isByHand: false,
    });
  });
});

describe('its mend', () => {
  // Against the command's own way: `check --fix` of the same texts.
  it.each([
    ['drums', 'gate', '0.2 ms'],
    ['shape', 'trigger', 'voltage'],
    ['shape', 'release', '20 ms'],
  ])('of %s.%s: %s, is what check --fix does', async (module, setting, text) => {
    const page = await hat();
    const id = page.send(set(module, setting, text));
    const files = await textsAfter(page, id);
    const { mend } = await page.answer(id, 'mend');
    const { texts, left } = mended(readFiles(files).patch as Patch, files);
    expect(left).toEqual([]);
    expect(mend.files).toEqual(texts);
    // Its lines are lines of the two texts.
    for (const { isNew, text: line } of mend.lines)
      expect((isNew ? mend.files : files).texts[HAT]).toContain(line);
    const mendedId = page.send({ type: 'open', files: mend.files });
    expect((await page.answer(mendedId, 'findings')).told).toBeUndefined();
  });

  it('does one thing: another finding is left as it is', async () => {
    const page = await hat();
    await page.answer(page.send(set('shape', 'release', '20 ms')), 'findings');
    const id = page.send(set('out', 'full-scale', '1 V'));
    const { told } = await page.answer(id, 'findings');
    expect(told).toMatchObject({ at: { module: 'out', setting: 'full-scale' } });
    const answers = page.answers.filter((one) => one.id === id && one.type === 'mend');
    for (const one of answers)
      if (one.type === 'mend') expect(one.mend.files.texts[HAT]).toContain('release: 20 ms');
  });

  it('is worked out again when a request has come in between', async () => {
    const page = await hat();
    const first = page.send(set('shape', 'release', '20 ms'));
    await page.answer(first, 'findings');
    const second = page.send({ type: 'voice', voice: undefined });
    const given = await Promise.race([page.answer(first, 'mend'), page.answer(second, 'mend')]);
    expect(given.mend.lines.length).toBeGreaterThan(0);
  });
});

describe('an empty chart', () => {
  it('says why it is empty', async () => {
    const page = await hat();
    const id = page.send(set('drums', 'gate', '0.2 ms'));
    const { charts, lack } = await page.answer(id, 'charts');
    expect(charts).toEqual([]);
    expect(lack).toBe('silent: no trigger fires.');
    const back = page.send(set('drums', 'gate', '8 ms'));
    expect((await page.answer(back, 'charts')).lack).toBeUndefined();
  });

  it('says so of a patch whose output has no cable', async () => {
    const page = new Page();
    const { texts } = filesOf(HAT);
    const text = (texts[HAT] ?? '').replace(/^ {2}- touch.out +-> out.left\n/m, '');
    const files = { main: HAT, set: [], texts: { ...texts, [HAT]: text } };
    const id = page.send({ type: 'open', files });
    expect((await page.answer(id, 'charts')).lack).toBe(
      'silent: nothing is plugged into the output.',
    );
  });
});
