// The page in use in a real browser: settings, patterns, versions, undo, saving, the file on
// disk; by keys alone; and to assistive technology. Rules: WCAG 2.2 A and AA as axe-core tests them.

import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { beforeAll, describe, expect, it } from 'vitest';
import { expectAccessible } from '../accessibility.ts';
import { close } from '../close.ts';
import { HOSTILE } from '../output/sheet-patches.ts';
import { browsing, folderWith, handOutOf, inPage, pressed, settled, until } from './browser.ts';

const NAME = 'closed-hat';

const { visit, serve } = browsing();
let sheet: string;

beforeAll(async () => {
  sheet = handOutOf(NAME);
});

/** A page that is served beside a file of its own. */
async function served(
  folder = folderWith(NAME),
): Promise<{ page: Page; file: string; complaints: string[] }> {
  const { url } = await serve(folder, NAME);
  const { page, complaints } = await visit(url);
  await settled(page);
  return { page, file: join(folder, `${NAME}.yaml`), complaints };
}

async function opened(page: Page): Promise<void> {
  await settled(page);
  await page.getByRole('button', { name: 'Open all' }).click();
}

const status = (page: Page) => page.locator('.desk .message');
const decay = (page: Page) => page.getByLabel('shape decay', { exact: true });

describe('settings', () => {
  it('are typed, and what is refused stays, with the reason', async () => {
    const { page, complaints, requests } = await visit(sheet);
    await opened(page);
    const before = await decay(page).inputValue();
    await decay(page).fill('80 parsecs');
    await decay(page).press('Enter');
    const refusal = page.locator('.refusal');
    await refusal.waitFor();
    expect(await refusal.textContent()).toMatch(/^Not taken: .*parsecs/);
    expect(await decay(page).inputValue()).toBe('80 parsecs');
    expect(await decay(page).getAttribute('aria-invalid')).toBe('true');
    await decay(page).press('Escape');
    await expect.poll(() => decay(page).inputValue()).toBe(before);
    await decay(page).fill('0.08 s');
    await decay(page).press('Enter');
    // As the file would write it.
    await expect.poll(() => decay(page).inputValue()).toMatch(/^(80 ms|0\.08 s)$/);
    await expect.poll(() => page.locator('.refusal').count()).toBe(0);
    expect(requests).toEqual([]);
    expect(complaints).toEqual([]);
  });

  it('and names are taken as typed, however soon Enter follows', async () => {
    const { page } = await visit(sheet);
    await opened(page);
    await decay(page).waitFor();
    // Within one frame, as on a machine that is busy.
    const typed = (label: string, text: string) =>
      inPage(
        page,
        `(() => {
          const field = [...document.querySelectorAll('input')].find((one) =>
            (one.ariaLabel ?? one.labels[0]?.textContent.trim()) === ${JSON.stringify(label)});
          field.focus();
          document.execCommand('selectAll');
          document.execCommand('insertText', false, ${JSON.stringify(text)});
          field.dispatchEvent(new KeyboardEvent('keydown', { key: 'Enter', bubbles: true }));
          field.form?.requestSubmit();
        })()`,
      );
    await typed('shape decay', '85 ms');
    await settled(page);
    await page.getByRole('button', { name: /^Save \*/ }).waitFor();
    expect(await decay(page).inputValue()).toBe('85 ms');
    await typed('Name', 'short');
    await page.getByRole('button', { name: 'Hear short' }).waitFor();
    expect(await page.getByLabel('Name').inputValue()).toBe('');
  });

  it('move by arrow keys, and undo takes a run of them back as one', async () => {
    const { page } = await visit(sheet);
    await opened(page);
    const before = await decay(page).inputValue();
    const scale = page.getByLabel('shape decay, scale');
    await scale.focus();
    await pressed(page, 'ArrowUp', 5);
    await settled(page);
    const after = await decay(page).inputValue();
    expect(after).not.toBe(before);
    expect(await scale.getAttribute('aria-valuetext')).toBe(after);
    await page.keyboard.press('Control+z');
    await expect.poll(() => decay(page).inputValue()).toBe(before);
    await page.keyboard.press('Control+Shift+z');
    await expect.poll(() => decay(page).inputValue()).toBe(after);
  });

  it('are found by module, kind or setting', async () => {
    const { page } = await visit(sheet);
    await settled(page);
    await page.getByRole('searchbox').fill('cutoff');
    // The closed hat has two filters.
    const found = page.locator('.found li');
    await expect.poll(() => found.count()).toBe(2);
    for (const text of await found.allTextContents()) expect(text).toMatch(/^setting \w+ cutoff/);
    await found.last().getByRole('button').click();
    await expect
      .poll(() => inPage(page, "document.activeElement.closest('.module').dataset.module"))
      .toBe('soft');
  });
});

describe('patterns', () => {
  it('are written by clicks and by keys, and heard', async () => {
    const { page } = await visit(sheet);
    await settled(page);
    const steps = (): Promise<string> =>
      page
        .locator('.tab tbody tr')
        .first()
        .locator('td[data-sign]')
        .evaluateAll((all) => all.map((one) => one.getAttribute('data-sign')).join(''));
    const before = await steps();
    const last = page.locator('.tab tbody tr').first().locator('td').last();
    const sounds = await inPage<number>(page, 'watch.sounds.length');
    await last.click();
    await expect.poll(steps).not.toBe(before);
    await expect.poll(() => inPage<number>(page, 'watch.sounds.length')).toBeGreaterThan(sounds);
    await settled(page);
    // One stop for Tab, arrows within.
    expect(await page.locator('.tab td[tabindex="0"]').count()).toBe(1);
    await page.keyboard.press('Home');
    await page.keyboard.type('X-f');
    await expect.poll(steps).toMatch(/^X-f/);
    await page.keyboard.press('Backspace');
    // The focus went on to the fourth step, which is a rest now.
    await expect.poll(steps).toMatch(/^X-f-/);
    await settled(page);
    expect(await steps()).toMatch(/^X-f-/);
  });

  it('say what a line, a step and a pattern have of their own, each a step back', async () => {
    const { page } = await visit(sheet);
    await opened(page);
    const first = page.locator('.tab tbody td[data-step="0"]').first();
    const gate = page.getByLabel('groove, hat, beat 1, step 1: gate');
    // Its accent becomes a rest, and a hit again, before the first is answered; what is typed meanwhile stays.
    await inPage(
      page,
      `(async () => {
        const step = document.querySelector('.tab tbody td[data-step="0"]');
        step.click();
        step.dispatchEvent(new KeyboardEvent('keydown', { key: 'x', bubbles: true }));
        step.focus();
        await new Promise((drawn) => requestAnimationFrame(() => setTimeout(drawn)));
        document.querySelector('.step-says input[aria-label$="gate"]').focus();
        document.execCommand('insertText', false, '30');
      })()`,
    );
    await settled(page);
    expect(await gate.inputValue()).toBe('30');
    await gate.press('Enter');
    // A share of a step or a time: both are offered.
    await page.getByRole('button', { name: '30 %', exact: true }).waitFor();
    await page.getByRole('button', { name: '30 ms', exact: true }).click();
    await expect.poll(() => first.getAttribute('aria-label')).toMatch(/hit, gate 30 ms$/);
    await expect.poll(() => first.locator('.foot').count()).toBe(1);
    await page.getByText('Other values of groove').click();
    const tempo = page.getByLabel('groove: tempo');
    expect(await tempo.getAttribute('placeholder')).toBe('92 bpm');
    await tempo.fill('1200 bpm');
    await tempo.press('Enter');
    await page.getByText(/Not taken: .*from 1 bpm to 999 bpm/s).waitFor();
    await tempo.fill('101 bpm');
    await tempo.press('Enter');
    await page.locator('.pattern-head', { hasText: 'tempo 101 bpm' }).waitFor();
    await page.getByRole('button', { name: 'Undo' }).click();
    await expect.poll(() => tempo.inputValue()).toBe('');
    await page.getByRole('button', { name: 'Undo' }).click();
    await expect.poll(() => first.locator('.foot').count()).toBe(0);
  });
});

describe('the song', () => {
  it('is put in order by keys and buttons, each a step back', async () => {
    const { page } = await visit(sheet);
    await opened(page);
    const list = page.getByRole('listbox');
    const song = (): Promise<string> =>
      page.locator('.entries > div > span:last-child').allTextContents().then(String);
    // A busy machine draws late.
    const isSong = (words: string): Promise<void> =>
      expect.poll(song, { timeout: 10_000 }).toBe(words);
    await isSong('groove,groove');
    const repeats = page.getByLabel('Entry 1: repeats');
    await repeats.fill('3');
    await repeats.press('Enter');
    await isSong('groove × 3,groove');
    await list.focus();
    await page.keyboard.press('Alt+ArrowDown');
    await isSong('groove,groove × 3');
    // The choice goes with the entry.
    expect(await page.locator('.entries [aria-selected=true]').textContent()).toContain('× 3');
    await page.getByRole('button', { name: 'Add after' }).click();
    await isSong('groove,groove × 3,groove');
    await list.focus();
    await page.keyboard.press('Home');
    await page.keyboard.press('Delete');
    await isSong('groove × 3,groove');
    for (const before of ['groove,groove × 3,groove', 'groove,groove × 3', 'groove × 3,groove']) {
      await page.getByRole('button', { name: 'Undo' }).click();
      await isSong(before);
    }
  });
});

describe('facts, volts and answers', () => {
  it('follow the text under the hand', async () => {
    const { page, complaints } = await visit(sheet);
    await page.getByLabel('Cable 1,').check();
    await opened(page);
    const part = (name: string): Promise<string | null> =>
      page.locator(`[data-part=${name}]`).textContent();
    const put = async (setting: string, text: string): Promise<void> => {
      await page.getByLabel(`drums ${setting}`, { exact: true }).fill(text);
      await page.getByLabel(`drums ${setting}`, { exact: true }).press('Enter');
    };
    await put('tempo', '120 bpm');
    // Two patterns of four quarters.
    await expect.poll(() => part('facts')).toMatch(/120 bpm.*Song4 s/s);
    await put('level', '2 V');
    // From 1 kOhm into 100 kOhm, under the threshold of 2.5 V.
    await expect.poll(() => part('volts')).toContain('1.98 V');
    expect(await part('volts')).toContain('never fires');
    await expect.poll(() => part('answers')).toContain('0 of ');
    // The cables are as they were, and so is what is ticked.
    expect(await page.getByLabel('Cable 1,').isChecked()).toBe(true);
    expect(complaints).toEqual([]);
  });
});

describe('versions', () => {
  it('are kept, told apart, switched by keys and made equally loud', async () => {
    const { page } = await visit(sheet);
    await opened(page);
    await page.getByLabel('Name').fill('long');
    await page.getByLabel('Name').press('Enter');
    const before = await decay(page).inputValue();
    await decay(page).fill('60 ms');
    await decay(page).press('Enter');
    await settled(page);
    await page.getByRole('button', { name: 'Keep what sounds now' }).click();
    const rows = page.locator('.bank tbody tr');
    await expect.poll(() => rows.count()).toBe(2);
    await expect
      .poll(() => rows.nth(1).textContent())
      .toContain(`turn shape.decay from ${before} to 60 ms`);
    await page.locator('h1').click();
    await page.keyboard.press('1');
    await expect.poll(() => decay(page).inputValue()).toBe(before);
    await expect.poll(() => rows.nth(0).getAttribute('aria-current')).toBe('true');
    await page.getByLabel(/Equally loud/).check();
    await settled(page);
    const [long, short] = await Promise.all(
      [0, 1].map(async (row) => {
        const [lufs, gain] = await rows.nth(row).locator('td.figure').allTextContents();
        return [lufs, gain].map((text) =>
          Number(text?.replace('−', '-').replace(/ (LUFS|dB)/, '')),
        );
      }),
    );
    const [a = 0, b = 0] = [long, short].map(
      (figures) => (figures?.[0] ?? 0) + (figures?.[1] ?? 0),
    );
    close(a, b, { abs: 0.15, unit: 'LU', why: 'loudness and gain are each shown to a tenth' });
    // The longer one is the louder one, so it is turned down and the other not.
    expect(short?.[1]).toBe(0);
    expect(long?.[1]).toBeLessThan(-1);
    await rows.nth(1).getByRole('button', { name: 'Remove' }).click();
    await expect.poll(() => rows.count()).toBe(1);
  });
});

describe('saving', () => {
  it('writes back to the file and keeps its comments', async () => {
    const folder = folderWith(NAME);
    const path = join(folder, `${NAME}.yaml`);
    writeFileSync(path, readFileSync(path, 'utf8').replace('cables:', '# mind the cat\ncables:'));
    const { page, file, complaints } = await served(folder);
    await opened(page);
    await decay(page).fill('81 ms');
    await decay(page).press('Enter');
    await page.getByRole('button', { name: /^Save \*/ }).waitFor();
    await page.keyboard.press('Control+s');
    await page.getByRole('button', { name: 'Saved', exact: true }).waitFor();
    await expect.poll(() => status(page).textContent()).toBe(`Saved: ${NAME}.yaml.`);
    const text = readFileSync(file, 'utf8');
    expect(text).toContain('81 ms');
    expect(text).toContain('# mind the cat');
    expect(complaints).toEqual([]);
  });

  it('hands a file out where there is no host, and warns before edits are lost', async () => {
    const { page } = await visit(sheet);
    await opened(page);
    const isAsked = async (): Promise<void> => {
      const asked = page.waitForEvent('dialog');
      const closing = page.close({ runBeforeUnload: true });
      const dialog = await asked;
      expect(dialog.type()).toBe('beforeunload');
      await dialog.dismiss();
      await closing;
    };
    // Typed, and not taken yet; then taken.
    await decay(page).fill('82 ms');
    await page.locator('[data-draft]').waitFor();
    await isAsked();
    expect(await decay(page).inputValue()).toBe('82 ms');
    await decay(page).press('Enter');
    await page.getByRole('button', { name: /^Save \*/ }).waitFor();
    await isAsked();
    const [download] = await Promise.all([
      page.waitForEvent('download'),
      page.keyboard.press('Control+s'),
    ]);
    expect(download.suggestedFilename()).toBe(`${NAME}.yaml`);
    expect(readFileSync(await download.path(), 'utf8')).toContain('82 ms');
    await page.getByRole('button', { name: 'Saved', exact: true }).waitFor();
  });

  it('follows the file on disk, and asks where there are edits', async () => {
    const { page, file } = await served();
    await opened(page);
    const text = readFileSync(file, 'utf8');
    const withDecay = (value: string): string =>
      text.replace(/decay: [\d.]+ ms/, `decay: ${value}`);
    writeFileSync(file, withDecay('91 ms'));
    await expect.poll(() => decay(page).inputValue()).toBe('91 ms');
    // Its errors are told in their place, and the last good sound stays.
    writeFileSync(file, withDecay('91 parsecs'));
    await page.locator('.problems pre').waitFor();
    expect(await page.locator('.problems pre').textContent()).toContain('parsecs');
    expect(await page.getByRole('button', { name: 'Play' }).isEnabled()).toBe(true);
    // Told where the hand is, too.
    await page.getByRole('link', { name: /^The file has problems/ }).waitFor();
    writeFileSync(file, withDecay('91 ms'));
    await page.locator('.problems pre').waitFor({ state: 'detached' });
    await decay(page).fill('150 ms');
    await decay(page).press('Enter');
    await page.getByRole('button', { name: /^Save \*/ }).waitFor();
    writeFileSync(file, withDecay('40 ms'));
    await page.getByRole('button', { name: 'Take the file from disk' }).click();
    await expect.poll(() => decay(page).inputValue()).toBe('40 ms');
    // What was here is not lost.
    await page.getByRole('button', { name: 'Hear before the file changed' }).click();
    await expect.poll(() => decay(page).inputValue()).toBe('150 ms');
  });

  it('says when the host has gone, and loses nothing', async () => {
    const folder = folderWith(NAME);
    const { url, close } = await serve(folder, NAME);
    const { page } = await visit(url);
    await opened(page);
    await close();
    await page.getByText('Forehear is not connected; it').waitFor();
    await decay(page).fill('83 ms');
    await decay(page).press('Enter');
    await page.getByRole('button', { name: /^Save \*/ }).click();
    await expect.poll(() => status(page).textContent()).toMatch(/^Not saved: /);
    const [download] = await Promise.all([
      page.waitForEvent('download'),
      page.getByRole('button', { name: 'Download the file' }).click(),
    ]);
    expect(readFileSync(await download.path(), 'utf8')).toContain('83 ms');
  });
});

describe('a hostile patch', () => {
  it('runs nothing, from the disk or typed', async () => {
    const folder = folderWith(NAME);
    const path = join(folder, `${NAME}.yaml`);
    const words = JSON.stringify(HOSTILE);
    const text = readFileSync(path, 'utf8')
      .replace(/^title: .*$/m, `title: ${words} # ${HOSTILE}`)
      .replace(/^about: >\n(?: .*\n)+/m, `about: ${words}\n`)
      .replace(/^seed: .*$/m, `seed: ${words}`);
    writeFileSync(path, text);
    const { page, complaints } = await served(folder);
    await opened(page);
    expect(await page.locator('h1').textContent()).toBe(HOSTILE);
    await decay(page).fill(HOSTILE);
    await decay(page).press('Enter');
    await page.locator('.refusal').waitFor();
    await decay(page).press('Escape');
    await page.getByLabel('Name').fill(HOSTILE);
    await page.getByLabel('Name').press('Enter');
    await expect.poll(() => page.locator('.bank tbody').textContent()).toContain(HOSTILE);
    // A line that is told with what is wrong in it.
    writeFileSync(path, text.replace('kind: noise', `kind: ${words}`));
    await page.locator('.problems pre').waitFor();
    expect(await page.locator('.problems pre').textContent()).toContain('onerror');
    expect(await inPage(page, 'typeof hit')).toBe('undefined');
    expect(await page.locator('img[src=x], [onload], [onerror]').count()).toBe(0);
    expect(complaints).toEqual([]);
  });
});

describe('a jack', () => {
  it('is listened to by a click in the diagram, and the mix again by another', async () => {
    const { page } = await visit(sheet);
    await settled(page);
    const jack = page.locator('[data-jack="shape.out"]').first();
    await jack.click();
    await page.locator('.listening', { hasText: 'shape.out' }).waitFor();
    await settled(page);
    await page
      .getByRole('img', { name: /^Volts at shape.out through the loop/ })
      .first()
      .waitFor();
    await jack.click();
    await expect.poll(() => page.locator('.listening').count()).toBe(0);
    // By keys: the list.
    await page.getByLabel('Listen at').selectOption('shape.out');
    await page.locator('.listening', { hasText: 'shape.out' }).waitFor();
  });
});

describe('to everyone', () => {
  // Colours depend on the scheme alone, and what fits on the width alone.
  const narrow = { width: 320, height: 700 };

  it('keeps the accessibility rules: light and wide, dark and narrow', async () => {
    const { page } = await visit(sheet, { colorScheme: 'light', bypassCSP: true });
    const wide = page.viewportSize() ?? narrow;
    const accessible = async (): Promise<void> => {
      for (const [colorScheme, size] of [
        ['light', wide],
        ['dark', narrow],
      ] as const) {
        await page.emulateMedia({ colorScheme });
        await page.setViewportSize(size);
        // WCAG 2.1, 1.4.10: no scrolling in two directions at 320 px.
        expect(await inPage(page, 'document.documentElement.scrollWidth')).toBe(size.width);
        await expectAccessible(page);
      }
    };
    await opened(page);
    // So that the strip tells a fault, and the setting that has made it does: one that a check before had not found.
    await until(page, 'watch.isChecked');
    await page.getByLabel('drums gate', { exact: true }).fill('0.2 ms');
    await page.getByLabel('drums gate', { exact: true }).press('Enter');
    await page.locator('.told-row .mend').waitFor();
    await decay(page).fill('80');
    await decay(page).press('Enter');
    await page.getByRole('button', { name: '80 ms', exact: true }).waitFor();
    await accessible();
    await decay(page).fill('80 parsecs');
    await decay(page).press('Enter');
    await page.locator('.refusal').waitFor();
    await page.getByRole('button', { name: 'Keep what sounds now' }).click();
    await page.getByLabel(/Equally loud/).check();
    await page.getByLabel('Listen at').selectOption('shape.out');
    await page.getByRole('button', { name: 'Save as…' }).click();
    await settled(page);
    await accessible();
  });

  it('is reached by Tab alone, every control with a focus that can be seen', async () => {
    const { page } = await visit(sheet);
    await opened(page);
    await page.locator('.skip').focus();
    const seen = new Set<string>();
    const unmarked: string[] = [];
    for (let press = 0; press < 300; press++) {
      await page.keyboard.press('Tab');
      const [name, outline, isLast] = await inPage<[string, string, boolean]>(
        page,
        `(() => {
          const { activeElement: one } = document;
          const style = getComputedStyle(one);
          const name = one.getAttribute('aria-label') ?? one.textContent?.trim() ?? '';
          return [one.tagName + ' ' + name.slice(0, 60), style.outlineStyle + ' ' + style.outlineWidth, one === document.body];
        })()`,
      );
      if (isLast) break;
      seen.add(name);
      if (/none|0px/.test(outline)) unmarked.push(name);
    }
    expect(unmarked).toEqual([]);
    const all = [...seen].join('\n');
    for (const control of [
      'BUTTON Play',
      'DIV Place in the loop',
      'INPUT shape decay',
      'INPUT shape decay, scale',
      'TD hat, beat 1, step 1',
      'BUTTON Keep what sounds now',
    ])
      expect(all).toContain(control);
  });

  it('keeps everything where it is while the engine’s answers come in', async () => {
    const { page } = await visit(sheet);
    const from = await inPage<number>(
      page,
      'new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))',
    );
    // Where most lies above that could move.
    await page.locator('.tab').first().scrollIntoViewIfNeeded();
    await until(page, 'watch.isChecked');
    await settled(page);
    // W3C Layout Instability: 0.1 of a screen is what a visit may come to; here a press would miss.
    const shifts = await inPage<{ value: number; at: number }[]>(page, 'watch.shifts');
    const moved = shifts.filter(({ at }) => at > from).reduce((sum, { value }) => sum + value, 0);
    expect(moved).toBeLessThan(0.001);
  });

  it('prints its values, and no controls', async () => {
    const { page } = await visit(sheet);
    await opened(page);
    await decay(page).fill('84 ms');
    await decay(page).press('Enter');
    await settled(page);
    // A lone box on paper is the sheet's own, which draws its tick itself.
    const ticked = page.locator('[data-cable]').first();
    await ticked.check();
    await page.emulateMedia({ media: 'print' });
    const tick = await inPage<string>(
      page,
      "getComputedStyle(document.querySelector('[data-cable]'), '::before').borderRightWidth",
    );
    expect(Number.parseFloat(tick)).toBeGreaterThan(0);
    const printed = page.locator('.turned li:visible', { hasText: /^decay/ });
    await expect.poll(() => printed.textContent()).toMatch(/^decay 84 ms/);
    expect(await page.locator('button:visible, input:not([type=checkbox]):visible').count()).toBe(
      0,
    );
  });

  it('moves from beat to beat for who asked for less motion', async () => {
    const { page } = await visit(sheet, { reducedMotion: 'reduce' });
    await settled(page);
    await page.getByRole('button', { name: 'Play' }).click();
    const places = await inPage<string[]>(
      page,
      `new Promise((resolve) => {
        const seen = [];
        const line = document.querySelector('.waveform .now');
        const look = () => {
          if (seen.at(-1) !== line.style.transform) seen.push(line.style.transform);
          if (performance.now() < until) requestAnimationFrame(look);
          else resolve(seen);
        };
        const until = performance.now() + 2000;
        look();
      })`,
    );
    // 2 s at some 92 quarters a minute are about three beats.
    expect(places.length).toBeGreaterThan(1);
    expect(places.length).toBeLessThan(6);
  });
});
