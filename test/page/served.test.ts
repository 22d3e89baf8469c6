// The page and its host in a real browser, with a host that the test controls: diagrams are drawn when it
// says so, and changes of the disk are sent in the order that it chooses.

import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { BrowserContextOptions, Page } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { diagramBody } from '../../src/output/sheet/diagrams.ts';
import { readBundles } from '../../src/page/host/bundles.ts';
import { servedPage } from '../../src/page/host/page.ts';
import { PageServer } from '../../src/page/host/server.ts';
import { ServedWorksheet } from '../../src/page/host/worksheet.ts';
import type { HostEvent, SaveAnswer, SaveRequest } from '../../src/page/protocol.ts';
import { readFiles } from '../../src/page/worker/reading.ts';
import type { PatchTexts } from '../../src/patch/texts.ts';
import { expectAccessible } from '../accessibility.ts';
import { PATCHES } from '../cli/run.ts';
import { browsing, inPage, settled, until } from './browser.ts';

const BUNDLES = readBundles(new URL('../../dist/page/', import.meta.url));

const { visit, ends } = browsing();

/** An example with its parts, as it lies on the disk. */
function filesOf(name: string): PatchTexts {
  const main = `${name}.yaml`;
  const parts = ['kick', 'snare', 'hats'].map((part) => `parts/${part}.yaml`);
  const names = [main, ...parts].filter((file) => existsSync(join(PATCHES, file)));
  const texts = names.map((file) => [file, readFileSync(join(PATCHES, file), 'utf8')]);
  return { main, set: [], texts: Object.fromEntries(texts) };
}

/** The same with another main text. */
function changed(files: PatchTexts, change: (text: string) => string): PatchTexts {
  const { main, texts } = files;
  const before = texts[main] ?? '';
  const text = change(before);
  if (text === before) throw new Error('nothing has changed');
  return { ...files, texts: { ...texts, [main]: text } };
}

const decay = (page: Page) => page.getByLabel('shape decay', { exact: true });
const withDecay = (files: PatchTexts, value: string): PatchTexts =>
  changed(files, (text) => text.replace(/decay: [\d.]+ ms/, `decay: ${value}`));

interface Hosted {
  readonly page: Page;
  readonly server: PageServer;
  /** Puts other texts on the disk. */
  readonly write: (files: PatchTexts) => void;
  /** Lets what is asked for be drawn from now on. */
  readonly allow: () => void;
}

/** The page of some texts, whose diagrams are not drawn before they are allowed. */
async function hosted(files: PatchTexts, options: BrowserContextOptions = {}): Promise<Hosted> {
  let allow = (): void => {};
  const allowed = new Promise<void>((done) => {
    allow = done;
  });
  let server: PageServer | undefined;
  const worksheet = new ServedWorksheet(
    BUNDLES,
    files,
    readFiles(files).legible,
    (figures) => allowed.then(() => diagramBody(JSON.parse(figures))),
    (event) => server?.send(event),
  );
  server = await PageServer.start(0, worksheet);
  const started = server;
  ends.push(() => started.close());
  const { page } = await visit(server.url, options);
  const write = (next: PatchTexts): void => worksheet.take(next, readFiles(next).legible);
  return { page, server, write, allow };
}

const diagram = (page: Page) => page.locator('[data-island=diagram]');
const jack = (page: Page, name: string) => diagram(page).locator(`[data-jack="${name}"]`).first();

/** What is put in shows with the next frame, and what that moves is told with the one after it. */
const FRAMES = `new Promise((done) => {
  const next = (left) => requestAnimationFrame(() => (left > 1 ? next(left - 1) : done()));
  next(3);
})`;

describe('the page that is served', () => {
  it('keeps everything in its place from the moment its controls are there', async () => {
    const { page, allow } = await hosted(filesOf('two-bar-kit'));
    allow();
    await until(page, 'watch.isChecked');
    await jack(page, 'mix.in-1').waitFor();
    await settled(page);
    const moved = await inPage<number>(
      page,
      'watch.shifts.filter(({ at }) => at > watch.shown).reduce((sum, { value }) => sum + value, 0)',
    );
    // W3C Layout Instability: 0.1 of a screen is what a visit may come to; here a press would miss.
    expect(moved).toBeLessThan(0.001);
  });
});

describe('block diagrams', () => {
  // So tall that most of the sheet is in view.
  const views: readonly (readonly [string, string, BrowserContextOptions])[] = [
    ['closed-hat', 'wide', { viewport: { width: 1280, height: 3000 } }],
    ['two-bar-kit', 'wide', { viewport: { width: 1280, height: 3000 } }],
    ['two-bar-kit', 'narrow', { viewport: { width: 320, height: 3000 } }],
  ];

  it.each(views)('of %s come late and move nothing: %s', async (name, _, options) => {
    const { page, allow } = await hosted(filesOf(name), options);
    await until(page, 'watch.isChecked');
    await settled(page);
    expect(await diagram(page).textContent()).toContain('The diagram is being drawn.');
    const from = await inPage<number>(page, 'performance.now()');
    const tops = () =>
      inPage<number[]>(
        page,
        // Those that can be seen; what is further down may move.
        "[...document.querySelectorAll('h2, figcaption')].map((one) => one.getBoundingClientRect().top).filter((top) => top < innerHeight)",
      );
    const before = await tops();
    allow();
    await page.locator('[data-jack]').first().waitFor();
    await inPage(page, FRAMES);
    expect(await tops()).toEqual(before);
    const shifts = await inPage<{ at: number }[]>(page, 'watch.shifts');
    expect(shifts.filter(({ at }) => at > from)).toEqual([]);
    // Nothing is cut off, and letters of 12 px stay readable: three quarters of that at the least,
    // unless the page is too narrow for the whole.
    const [cut, scales] = await inPage<[number, number[]]>(
      page,
      `(() => {
        const pictures = [...document.querySelectorAll('[data-island=diagram] svg')];
        const cut = pictures.flatMap((svg) => {
          const box = svg.getBoundingClientRect();
          return [...svg.querySelectorAll('[data-jack], path')].filter((one) => {
            const { left, right, top, bottom } = one.getBoundingClientRect();
            return left < box.left || top < box.top || right > box.right || bottom > box.bottom;
          });
        });
        return [cut.length, pictures.map((svg) => svg.getScreenCTM().a)];
      })()`,
    );
    expect(cut).toBe(0);
    expect(Math.min(...scales)).toBeGreaterThan(0.75);
  });

  it('keep the accessibility rules before they are there', async () => {
    const { page } = await hosted(filesOf('closed-hat'), { colorScheme: 'dark', bypassCSP: true });
    await settled(page);
    await expectAccessible(page);
  });

  it('follow the cables of the version that is heard, of older ones and undone ones', async () => {
    const files = filesOf('closed-hat');
    const { page, server, write, allow } = await hosted(files);
    allow();
    await jack(page, 'accent.in').waitFor();
    await settled(page);
    await page.getByLabel('Name').fill('accented');
    await page.getByLabel('Name').press('Enter');
    const plain = changed(files, (text) => text.replace(/^.*-> accent\.in\n/m, ''));
    write(plain);
    await jack(page, 'accent.in').waitFor({ state: 'detached' });
    const cables = page.locator('[data-part=cables]');
    expect(await cables.textContent()).not.toContain('accent.in');
    await page.getByRole('button', { name: 'Hear accented' }).click();
    await jack(page, 'accent.in').waitFor();
    expect(await cables.textContent()).toContain('accent.in');
    // The list of jacks is that of the diagram, and a jack of it is heard.
    await page.getByLabel('Listen at').selectOption('accent.in');
    await page.locator('.listening', { hasText: 'accent.in' }).waitFor();
    await page.getByRole('button', { name: 'Undo' }).click();
    await jack(page, 'accent.in').waitFor({ state: 'detached' });
    expect(await cables.textContent()).not.toContain('accent.in');
    // Without a host: a wrong diagram would be worse than none.
    await server.close();
    await page.getByRole('button', { name: 'Hear accented' }).click();
    await diagram(page).getByText('The block diagram is not here.').waitFor();
    await expect.poll(() => cables.textContent()).toContain('accent.in');
    expect(await page.locator('[data-jack]').count()).toBe(0);
  });
});

describe('facts and volts', () => {
  it('follow what is edited, saved or not, and what is on the disk', async () => {
    const files = filesOf('closed-hat');
    const { page, write } = await hosted(files);
    await settled(page);
    await page.getByRole('button', { name: 'Open all' }).click();
    const facts = page.locator('[data-part=facts]');
    const volts = page.locator('[data-part=volts]');
    await page.getByLabel('Cable 1,').check();
    const level = page.getByLabel('drums level', { exact: true });
    await level.fill('8 V');
    await level.press('Enter');
    // Through 1 kOhm into 100 kOhm: 8 V times 100/101.
    await expect.poll(() => volts.textContent()).toContain('7.921 V');
    // The cables are as they were, and so is what is ticked.
    expect(await page.getByLabel('Cable 1,').isChecked()).toBe(true);
    await page.keyboard.press('Control+z');
    await expect.poll(() => volts.textContent()).not.toContain('7.921 V');
    write(changed(files, (text) => text.replace('tempo: 92 bpm', 'tempo: 123 bpm')));
    await expect.poll(() => facts.textContent()).toContain('123 bpm');
    // The focus stays with its cable, whichever others come and go.
    const cables = page.locator('[data-part=cables]');
    const [third, focused] = [page.getByLabel('Cable 3,'), 'document.activeElement.dataset.cable'];
    await third.focus();
    const cable = await third.getAttribute('data-cable');
    write(changed(files, (text) => text.replace(/^.*-> accent\.in\n/m, '')));
    await expect.poll(() => cables.textContent()).not.toContain('accent.in');
    expect(await inPage(page, focused)).toBe(cable);
  });
});

describe('news of the disk', () => {
  /** A page whose host tells what the test says, and saves as it says. */
  async function told(
    files: PatchTexts,
    edition: number,
    save: (request: SaveRequest) => SaveAnswer,
  ): Promise<{ page: Page; tell: (event: HostEvent) => Promise<void> }> {
    const { html, policy } = servedPage(files, readFiles(files).patch, {}, BUNDLES);
    const server = await PageServer.start(0, {
      page: () => ({ html, policy }),
      greeting: () => ({ type: 'files', files, edition }),
      save,
      draw: async () => ({ type: 'refused', message: 'Nothing is drawn here.' }),
    });
    ends.push(() => server.close());
    const { page } = await visit(server.url);
    await settled(page);
    await page.getByRole('button', { name: 'Open all' }).click();
    let count = 0;
    const tell = async (event: HostEvent): Promise<void> => {
      server.send(event);
      // Events come in their order, so this one comes after it.
      count += 1;
      server.send({ type: 'unreadable', message: `told ${count}.` });
      await page.getByText(`told ${count}.`).waitFor();
      await settled(page);
    };
    return { page, tell };
  }
  const nothing = (): SaveAnswer => ({ type: 'refused', message: 'Nothing is saved here.' });

  it('that is older than what is known is passed over', async () => {
    const files = withDecay(filesOf('closed-hat'), '300 ms');
    const { page, tell } = await told(files, 5, nothing);
    await tell({ type: 'files', files: withDecay(files, '200 ms'), edition: 4 });
    expect(await decay(page).inputValue()).toBe('300 ms');
    await tell({ type: 'files', files: withDecay(files, '100 ms'), edition: 6 });
    expect(await decay(page).inputValue()).toBe('100 ms');
    // Nor is it a step that could be undone.
    await page.keyboard.press('Control+z');
    await expect.poll(() => decay(page).inputValue()).toBe('300 ms');
  });

  it('that came before a save was answered stands', async () => {
    const files = withDecay(filesOf('closed-hat'), '300 ms');
    const saved = { type: 'saved', files: ['closed-hat.yaml'], edition: 7 } as const;
    const { page, tell } = await told(files, 5, () => saved);
    await page.route('**/save', async (route) => {
      const response = await route.fetch();
      await tell({ type: 'files', files: withDecay(files, '200 ms'), edition: 8 });
      await route.fulfill({ response });
    });
    await decay(page).fill('80 ms');
    await decay(page).press('Enter');
    await page.getByRole('button', { name: /^Save \*/ }).click();
    await expect
      .poll(() => page.locator('.desk .message').textContent())
      .toBe('Saved: closed-hat.yaml.');
    // What the disk holds is no longer what was saved.
    await page.getByRole('button', { name: 'Take the file from disk' }).click();
    await expect.poll(() => decay(page).inputValue()).toBe('200 ms');
  });

  it('that goes against edits here holds saving up, and is kept by who writes over it', async () => {
    const files = withDecay(filesOf('closed-hat'), '300 ms');
    const asked: SaveRequest[] = [];
    const kept = { kept: ['closed-hat-from-disk.yaml'], edition: 7 };
    const { page, tell } = await told(files, 5, (request) => {
      asked.push(request);
      return { type: 'saved', files: ['closed-hat.yaml'], ...kept };
    });
    const message = page.locator('.desk .message');
    await decay(page).fill('80 ms');
    await decay(page).press('Enter');
    await tell({ type: 'files', files: withDecay(files, '200 ms'), edition: 6 });
    await page.getByRole('button', { name: /^Save \*/ }).click();
    await expect.poll(() => message.textContent()).toMatch(/^Not saved: the file has changed/);
    expect(asked).toEqual([]);
    await page.getByRole('button', { name: 'Stay with what is here' }).click();
    await page.getByRole('button', { name: /^Save \*/ }).click();
    await expect.poll(() => message.textContent()).toMatch(/kept as closed-hat-from-disk\.yaml/);
    // It knows nothing of the file that it may lose, so the host keeps whatever is there.
    expect(asked).toMatchObject([{ before: {}, overwrite: true }]);
  });

  it('that goes against edits here waits where no version more can be kept', async () => {
    const files = withDecay(filesOf('closed-hat'), '300 ms');
    const { page, tell } = await told(files, 5, nothing);
    for (let count = 1; count <= 9; count++) {
      // No version is kept twice, so each has a decay of its own.
      const asked = await inPage<number>(page, 'watch.asked');
      await decay(page).fill(`${100 + count} ms`);
      await decay(page).press('Enter');
      expect(await decay(page).inputValue()).toBe(`${100 + count} ms`);
      // What sounds is kept, and a change is heard a moment after the hand: until then it is a twin.
      await until(page, `watch.asked > ${asked} && watch.asked === watch.wholeFor`);
      await page.getByLabel('Name').fill(`version ${count}`);
      await page.getByLabel('Name').press('Enter');
      await expect
        .poll(() => page.getByRole('button', { name: `Remove version ${count}` }).count())
        .toBe(1);
    }
    await decay(page).fill('80 ms');
    await decay(page).press('Enter');
    await tell({ type: 'files', files: withDecay(files, '200 ms'), edition: 6 });
    const take = page.getByRole('button', { name: 'Take the file from disk' });
    for (const name of ['Take the file from disk', 'Stay with what is here'])
      await page.getByRole('button', { name }).click();
    expect(await decay(page).inputValue()).toBe('80 ms');
    await page.getByRole('button', { name: 'Remove version 1' }).click();
    await take.click();
    await expect.poll(() => decay(page).inputValue()).toBe('200 ms');
    await page.getByRole('button', { name: 'Hear before the file changed' }).click();
    await expect.poll(() => decay(page).inputValue()).toBe('80 ms');
  });

  it('that left before a save does not take back what was saved', async () => {
    const files = withDecay(filesOf('closed-hat'), '300 ms');
    const saved = { type: 'saved', files: ['closed-hat.yaml'], edition: 7 } as const;
    const { page, tell } = await told(files, 5, () => saved);
    await decay(page).fill('80 ms');
    await decay(page).press('Enter');
    await page.getByRole('button', { name: /^Save \*/ }).click();
    await page.getByRole('button', { name: 'Saved', exact: true }).waitFor();
    await tell({ type: 'files', files, edition: 6 });
    expect(await decay(page).inputValue()).toBe('80 ms');
    await page.getByRole('button', { name: 'Saved', exact: true }).waitFor();
  });
});
