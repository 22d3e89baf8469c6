/**
 * What each control of the worksheet is for, served or as a hand-out: how it is used, and what is
 * then seen, heard (what the player starts) or downloaded.
 */

import { readFileSync } from 'node:fs';
import type { Download, Locator, Page } from 'playwright-core';
import { inPage, settled, until } from './browser.ts';
import { PATIENCE, type Row, refused, seen } from './controls.ts';
import { scoreRows } from './controls-score.ts';

export interface Sheet {
  readonly page: Page;
  /** Base name of the patch file. */
  readonly file: string;
  /** The clip that the command line writes of the same patch, looped. */
  readonly clip: Uint8Array;
  /** Text of a file beside the patch; undefined where there is none, or no host. */
  readonly onDisk?: (name: string) => string | undefined;
}

/** Hostile and huge texts, that no field takes for more than text. */
export const HOSTILE_TEXTS: readonly string[] = [
  '<img src=x onerror="globalThis.hit=1">',
  '"]}\n- x: {{hit}} %s \\ [ * (',
  '\u202E\u0007\u001B[31m',
  '1e999',
  'x'.repeat(100_000),
];

/** What is no name for a file beside the patch. */
const NO_NAMES = ['../../x.yaml', '/tmp/x.yaml', '.hidden', 'a\u0007b', 'x'.repeat(10_000)];

const message = (page: Page): Promise<string> =>
  page
    .locator('.desk .message')
    .textContent()
    .then((text) => text?.trim() ?? '');

const decay = (page: Page): Locator => page.locator('input[aria-label="shape decay"]');
const saveButton = (page: Page): Locator => page.locator('.edits button').last();

/** Waits until what was asked for is played whole. */
export function heard(page: Page): Promise<void> {
  return until(page, 'watch.asked === watch.wholeFor');
}

const starts = (page: Page): Promise<number> => inPage(page, 'watch.starts.length');
const undo = (page: Page): Promise<void> => page.locator('.edits button').first().click();

async function handedOut(page: Page, press: () => Promise<unknown>): Promise<Download> {
  const [download] = await Promise.all([
    page.waitForEvent('download', { timeout: PATIENCE }),
    press(),
  ]);
  return download;
}

async function fits(what: string, is: unknown, should: unknown): Promise<void> {
  await seen(
    `${what} ${JSON.stringify(should)}`,
    () => is,
    (value) => value === should,
  );
}

let edits = 0;

/** Makes an edit, so that there is something to undo and to save; no two alike, since twins are not kept. */
async function edit(page: Page): Promise<string> {
  const before = await decay(page).inputValue();
  edits += 1;
  const value = `${123 + edits} ms`;
  await decay(page).fill(value);
  await decay(page).press('Enter');
  await seen(
    `shape decay at ${value}`,
    () => decay(page).inputValue(),
    (now) => now === value,
  );
  await seen(
    'unsaved edits',
    () => saveButton(page).textContent(),
    (text) => /\*/.test(text ?? ''),
  );
  return before;
}

/** Keeps versions until there are two, so that they can be compared. */
async function twoVersions(page: Page): Promise<void> {
  const rows = page.locator('.bank tbody tr');
  for (let count = await rows.count(); count < 2; count++) {
    await edit(page);
    await heard(page);
    await page.getByRole('button', { name: 'Keep what sounds now' }).click();
    await seen(
      'a version more',
      () => rows.count(),
      (now) => now === count + 1,
    );
  }
}

/** The rows. The modules of the patch are open, or the walk will open them. */
export function sheetTable({ page, file, clip, onDisk }: Sheet): readonly Row[] {
  const base = file.replace(/\.yaml$/, '');
  const isServed = onDisk !== undefined;
  const text = (locator: Locator): Promise<string> =>
    locator.textContent().then((words) => words ?? '');
  const ticked: Row['press'] = async (at) => {
    await at.click();
    await fits('a tick', await at.isChecked(), true);
  };
  const link =
    (place: string): Row['press'] =>
    async (at) => {
      await at.focus();
      await page.keyboard.press('Enter');
      await seen(
        `${place} in view`,
        () =>
          inPage<number>(page, `document.querySelector('${place}').getBoundingClientRect().top`),
        (top) => top >= -1 && top < (page.viewportSize()?.height ?? 0),
      );
    };
  const pattern = (at: Locator): Locator => at.locator('xpath=ancestor::*[@class="pattern"]');

  return [
    // The strip.
    {
      role: 'button',
      name: /^(Play|Stop)$/,
      press: async () => {
        const button = page.locator('.strip .play');
        const before = await starts(page);
        await button.click();
        await seen(
          'Stop',
          () => text(button),
          (now) => now === 'Stop',
        );
        await seen(
          'a start',
          () => starts(page),
          (now) => now > before,
        );
        await button.click();
        await seen(
          'Play',
          () => text(button),
          (now) => now === 'Play',
        );
        // Twice in quick succession: as before.
        await button.dblclick();
        await seen(
          'Play',
          () => text(button),
          (now) => now === 'Play',
        );
      },
    },
    {
      role: 'slider',
      name: /^Place in the loop$/,
      press: async (at) => {
        const place = (): Promise<number> => at.getAttribute('aria-valuenow').then(Number);
        await at.press('Home');
        await seen('the start', place, (now) => now === 0);
        await at.press('ArrowRight');
        await seen('a place further on', place, (now) => now > 0);
        await at.press('PageUp');
        await at.press('Home');
        const { width, height } = (await at.boundingBox()) ?? { width: 0, height: 0 };
        await at.click({ position: { x: width / 2, y: height / 2 } });
        await seen('the middle', place, (now) => Math.abs(now - 0.5) < 0.01);
        await at.press('Home');
      },
    },
    {
      role: 'slider',
      name: /^Volume$/,
      press: async (at) => {
        await at.press('Home');
        await seen(
          'silence',
          () => at.getAttribute('aria-valuetext'),
          (now) => now === 'silent',
        );
        await at.press('ArrowRight');
        await seen(
          '-59 dB',
          () => at.getAttribute('aria-valuetext'),
          (now) => now === '−59 dB',
        );
      },
    },
    {
      role: 'button',
      name: /^Undo$/,
      reveals: true,
      press: async (at) => {
        const before = await edit(page);
        await at.click();
        await seen(
          'the value before',
          () => decay(page).inputValue(),
          (now) => now === before,
        );
      },
    },
    {
      role: 'button',
      name: /^Redo$/,
      press: async (at) => {
        const before = await edit(page);
        const after = await decay(page).inputValue();
        await undo(page);
        await seen(
          'the value before',
          () => decay(page).inputValue(),
          (now) => now === before,
        );
        await at.click();
        await seen(
          'the value again',
          () => decay(page).inputValue(),
          (now) => now === after,
        );
        await undo(page);
        await seen(
          'the value before',
          () => decay(page).inputValue(),
          (now) => now === before,
        );
      },
    },
    {
      role: 'button',
      name: /^Saved?( \*.*)?$/,
      press: async (at, { name }) => {
        if (name === 'Saved') {
          await at.click();
          await seen(
            'nothing to save',
            () => message(page),
            (now) => /nothing to save/.test(now),
          );
          return;
        }
        // The form's own, or what is due in the strip.
        if (name === 'Save') {
          await savesAs(page, isServed, onDisk);
          return;
        }
        await edit(page);
        if (isServed) {
          // Twice in quick succession: saved, and no conflict with oneself.
          await saveButton(page).dblclick();
          await seen(
            'Saved',
            () => text(saveButton(page)),
            (now) => now === 'Saved',
          );
          await fits('a conflict', await page.getByText('Not saved').count(), 0);
          await fits('the disk', onDisk(file)?.includes(await decay(page).inputValue()), true);
        } else {
          const download = await handedOut(page, () => saveButton(page).click());
          await fits('a name', download.suggestedFilename(), file);
          await seen(
            'Saved',
            () => text(saveButton(page)),
            (now) => now === 'Saved',
          );
        }
      },
    },
    {
      role: 'link',
      name: /^Show /,
      press: async (at, { name }) => {
        await at.focus();
        await page.keyboard.press('Enter');
        // Where it leads is named by the link: a setting's field has that label, a cable's tick its ends.
        const place = name.replace(/^Show /, '');
        await seen(
          `the focus at ${place}`,
          () =>
            inPage<string>(
              page,
              "document.activeElement?.getAttribute('aria-label') ?? document.activeElement?.textContent ?? ''",
            ),
          (now) => (place.startsWith('the cable') ? now.startsWith('Cable ') : now.includes(place)),
        );
      },
    },
    {
      role: 'button',
      name: /^Mend$/,
      press: async () => {
        // A release far shorter than the decay cuts it short; the mend is one as long as it.
        const release = page.getByLabel('shape release', { exact: true });
        const before = await release.inputValue();
        const changed = '21 ms';
        const isTold = (is: boolean): Promise<void> =>
          seen(
            is ? 'a finding' : 'no finding',
            () => page.locator('.told-now').count(),
            (now) => now > 0 === is,
          );
        for (const value of [await decay(page).inputValue(), changed]) {
          await release.fill(value);
          await release.press('Enter');
          await isTold(value === changed);
        }
        const row = page.locator('[data-setting=release].caution + .told-row');
        await row.getByRole('button', { name: 'Mend' }).waitFor();
        await fits('words', /new caution/.test(await text(row)), true);
        await page.locator('.verdict .mend').focus();
        await page.keyboard.press('Enter');
        await seen(
          'the decay as release',
          () => release.inputValue(),
          (now) => now !== changed,
        );
        await fits(
          'the decay as release',
          await release.inputValue(),
          await decay(page).inputValue(),
        );
        await isTold(false);
        // Changes of one setting that follow at once are one step back.
        for (let steps = 0; steps < 3 && (await release.inputValue()) !== before; steps++) {
          const now = await release.inputValue();
          await undo(page);
          await seen(
            'a step back',
            () => release.inputValue(),
            (then) => then !== now,
          );
        }
        await fits('the release', await release.inputValue(), before);
        await isTold(true);
        await heard(page);
      },
    },
    {
      role: 'button',
      name: /^back to .+: .+$/,
      press: async (at, { name }) => {
        const [, usual = '', label = ''] = /^back to (.+): (.+)$/.exec(name) ?? [];
        const value = (): Promise<string> => page.getByLabel(label, { exact: true }).inputValue();
        const before = await value();
        await at.focus();
        await page.keyboard.press('Enter');
        // The button has four digits, the file all.
        const isUsual = (now: string): boolean =>
          now === usual || Math.abs(Number.parseFloat(now) / Number.parseFloat(usual) - 1) < 5e-4;
        await seen(`${label} at ${usual}`, value, isUsual);
        await seen(
          'the end of the way back',
          () => at.count(),
          (now) => now === 0,
        );
        await fits('the focus', await isFocused(page.getByLabel(label, { exact: true })), true);
        await undo(page);
        await seen(`${label} at ${before}`, value, (now) => now === before);
        await heard(page);
      },
    },
    // The desk.
    {
      role: 'checkbox',
      name: /^Loop$/,
      press: async (at) => {
        await at.click();
        await fits('Loop', await at.isChecked(), false);
        // It ends by itself, from its last bar on.
        await page.getByRole('slider', { name: 'Place in the loop' }).press('End');
        await page.locator('.strip .play').click();
        await page.getByRole('slider', { name: 'Place in the loop' }).press('ArrowRight');
        await page.getByRole('slider', { name: 'Place in the loop' }).press('ArrowRight');
        await page.getByRole('slider', { name: 'Place in the loop' }).press('ArrowRight');
        await seen(
          'its end',
          () => text(page.locator('.strip .play')),
          (now) => now === 'Play',
        );
        await at.click();
      },
    },
    {
      role: 'combobox',
      name: /^Length$/,
      press: async (at) => {
        for (const option of await at.locator('option').allTextContents()) {
          const frames = () => inPage<number>(page, 'watch.sounds.at(-1).frames');
          await at.selectOption({ label: option });
          await heard(page);
          await fits('the length chosen', await at.locator('option:checked').textContent(), option);
          await fits('sound of some length', (await frames()) > 0, true);
        }
        await at.selectOption({ index: 0 });
        await heard(page);
      },
    },
    {
      role: 'combobox',
      name: /^From$/,
      press: async (at) => {
        const options = await at.locator('option').allTextContents();
        await fits('places', options.length > 1, true);
        for (const option of options) {
          await at.selectOption({ label: option });
          await heard(page);
          await fits('the place chosen', await at.locator('option:checked').textContent(), option);
        }
        await at.selectOption({ index: 0 });
        await heard(page);
      },
    },
    {
      role: 'button',
      name: /^Clip as WAV$/,
      press: async (at) => {
        await heard(page);
        const download = await handedOut(page, () => at.dblclick());
        await fits('a name', download.suggestedFilename(), `${base}.wav`);
        const bytes = readFileSync(await download.path());
        await fits('the bytes of the command line', bytes.equals(clip), true);
        await seen(
          'its message',
          () => message(page),
          (now) => now.endsWith(`${base}.wav.`),
        );
      },
    },
    {
      role: 'button',
      name: /^Save as…$/,
      reveals: true,
      press: async (at) => {
        await at.click();
        const field = page.getByLabel('New file');
        await seen('the field in focus', () => isFocused(field), Boolean);
      },
    },
    {
      role: 'textbox',
      name: /^New file$/,
      press: async (at) => {
        await openForm(page);
        if (isServed)
          for (const bad of NO_NAMES) {
            await at.fill(bad);
            await at.press('Enter');
            // What is refused stays, with the reason beside it.
            await seen(
              'a refusal',
              () => page.locator('.save-as .refusal').count(),
              (now) => now === 1,
            );
            await seen(
              'the form',
              () => at.count(),
              (now) => now === 1,
            );
          }
        await at.fill('');
        await at.press('Enter');
        await fits('the form', await at.count(), 1);
        await at.press('Escape');
        await seen(
          'no form',
          () => at.count(),
          (now) => now === 0,
        );
      },
    },
    {
      role: 'button',
      name: /^Cancel$/,
      press: async (at) => {
        await openForm(page);
        await at.click();
        await seen(
          'no form',
          () => page.getByLabel('New file').count(),
          (now) => now === 0,
        );
        await seen(
          'the focus where it was',
          () => isFocused(page.getByRole('button', { name: 'Save as…' })),
          Boolean,
        );
      },
    },
    {
      role: 'button',
      name: /^Download the file$/,
      press: async (at) => {
        const download = await handedOut(page, () => at.click());
        await fits('a name', download.suggestedFilename(), file);
        const words = readFileSync(await download.path(), 'utf8');
        await fits('the text', words.includes('kind: rhythm'), true);
      },
    },
    {
      role: 'checkbox',
      name: /^Keys:?$/,
      press: async (at) => {
        const button = page.locator('.strip .play');
        await at.click();
        await page.locator('h1').click();
        await page.keyboard.press('Space');
        await fits('what Space does without', await text(button), 'Play');
        await at.click();
        await page.locator('h1').click();
        await page.keyboard.press('Space');
        await seen(
          'what Space does',
          () => text(button),
          (now) => now === 'Stop',
        );
        await page.keyboard.press('Space');
        await seen(
          'what Space does',
          () => text(button),
          (now) => now === 'Play',
        );
      },
    },
    // Versions.
    {
      role: 'textbox',
      name: /^Name$/,
      press: async (at) => {
        // A version that is kept before it is heard to its end has to be heard again to be compared.
        await heard(page);
        await at.fill('mine');
        await at.press('Enter');
        const row = page.locator('.bank tbody th', { hasText: 'mine' });
        await seen(
          'the version',
          () => row.count(),
          (now) => now === 1,
        );
        await fits('the field', await at.inputValue(), '');
        // Keys are letters here.
        await at.pressSequentially('1 x');
        await fits('what is typed', await at.inputValue(), '1 x');
        await at.fill('');
      },
    },
    {
      role: 'button',
      name: /^Keep what sounds now$/,
      press: async (at) => {
        const rows = page.locator('.bank tbody tr');
        await edit(page);
        await heard(page);
        const before = await rows.count();
        // A twin is not kept: twice in quick succession is once.
        await at.dblclick();
        await seen(
          'a version more',
          () => rows.count(),
          (now) => now === before + 1,
        );
        await seen(
          'a refusal',
          () => message(page),
          (now) => /kept already/.test(now),
        );
        await seen(
          'one that sounds',
          () => page.locator('.bank [aria-current]').count(),
          (now) => now === 1,
        );
        await undo(page);
      },
    },
    {
      role: 'button',
      name: /^Retitle .+/,
      press: async () => {
        await twoVersions(page);
        const row = page.locator('.bank tbody tr').first();
        const name = () => text(row.locator('th'));
        const before = await name();
        const given =
          (await row.locator('th').evaluate((cell) => cell.firstChild?.textContent)) ?? '';
        const begin = row.getByRole('button', { name: /^Retitle / });
        const field = row.getByRole('textbox');
        for (const [key, typed] of [
          ['Escape', 'another'],
          ['Enter', ' '],
        ] as const) {
          await begin.click();
          await field.fill(typed);
          await field.press(key);
          await seen('the name', name, (now) => now === before);
        }
        await begin.click();
        await field.fill('another');
        await field.press('Enter');
        await seen('the new name', name, (now) => now.startsWith('another'));
        await fits('the focus', await isFocused(begin), true);
        await begin.click();
        await field.fill(given);
        await field.press('Enter');
        await seen('the name', name, (now) => now === before);
      },
    },
    ...[/^Figures side by side$/, /^Spectra over each other$/, /^Can you tell two apart\?$/].map(
      (name): Row => ({
        role: 'DisclosureTriangle',
        name,
        reveals: true,
        press: async (at) => {
          await twoVersions(page);
          await at.click();
          await seen(
            'it open',
            () => at.locator('xpath=..').getAttribute('open'),
            (now) => now !== null,
          );
        },
      }),
    ),
    {
      role: 'checkbox',
      name: /^spectrum of /,
      press: async (at) => {
        const lines = page.locator(
          '[aria-label="Spectra of kept versions"] path[stroke-width="1.8"]',
        );
        const before = await at.isChecked();
        await at.click();
        await fits('the tick', await at.isChecked(), !before);
        await at.click();
        await seen(
          'the lines',
          () => lines.count(),
          (now) => now > 0,
        );
      },
    },
    {
      role: 'combobox',
      name: /^(Tell|from)$/,
      press: async (at) => {
        await twoVersions(page);
        for (const index of [1, 0]) {
          await at.selectOption({ index });
          await seen(
            'the choice',
            () =>
              at.evaluate((list) => (list as unknown as { selectedIndex: number }).selectedIndex),
            (now) => now === index,
          );
        }
      },
    },
    {
      role: 'spinbutton',
      name: /^Trials$/,
      press: async (at) => {
        await twoVersions(page);
        // Whatever was chosen before.
        await page.getByRole('combobox', { name: 'from', exact: true }).selectOption({ index: 1 });
        await page.getByRole('combobox', { name: 'Tell', exact: true }).selectOption({ index: 0 });
        await settled(page);
        await at.fill('3');
        await page.locator('#begin').click();
        await seen(
          'a refusal',
          () => at.getAttribute('aria-invalid'),
          (now) => now === 'true',
        );
        await at.fill('5');
      },
    },
    {
      role: 'button',
      name: /^Begin$/,
      press: async () => {
        await twoVersions(page);
        await settled(page);
        await page.getByRole('combobox', { name: 'from', exact: true }).selectOption({ index: 1 });
        await page.getByRole('combobox', { name: 'Tell', exact: true }).selectOption({ index: 0 });
        await settled(page);
        await page.locator('#begin').click();
        await page.locator('#give-up').click();
        await seen(
          'an honest word',
          () => text(page.locator('#blind-result')),
          (now) => now.includes('it shows nothing'),
        );
      },
    },
    {
      role: 'checkbox',
      name: /^Equally loud/,
      press: async (at) => {
        await at.click();
        const head = page.locator('.bank th', { hasText: 'turned by' });
        await seen(
          'a column',
          () => head.count(),
          (now) => now === 1,
        );
        await at.click();
        await seen(
          'no column',
          () => head.count(),
          (now) => now === 0,
        );
      },
    },
    {
      role: 'button',
      name: /^Hear .+/,
      press: async (at) => {
        await at.click();
        await seen(
          'its mark',
          () => at.getAttribute('aria-pressed'),
          (now) => now === 'true',
        );
        await at.dblclick();
        await fits('its mark', await at.getAttribute('aria-pressed'), 'true');
      },
    },
    {
      role: 'button',
      name: /^Remove .+/,
      press: async (at, { name }) => {
        const rows = page.locator('.bank tbody tr');
        if ((await at.count()) === 0) return;
        const before = await rows.count();
        // What was begun before still moves rows when it is told.
        await settled(page);
        // The next one comes under the hand; it stays.
        await at.dblclick();
        await seen(
          'its end',
          () => at.count(),
          (now) => now === 0,
        );
        await fits(`rows after ${name}`, await rows.count(), before - 1);
      },
    },
    ...scoreRows({ page, undo: () => undo(page) }),
    // The diagram.
    {
      role: 'combobox',
      name: /^Listen at$/,
      reveals: true,
      press: async (at) => {
        const outline = () =>
          page
            .locator('.waveform .outline')
            .getAttribute('d')
            .then((d) => d ?? '');
        await settled(page);
        const mix = await outline();
        for (const jack of (await at.locator('option').allTextContents()).slice(1, 4)) {
          await at.selectOption({ label: jack });
          await page.getByText(`Listening at ${jack}`).first().waitFor();
          await heard(page);
        }
        await at.selectOption({ label: 'shape.out' });
        await heard(page);
        await seen('what sounds in the strip', outline, (now) => now !== mix);
        await at.selectOption({ index: 0 });
        await seen('the mix in the strip', outline, (now) => now === mix);
        // So that there is a way back.
        await at.selectOption({ label: 'shape.out' });
        await page.getByRole('button', { name: 'Back to the mix' }).waitFor();
      },
    },
    {
      role: 'button',
      name: /^Back to the mix$/,
      press: async (at) => {
        await page.getByLabel('Listen at').selectOption('shape.out');
        await at.click();
        await seen(
          'the mix',
          () => page.getByLabel('Listen at').inputValue(),
          (now) => now === '',
        );
      },
    },
    // Cables and settings.
    {
      role: 'button',
      name: /^Patch along$/,
      press: async (at) => {
        await at.click();
        await page.locator('.along-number').waitFor();
        await page.keyboard.press('Escape');
        await seen(
          'no dialog',
          () => page.locator('dialog').count(),
          (now) => now === 0,
        );
        await fits('the focus', await isFocused(at), true);
      },
    },
    { role: 'checkbox', name: /: (plugged|set)$/, press: ticked },
    {
      role: 'searchbox',
      name: /^Find$/,
      press: async (at) => {
        const found = page.locator('.found li');
        await at.fill('shape dec');
        await seen(
          'one setting',
          () => found.allTextContents(),
          (now) => now.length === 1 && /^setting shape decay \d/.test(now[0] ?? ''),
        );
        // Its own undo, and no step back of the patch.
        const before = await saveButton(page).textContent();
        await at.press('Control+z');
        await fits('the patch', await saveButton(page).textContent(), before);
        for (const odd of HOSTILE_TEXTS) {
          await at.fill(odd);
          await seen(
            'nothing found',
            () => text(page.locator('.found')),
            (now) => now === 'Nothing has that name.',
          );
          await fits('what is found', await found.count(), 0);
        }
        // Arrows go through what is found and back; Enter takes the first of it.
        await at.fill('shape dec');
        await seen(
          'one setting again',
          () => found.count(),
          (now) => now === 1,
        );
        await at.press('ArrowDown');
        await seen('the first of it in focus', () => isFocused(found.getByRole('button')), Boolean);
        await page.keyboard.press('ArrowUp');
        await seen('the field in focus', () => isFocused(at), Boolean);
        await at.press('Enter');
        await seen('the focus at the setting', () => isFocused(decay(page)), Boolean);
        await fits('the field', await at.inputValue(), '');
        await at.fill('cable 3 ');
        await at.press('Enter');
        await seen(
          'the focus at the cable',
          () => isFocused(page.getByRole('checkbox', { name: /^Cable 3,/ })),
          Boolean,
        );
        await at.fill('hiss.white');
        await at.press('Enter');
        await seen(
          'the jack in the diagram',
          () => page.locator('[data-jack="hiss.white"][data-shown]').count(),
          (now) => now === 1,
        );
        await at.fill('hat');
        await at.press('Escape');
        await seen(
          'nothing open',
          () => page.locator('.found').count(),
          (now) => now === 0,
        );
      },
    },
    // Voices.
    {
      role: 'button',
      name: /^(the whole|hat)$/,
      press: async (at) => {
        await at.click();
        await seen(
          'the chapter',
          () => at.getAttribute('aria-pressed'),
          (now) => now === 'true',
        );
        const own = (await text(at)) === 'hat' ? 'hat' : '';
        await fits(
          'the charts',
          await page.getByRole('combobox', { name: 'Voice', exact: true }).inputValue(),
          own,
        );
        await page.getByRole('button', { name: 'the whole', exact: true }).click();
      },
    },
    {
      role: 'button',
      name: /^Strike /,
      press: async (at) => {
        const isQuiet = (await text(page.locator('.strip .play'))) === 'Play';
        await fits('quiet', isQuiet, true);
        const before = await starts(page);
        await at.click();
        await seen(
          'one sound',
          () => starts(page),
          (now) => now === before + 1,
        );
        // By keys, and by the letter that it has.
        await at.press('Enter');
        await seen(
          'another',
          () => starts(page),
          (now) => now === before + 2,
        );
        await page.locator('h1').click();
        await page.keyboard.press((await at.getAttribute('aria-keyshortcuts')) ?? '');
        await seen(
          'a third',
          () => starts(page),
          (now) => now === before + 3,
        );
      },
    },
    {
      role: 'button',
      name: /^(Use a MIDI pad|Look for MIDI pads again)$/,
      press: async (at) => {
        await at.click();
        await seen(
          'what came of it',
          () => text(page.locator('.striking [role=status]')),
          (now) => /^(Listening to|No MIDI input|The browser does not allow MIDI)/.test(now),
        );
      },
    },
    {
      role: 'button',
      name: / in the diagram$/,
      press: async (at, { name }) => {
        await at.click();
        const module = name.replace(/ in the diagram$/, '');
        await seen(
          'its block',
          () => page.locator(`[data-block="${module}"][data-shown]`).count(),
          (now) => now === 1,
        );
        // And back.
        await page.locator(`[data-block="${module}"] text`).first().click();
        await seen(
          'the focus at the module',
          () => isFocused(page.locator(`[data-module="${module}"] > summary`)),
          Boolean,
        );
      },
    },
    {
      role: 'button',
      name: /^Open all$/,
      press: async (at) => {
        await at.click();
        await seen(
          'all open',
          () => page.locator('.module:not([open])').count(),
          (now) => now === 0,
        );
      },
    },
    {
      role: 'button',
      name: /^Close all$/,
      press: async (at) => {
        await at.click();
        await seen(
          'all shut',
          () => page.locator('.module[open]').count(),
          (now) => now === 0,
        );
        await page.getByRole('button', { name: 'Open all' }).click();
        await decay(page).waitFor();
      },
    },
    {
      role: 'DisclosureTriangle',
      name: /^Type the lines of /,
      reveals: true,
      press: async (at) => {
        await at.click();
        await at.locator('xpath=..').getByRole('textbox').first().waitFor();
      },
    },
    {
      role: 'DisclosureTriangle',
      name: /./,
      press: async (at) => {
        const details = at.locator('xpath=..');
        const isOpen = async () => (await details.getAttribute('open')) !== null;
        const before = await isOpen();
        await at.click();
        await seen('another state', isOpen, (now) => now !== before);
        if (before) await at.click();
      },
    },
    {
      role: 'textbox',
      name: /steps as text$/,
      press: async (at) => {
        const before = await at.inputValue();
        for (const bad of ['xyz', '', 'x'.repeat(5_000)]) {
          await at.fill(bad);
          await at.press('Enter');
          await seen(
            'a refusal',
            () => at.getAttribute('aria-invalid'),
            (now) => now === 'true',
          );
          // At this field, and at none besides.
          await fits('one refusal', await page.locator('.refusal:visible').count(), 1);
          await at.press('Escape');
          await seen(
            'the line',
            () => at.inputValue(),
            (now) => now === before,
          );
        }
        const after = before.replace(/[^-]|-/, (sign) => (sign === 'X' ? 'x' : 'X'));
        await at.fill(after);
        await at.press('Enter');
        await seen(
          'the new line',
          () => at.inputValue(),
          (now) => now === after,
        );
        const first = pattern(at).locator('.tab tbody tr td').first();
        await seen(
          'a cell',
          () => first.count(),
          (now) => now === 1,
        );
        await undo(page);
        await seen(
          'the line',
          () => at.inputValue(),
          (now) => now === before,
        );
      },
    },
    {
      role: 'textbox',
      name: /./,
      press: async (at, { name }) => {
        const before = await at.inputValue();
        const refusal = await refused(page, at);
        await fits('one refusal', await refusal.count(), 1);
        await at.press('Escape');
        await seen(
          'the value',
          () => at.inputValue(),
          (now) => now === before,
        );
        await seen(
          'no refusal',
          () => refusal.count(),
          (now) => now === 0,
        );
        const scale = page.getByLabel(`${name}, scale`, { exact: true });
        if (name === 'shape decay') {
          // A number alone is offered with its unit.
          await at.fill('80');
          await at.press('Enter');
          await page.getByRole('button', { name: '80 ms', exact: true }).click();
          await seen(
            '80 ms',
            () => at.inputValue(),
            (now) => now === '80 ms',
          );
          await fits('a refusal', await refusal.count(), 0);
          await fits('the focus', await isFocused(at), true);
          await undo(page);
          await seen(
            'the value',
            () => at.inputValue(),
            (now) => now === before,
          );
        }
        if ((await scale.count()) === 1) await beside(scale, at);
        else {
          const value = TYPED[name];
          if (value === undefined) throw new Error('there is nothing to type');
          await at.fill(value);
          await at.press('Enter');
          await seen(
            value,
            () => at.inputValue(),
            (now) => now === value,
          );
        }
        await seen(
          'an edit',
          () => text(saveButton(page)),
          (now) => /\*/.test(now),
        );
        await at.fill(before);
        await at.press('Enter');
        await seen(
          'the value',
          () => at.inputValue(),
          (now) => now === before,
        );
      },
    },
    {
      role: 'slider',
      name: /, scale$/,
      press: async (at, { name }) => {
        const field = page.getByLabel(name.replace(/, scale$/, ''), { exact: true });
        // What was typed before may still be on its way, and would be taken for what the scale does.
        await heard(page);
        const before = await field.inputValue();
        const sounds = await inPage<number>(page, 'watch.sounds.length');
        // A press of the pointer is a step back of its own; keys are pressed with the field's row.
        const { width, height } = (await at.boundingBox()) ?? { width: 0, height: 0 };
        const share = Number(await at.inputValue());
        await at.click({
          position: { x: width * (share < 0.8 ? share + 0.15 : share - 0.15), y: height / 2 },
        });
        await seen(
          'another value',
          () => field.inputValue(),
          (now) => now !== before,
        );
        await fits(
          'what is read out',
          await at.getAttribute('aria-valuetext'),
          await field.inputValue(),
        );
        await seen(
          'a sound',
          () => inPage<number>(page, 'watch.sounds.length'),
          (now) => now > sounds,
        );
        await undo(page);
        await seen(
          'the value before',
          () => field.inputValue(),
          (now) => now === before,
        );
        await heard(page);
      },
    },
    {
      role: 'combobox',
      name: /^(?!Voice$)./,
      press: async (at) => {
        const before = await at.inputValue();
        for (const option of await at.locator('option').allTextContents()) {
          if (option === before) continue;
          await at.selectOption(option);
          await seen(
            'the choice or a refusal',
            async () =>
              [await at.inputValue(), await page.locator('.refusal:visible').count()] as const,
            ([value, refusals]) => value === option || refusals > 0,
          );
        }
        if ((await at.inputValue()) !== before) await at.selectOption(before);
        // The list says at once what is chosen. The page takes it once the choice before is heard, and until then
        // draws that one, without the button that leads back to it.
        await heard(page);
        await seen(
          'the value',
          () => at.inputValue(),
          (now) => now === before,
        );
      },
    },
    // The score.
    {
      role: 'gridcell',
      name: /, beat \d+, step \d+: /,
      press: async (_, { name }) => {
        const cell = page.locator(`.tab td[aria-label^="${name.replace(/:.*/, ':')}"]`).first();
        const sign = (): Promise<string> =>
          cell.getAttribute('data-sign').then((value) => value ?? '');
        const before = await sign();
        await cell.click();
        await seen('another sign', sign, (now) => now !== before);
        // Keys that write no sign do nothing, and switch to no version.
        await cell.press('1');
        await cell.press('9');
        await cell.press(before);
        await seen('the sign', sign, (now) => now === before);
      },
    },
    {
      role: 'combobox',
      name: /^Voice$/,
      press: async (at) => {
        const chart = page.locator('[data-island=sound] figure svg').first();
        for (const option of await at.locator('option').allTextContents()) {
          await at.selectOption({ label: option });
          await seen(
            'a chart',
            () => chart.count(),
            (now) => now === 1,
          );
        }
        await at.selectOption({ index: 0 });
      },
    },
    { role: 'link', name: /^To the cable list$/, press: link('#cables') },
    ...Object.entries(SECTIONS).map(
      ([heading, id]): Row => ({
        role: 'link',
        name: new RegExp(`^${heading}$`),
        press: link(`#${id}`),
      }),
    ),
    { role: 'link', name: /^their licences$/, press: link('#licences') },
    {
      role: 'group',
      name: /./,
      press: async (at, { name }) => {
        // A jack's charts are there while it is listened at, which other controls end.
        if (name.startsWith('Volts at ') && (await at.count()) === 0) return;
        await at.focus();
        await fits('a focus', await isFocused(at), true);
      },
    },
  ];
}

/** The line of sections: where each word leads to. */
const SECTIONS: Readonly<Record<string, string>> = {
  Voices: 'voices',
  Patterns: 'patterns',
  'Block diagram': 'diagram',
  Settings: 'settings',
  'Envelope and spectrum': 'sound',
  Cables: 'cables',
  'Score of time': 'score',
  'Volts at the triggers': 'triggers',
  'Findings and cautions': 'findings',
  'Care for people and gear': 'care',
};

/** What to type where no scale says it. */
const TYPED: Readonly<Record<string, string>> = {
  'drums gate': '9 ms',
  'drums clock': '2 per quarter',
  'drums follows': '1 per step',
};

/** Moves a scale by a key. @returns the value that its field then has. */
async function beside(scale: Locator, field: Locator): Promise<string> {
  const before = await field.inputValue();
  const at = Number(await scale.inputValue());
  await scale.press(at < 0.9 ? 'ArrowUp' : 'ArrowDown');
  await seen(
    'another value',
    () => field.inputValue(),
    (now) => now !== before,
  );
  return field.inputValue();
}

async function openForm(page: Page): Promise<void> {
  const field = page.getByLabel('New file');
  if ((await field.count()) === 0) await page.getByRole('button', { name: 'Save as…' }).click();
  await field.waitFor();
}

async function savesAs(page: Page, isServed: boolean, onDisk: Sheet['onDisk']): Promise<void> {
  await openForm(page);
  const field = page.getByLabel('New file');
  const save = page.locator('.save-as [type=submit]');
  await field.fill('another');
  if (!isServed) {
    const download = await handedOut(page, () => save.click());
    await fits('a name', download.suggestedFilename(), 'another.yaml');
  } else {
    await save.dblclick();
    await seen(
      'the message',
      () => message(page),
      (now) => /^Saved as another\.yaml/.test(now),
    );
    await fits('the file', onDisk?.('another.yaml')?.includes('kind: rhythm'), true);
    // A name that is taken is refused, and the form stays.
    await openForm(page);
    await field.fill('another');
    await save.click();
    await seen(
      'a refusal',
      () => page.locator('.save-as .refusal').count(),
      (now) => now === 1,
    );
    await fits('what was typed', await field.inputValue(), 'another');
    await field.press('Escape');
  }
  await seen(
    'no form',
    () => field.count(),
    (now) => now === 0,
  );
}

function isFocused(at: Locator): Promise<boolean> {
  return at.evaluate((element) => element.matches(':focus'));
}
