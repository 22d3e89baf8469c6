// The voices of a kit as chapters, in a real browser: chosen, heard alone, struck, found, folded away
// and printed; folds stay as they were left, through a redraw and a reload.

import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Page, Route } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { expectAccessible } from '../accessibility.ts';
import { browsing, folderWith, inPage, settled, until } from './browser.ts';

const NAME = 'two-bar-kit';

const { plainPage, visit, serve } = browsing();

async function served(name = NAME, options = {}, folder = folderWith(name)): Promise<Page> {
  const { url } = await serve(folder, name);
  const { page } = await visit(url, { bypassCSP: true, ...options });
  await settled(page);
  return page;
}

const button = (page: Page, name: string) => page.getByRole('button', { name, exact: true });
const fold = (page: Page, name: string) => page.locator(`details[data-fold="${name}"]`);
const isOpen = (page: Page, name: string): Promise<boolean> =>
  fold(page, name).evaluate((one) => one.matches('[open]'));
/** Rows of the step grids on the screen. */
const rows = (page: Page): Promise<string[]> => page.locator('.tab tbody th').allTextContents();

describe('a chapter', () => {
  it('has its lines, its diagram, its settings, its charts and its level, by keys alone', async () => {
    const page = await served();
    await page.locator('[data-jack]').first().waitFor();
    const before = await rows(page);
    expect(new Set(before.map((one) => one.replace(' ·', '')))).toEqual(
      new Set(['kick', 'snare', 'closed', 'open']),
    );
    await button(page, 'hats').focus();
    await page.keyboard.press('Enter');
    await expect
      .poll(async () => new Set((await rows(page)).map((one) => one.replace(' ·', ''))))
      .toEqual(new Set(['closed', 'open']));
    expect(await isOpen(page, 'diagram, hats')).toBe(true);
    expect(await isOpen(page, 'diagram, ')).toBe(false);
    expect(await isOpen(page, 'settings, hats')).toBe(true);
    await page.getByText(/In the mix: −\d+\.\d LUFS, \d+\.\d LU under the whole\./).waitFor();
    expect(await page.getByRole('combobox', { name: 'Voice', exact: true }).inputValue()).toBe(
      'hats',
    );
    // The level is set at the mixer, which is shared.
    await page.getByRole('button', { name: /^mix level-3 .*: to the setting$/ }).click();
    await expect.poll(() => inPage(page, 'document.activeElement.ariaLabel')).toBe('mix level-3');
    expect(await isOpen(page, 'settings, shared')).toBe(true);
    await button(page, 'the whole').click();
    await expect.poll(() => rows(page)).toEqual(before);
    expect(await isOpen(page, 'diagram, ')).toBe(true);
    expect(await isOpen(page, 'diagram, hats')).toBe(false);
  });

  it('is heard alone, is left out, and comes back', async () => {
    const page = await served();
    const newest = (): Promise<number> =>
      inPage(page, 'watch.sounds.at(-1).loop.reduce((sum, one) => sum + one * one, 0)');
    const mix = await newest();
    await button(page, 'Hear kick alone').click();
    await page.locator('.listening', { hasText: 'kick alone is heard.' }).waitFor();
    await settled(page);
    const alone = await newest();
    expect(alone).toBeLessThan(mix);
    expect(alone).toBeGreaterThan(0);
    await button(page, 'Hear all without kick').click();
    await page.locator('.listening', { hasText: 'All is heard but kick.' }).waitFor();
    await settled(page);
    expect(await newest()).toBeLessThan(mix);
    // What is kept meanwhile is the patch, not what of it is heard.
    await button(page, 'Keep what sounds now').click();
    await button(page, 'Hear all again').click();
    await settled(page);
    expect(await newest()).toBe(mix);
    expect(await page.locator('.listening').count()).toBe(0);
    await button(page, 'Hear version 1').click();
    await settled(page);
    expect(await newest()).toBe(mix);
  });

  it('is struck at once by a mouse, by keys and by a letter, while the loop plays', async () => {
    const page = await served();
    await button(page, 'kick').click();
    await settled(page);
    await button(page, 'Play').click();
    await until(page, 'watch.starts.length > 0');
    const starts = (): Promise<number> => inPage(page, 'watch.starts.length');
    const before = await starts();
    await button(page, 'Strike kick, as kick').click();
    await expect.poll(starts).toBe(before + 1);
    await page.keyboard.press('Enter');
    await expect.poll(starts).toBe(before + 2);
    await page.locator('h1').click();
    await page.keyboard.press('q');
    await expect.poll(starts).toBe(before + 3);
    await page.keyboard.press('Shift+q');
    await expect.poll(starts).toBe(before + 4);
    // The accented one is another sound, and louder.
    const [plain, accented] = await inPage<[number, number]>(
      page,
      'watch.starts.slice(-2).map(({ loop }) => loop.reduce((most, one) => Math.max(most, Math.abs(one)), 0))',
    );
    expect(accented).toBeGreaterThanOrEqual(plain);
    // What is made already starts with the press, before anything else is done.
    const [one, other] = await inPage<[number, number]>(
      page,
      `[0, 1].map((time) => {
        if (time > 0) document.body.dispatchEvent(new KeyboardEvent('keydown', { key: 'q', bubbles: true }));
        return watch.starts.length;
      })`,
    );
    expect(other).toBe(one + 1);
  });

  it('is struck by a MIDI pad, that is asked for by a press alone', async () => {
    const page = await served();
    // The browser's own would ask a person.
    await inPage(
      page,
      `(() => {
        globalThis.pad = { name: 'pad', state: 'connected', onmidimessage: null };
        globalThis.asked = 0;
        navigator.requestMIDIAccess = async () => {
          globalThis.asked++;
          return { inputs: new Map([['1', pad]]), onstatechange: null };
        };
      })()`,
    );
    expect(await inPage(page, 'asked')).toBe(0);
    await button(page, 'Use a MIDI pad').click();
    await page.getByText('Listening to pad.').waitFor();
    expect(await inPage(page, 'asked')).toBe(1);
    const hit = (...bytes: readonly number[]): Promise<unknown> =>
      inPage(page, `pad.onmidimessage({ data: new Uint8Array(${JSON.stringify(bytes)}) }), 0`);
    const starts = (): Promise<number> => inPage(page, 'watch.starts.length');
    // General MIDI: 36 is the bass drum. Note on, channel 10; its end, as an off and as velocity 0.
    await hit(0x99, 36, 127);
    await expect.poll(starts).toBe(1);
    await hit(0x89, 36, 0);
    await hit(0x99, 36, 0);
    await hit(0x99, 38, 40);
    await expect.poll(starts).toBe(2);
    await hit(0x99, 99, 40);
    await page.getByText('Note 99 strikes nothing here.').waitFor();
    expect(await starts()).toBe(2);
  });

  it('keeps the accessibility rules: light, 1280 px, and dark, 390 px', async () => {
    const page = await served(NAME, {
      colorScheme: 'light',
      viewport: { width: 1280, height: 800 },
    });
    const accessible = async (where?: string): Promise<void> => {
      for (const [colorScheme, width] of [
        ['light', 1280],
        ['dark', 390],
      ] as const) {
        await page.emulateMedia({ colorScheme });
        await page.setViewportSize({ width, height: 800 });
        await expectAccessible(page, where);
      }
    };
    await button(page, 'hats').click();
    await button(page, 'Hear hats alone').click();
    await page.getByRole('searchbox').fill('shape');
    await page.locator('.found li').first().waitFor();
    await settled(page);
    await accessible();
    await page.getByRole('searchbox').fill('and');
    await expect
      .poll(() => page.locator('.found li').allTextContents())
      .toEqual(expect.arrayContaining(['section Envelope and spectrum ']));
    await accessible('.find');
  });
});

describe('what is folded', () => {
  it('stays as it was left, over a redraw and a reload, and so do ticks and what is typed', async () => {
    const folder = folderWith(NAME);
    const path = join(folder, `${NAME}.yaml`);
    const write = (...changes: readonly (readonly [from: string, to: string])[]): void => {
      let text = readFileSync(path, 'utf8');
      for (const [from, to] of changes) {
        expect(text).toContain(from);
        text = text.replace(from, to);
      }
      writeFileSync(path, text);
    };
    write(
      ['  out: {', '  tone: { kind: filter }\n  out: {'],
      ['hats.both.out   -> mix.in-3', 'hats.both.out -> tone.in\n  - tone.low -> mix.in-3'],
    );
    const page = await served(NAME, {}, folder);
    await fold(page, 'Control path, snare').locator('> summary').focus();
    await page.keyboard.press('Enter');
    const tick = fold(page, 'Control path, snare').getByRole('checkbox').first();
    await tick.check();
    await fold(page, 'settings, hats').locator('> summary').click();
    // The file takes away what is being typed for: an entry of the song, a line of a pattern.
    const [line, song] = ['\n        open:   "---- ---- ---- ----"', 'song: [first, answer]'];
    const entry = page.locator('[data-entry="1"]');
    await entry.click();
    const repeats = page.getByLabel('Entry 2: repeats', { exact: true });
    await repeats.fill('often');
    await repeats.press('Enter');
    await page.locator('.refusal', { hasText: 'often' }).waitFor();
    await page.getByText('Other values of first').click();
    const chance = page.getByLabel('first, open: chance', { exact: true });
    await chance.fill('7');
    write([line, ''], [song, 'song: [first]']);
    await entry.waitFor({ state: 'detached' });
    await page.keyboard.type('0 %');
    expect(await chance.inputValue()).toBe('70 %');
    await page.keyboard.press('Enter');
    await page.locator('.refusal', { hasText: 'open rests in first' }).waitFor();
    await page.keyboard.press('Escape');
    await chance.waitFor({ state: 'detached' });
    write(['x-x- x-x- x-x- x-x-"', `x-x- x-x- x-x- x-x-"${line}`], ['song: [first]', song]);
    await entry.waitFor();
    expect(await repeats.inputValue()).toBe('often');
    await repeats.press('Escape');
    // Or it moves to another group, under a hand that is in the middle of a number: this is not taken before its end.
    await page.locator('[data-module="tone"] > summary').click();
    const cutoff = page.getByLabel('tone cutoff', { exact: true });
    await cutoff.fill('4');
    write(
      ['hats.both.out -> tone.in\n  - tone.low -> mix.in-3', 'hats.both.out -> mix.in-3'],
      ['mix.out         -> out.left', 'mix.out -> tone.in\n  - tone.low -> out.left'],
    );
    await fold(page, 'settings, shared').locator('[data-module="tone"]').waitFor();
    await page.keyboard.type(' kHz');
    expect(await cutoff.inputValue()).toBe('4 kHz');
    await page.keyboard.press('Enter');
    await expect.poll(() => cutoff.getAttribute('data-text')).toBe('4 kHz');
    await page.locator('[data-module="hats.hiss"] > summary').click();
    const level = page.getByLabel('hats.hiss level', { exact: true });
    await level.fill('1.1 V');
    await level.press('Enter');
    await settled(page);
    await until(page, "document.querySelector('.verdict').textContent.includes('The check finds')");
    expect(await isOpen(page, 'Control path, snare')).toBe(true);
    expect(await tick.isChecked()).toBe(true);
    expect(await isOpen(page, 'Control path, kick')).toBe(false);
    page.on('dialog', (dialog) => void dialog.accept());
    await page.reload();
    await page.locator('.strip .play:enabled').waitFor();
    await level.waitFor();
    expect(await isOpen(page, 'Control path, snare')).toBe(true);
    expect(await isOpen(page, 'settings, hats')).toBe(true);
    expect(await isOpen(page, 'settings, kick')).toBe(false);
  });

  it('is opened by what is looked for: a cable, a jack, a setting, a module', async () => {
    const page = await served();
    await page.locator('[data-jack]').first().waitFor();
    const find = page.getByRole('searchbox');
    const focused = (): Promise<string> =>
      inPage(page, "document.activeElement.ariaLabel ?? document.activeElement.textContent ?? ''");
    await find.fill('snare.hiss.white to');
    await find.press('Enter');
    await expect.poll(focused).toMatch(/^Cable \d+, snare\.hiss\.white to /);
    await find.fill('snare.wires cutoff');
    await find.press('Enter');
    await expect.poll(focused).toBe('snare.wires cutoff');
    await find.fill('hats.both mixer');
    await find.press('Enter');
    await expect.poll(focused).toContain('hats.both');
    await find.fill('kick.beater');
    await page
      .locator('.found')
      .getByRole('button', { name: /^jack kick\.beater/ })
      .first()
      .click();
    await until(page, "document.querySelector('[data-jack][data-shown]') !== null");
    expect(await isOpen(page, 'diagram, kick')).toBe(true);
    // A block leads to its module's settings, and they lead back.
    await page.locator('[data-block="kick.body"] text').first().click();
    await expect.poll(focused).toContain('kick.body');
    await button(page, 'kick.body in the diagram').click();
    await until(page, `document.querySelector('[data-block="kick.body"][data-shown]') !== null`);
  });

  it('is all there on paper, also what is drawn while it is made, and shut again after it', async () => {
    const folder = folderWith(NAME);
    const { url } = await serve(folder, NAME);
    const page = await plainPage();
    await page.goto(url);
    const shut = (): Promise<number> =>
      inPage(page, "document.querySelectorAll('details[data-fold]:not([open])').length");
    const drawn = (voice: string): Promise<void> =>
      page.locator(`[data-jack^="${voice}."]`).first().waitFor({ state: 'attached' });
    const set = (voice: string): Promise<void> =>
      page.locator(`[data-fold="settings, ${voice}"]`).waitFor();
    await Promise.all([drawn('hats'), set('hats')]);
    const before = await shut();
    expect(before).toBeGreaterThan(8);
    // A voice gets another name in the file, and its diagrams are late.
    const asked = new Promise<Route>((resolve) => {
      let isHeld = false;
      void page.route('**/draw', (route) => {
        // What was asked for before it may still come.
        const isIt = !isHeld && route.request().postData()?.includes('rustle.') === true;
        isHeld ||= isIt;
        return isIt ? resolve(route) : route.continue();
      });
    });
    const path = join(folder, `${NAME}.yaml`);
    writeFileSync(path, readFileSync(path, 'utf8').replaceAll(/(?<!\/)\bhats(?=[.:])/g, 'rustle'));
    const request = await asked;
    await inPage(page, "dispatchEvent(new Event('beforeprint')), 0");
    expect(await shut()).toBe(0);
    await request.continue();
    await Promise.all([drawn('rustle'), set('rustle')]);
    expect(await shut()).toBe(0);
    // A second print before the events of the first have come.
    await inPage(
      page,
      "['afterprint', 'beforeprint', 'afterprint'].map((one) => dispatchEvent(new Event(one))), 0",
    );
    expect(await shut()).toBe(before);
    // What was opened for it is not taken for a person's wish.
    await page.unroute('**/draw');
    await page.reload();
    await Promise.all([drawn('rustle'), set('rustle')]);
    expect(await shut()).toBe(before);
  });

  it('makes the page of a kit of eight less than 6,000 px tall at 1,280', async () => {
    const page = await served('kit-of-eight', { viewport: { width: 1280, height: 800 } });
    await until(page, 'watch.isChecked');
    const height = (): Promise<number> => inPage(page, 'document.documentElement.scrollHeight');
    expect(await height()).toBeLessThan(6000);
    await button(page, 'hats').click();
    await settled(page);
    expect(await height()).toBeLessThan(6000);
  });
});
