/**
 * The example for the tests of controls, with a mistake in it, so that there is a finding, and twice as fast: after
 * each of hundreds of changes its loop is played, measured and drawn, which takes as long as the loop is.
 */

import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { BrowserContextOptions, Page } from 'playwright-core';
import { expect } from 'vitest';
import { forehear } from '../cli/run.ts';
import { type Browsing, folderWith, inPage, until } from './browser.ts';
import { heard } from './controls-sheet.ts';

export const NAME = 'closed-hat';
export const FILE = `${NAME}.yaml`;
/** So tall that all is laid out, and thus in the tree. */
export const TALL = { viewport: { width: 1280, height: 6000 } };

/** Lays all of a page out, and thus puts it into the tree: a tall page takes a third as long again to paint. */
export async function layOut(page: Page): Promise<void> {
  await inPage(
    page,
    `(() => {
      const sheet = new CSSStyleSheet();
      sheet.replaceSync('* { content-visibility: visible !important }');
      document.adoptedStyleSheets.push(sheet);
    })()`,
  );
}

/** A folder with it. */
export function folder(): string {
  const made = folderWith(NAME);
  const path = join(made, FILE);
  const text = readFileSync(path, 'utf8');
  const changed = text.replace(/release: [\d.]+ ms/, 'release: 20 ms').replace('92 bpm', '184 bpm');
  writeFileSync(path, changed);
  return made;
}

/** Runs the command. */
export function ran(place: string, ...args: string[]): void {
  const { status, stderr } = forehear(place, args);
  expect(status, stderr).toBe(0);
}

let clip: Uint8Array | undefined;

/** Its clip, as the command writes it, once for all the folders. */
export function clipOf(place: string): Uint8Array {
  if (clip === undefined) {
    ran(place, 'render', FILE, '--loop', '-o', 'clip.wav');
    clip = readFileSync(join(place, 'clip.wav'));
  }
  return clip;
}

export interface Served {
  readonly page: Page;
  readonly complaints: string[];
  readonly onDisk: (name: string) => string | undefined;
}

/** Serves it, and opens the page. */
export async function served(
  { visit, serve }: Browsing,
  place: string,
  options: BrowserContextOptions,
): Promise<Served> {
  const { url } = await serve(place, NAME);
  const { page, complaints } = await visit(url, options);
  await ready(page);
  const onDisk = (name: string): string | undefined => {
    const path = join(place, name);
    return existsSync(path) ? readFileSync(path, 'utf8') : undefined;
  };
  return { page, complaints, onDisk };
}

/** Waits until the page can be used whole. */
export async function ready(page: Page): Promise<void> {
  await until(page, 'watch.isChecked');
  await page.locator('[data-jack]').first().waitFor();
  await heard(page);
  await page.getByRole('button', { name: 'Open all' }).click();
  // What came before counts for nothing.
  await inPage(page, 'watch.starts.length = 0');
}
