// The pages around the scripts, in a real browser with scripts of the test's own: what the policy allows to
// run, and what it blocks. Content Security Policy Level 3, W3C.

import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { Script } from 'node:vm';
import type { Page } from 'playwright-core';
import { beforeAll, describe, expect, it } from 'vitest';
import { sheetOf } from '../../../src/output/sheet/sheet.ts';
import { type Bundles, readBundles } from '../../../src/page/host/bundles.ts';
import { handOut, servedPage } from '../../../src/page/host/page.ts';
import type { PatchTexts } from '../../../src/patch/texts.ts';
import { forehear, PATCHES, scratch } from '../../cli/run.ts';
import { example, HOSTILE, hostilePatch } from '../../output/sheet-patches.ts';
import { browsing, until } from '../browser.ts';

const LENGTH = { unit: 'bars', value: 1 } as const;
const DIST = new URL('../../../dist/page/', import.meta.url);

/**
 * An engine that compiles WebAssembly, as the real one does, and tries to make code of a text; and an
 * interface that starts it from the page.
 */
const TRIAL: Bundles = {
  engine: `// <!-- <script> </script>
const closing = '</script>', opening = '<script>', comment = '<!--', pattern = /<\\/script>/u;
const compiled = new WebAssembly.Module(new Uint8Array([0, 97, 115, 109, 1, 0, 0, 0]));
let evaluated = false;
try { evaluated = new Function('return true')(); } catch {}
postMessage([compiled instanceof WebAssembly.Module, evaluated, closing, opening, comment, pattern.test(closing)]);`,
  interface: `const address = URL.createObjectURL(new Blob([document.getElementById('engine').textContent]));
new Worker(address).onmessage = ({ data }) => { globalThis.answer = data; };
globalThis.read = JSON.parse(document.getElementById('files').textContent);
const closing = '</script>';`,
  notices: 'Copyright </pre> & others',
};

const { plainPage } = browsing();
let folder: string;

beforeAll(() => {
  folder = scratch();
});

const HOSTILE_FILES: PatchTexts = {
  main: `x.yaml${HOSTILE}`,
  set: [HOSTILE],
  texts: { [`x.yaml${HOSTILE}`]: HOSTILE, __proto__: HOSTILE },
};

async function open(html: string, complaints: string[] = [], scripts = true): Promise<Page> {
  const path = join(folder, 'page.html');
  writeFileSync(path, html);
  const page = await plainPage({ javaScriptEnabled: scripts });
  page.on('console', (message) => complaints.push(message.text()));
  page.on('pageerror', ({ message }) => complaints.push(message));
  await page.goto(`file://${path}`);
  return page;
}

async function trial(): Promise<string> {
  return handOut(await sheetOf(hostilePatch(), { length: LENGTH }), HOSTILE_FILES, TRIAL, true);
}

describe('a hand-out', () => {
  it('runs its own programs as they are, and a hostile patch runs nothing', async () => {
    const complaints: string[] = [];
    const page = await open(await trial(), complaints);
    await until(page, 'globalThis.answer !== undefined');
    expect(await page.evaluate('answer')).toEqual([
      true,
      false,
      '</script>',
      '<script>',
      '<!--',
      true,
    ]);
    expect(await page.evaluate('read')).toEqual(JSON.parse(JSON.stringify(HOSTILE_FILES)));
    expect(await page.evaluate('typeof hit')).toBe('undefined');
    expect(await page.locator('#licences').textContent()).toBe('Copyright </pre> & others');
    // The files, the engine and the interface.
    expect(await page.evaluate('document.scripts.length')).toBe(3);
    expect(complaints).toEqual([]);
  });

  it('lets nothing else run, and asks nobody', async () => {
    const page = await open(await trial());
    await page.evaluate(`{
      globalThis.stopped = [];
      addEventListener('securitypolicyviolation', ({ effectiveDirective }) => stopped.push(effectiveDirective));
      const script = document.createElement('script');
      script.textContent = 'hit = 1';
      document.body.append(script);
      document.body.insertAdjacentHTML('beforeend', '<img src="data:," onerror="hit = 1"><p style="color:red">');
    }`);
    const asked = await page.evaluate(
      "fetch('https://example.invalid/').then(() => 'answered', (error) => error.name)",
    );
    expect(asked).toBe('TypeError');
    await until(page, 'stopped.length >= 4');
    expect(await page.evaluate('[...new Set(stopped)].sort()')).toEqual([
      'connect-src',
      'script-src-attr',
      'script-src-elem',
      'style-src-attr',
    ]);
    expect(await page.evaluate('typeof hit')).toBe('undefined');
  });

  it('has its elements for scripts to take over, whole without any', async () => {
    const files = { main: 'kit.yaml', set: [], texts: { 'kit.yaml': '' } };
    const sheet = await sheetOf(example('two-bar-kit'), { length: LENGTH });
    const page = await open(await handOut(sheet, files, TRIAL, true), [], false);
    const islands = await page
      .locator('[data-island]')
      .evaluateAll((all) => all.map((one) => one.getAttribute('data-island')));
    expect(islands.toSorted()).toEqual(
      [
        'problems',
        'play',
        'along',
        'find',
        'voices',
        'versions',
        'settings',
        'patterns',
        'score',
        'sound',
        'diagram',
      ].toSorted(),
    );
    expect(await page.locator('[data-island=play] audio').count()).toBe(1);
    expect(await page.locator('[data-island=score] img').count()).toBe(1);
    expect(await page.locator('[data-island=sound] svg').count()).toBeGreaterThan(2);
    expect(await page.locator('[data-island=settings] tr').count()).toBeGreaterThan(20);
    expect(await page.locator('[data-island=patterns] .pattern').count()).toBe(2);
    // Parts and the whole name the same jack.
    expect(await page.locator('[data-jack="kick.gate.in"]').count()).toBe(2);
  });

  it('shows no section that has nothing in it', async () => {
    const { html } = servedPage({ main: 'x.yaml', set: [], texts: {} }, undefined, {}, TRIAL);
    const page = await open(html);
    const seen = await page.locator('h2:visible').allTextContents();
    expect(seen).toEqual(['Care for people and gear']);
  });
});

describe('the page that is served', () => {
  const files = { main: 'x.yaml', set: [], texts: { 'x.yaml': 'modules: [' } };

  it('may ask its own host, and a hand-out nobody', async () => {
    const { html, policy } = servedPage(files, undefined, {}, TRIAL);
    expect(policy).toContain("connect-src 'self'");
    expect(html).toContain(`content="${policy}"`);
    expect(html).toContain('<script type="application/json" id="host">');
    expect(await trial()).not.toContain('connect-src');
  });
});

describe('a hand-out as built', () => {
  const bundles = readBundles(DIST);

  it('has programs that are programs, with their ends made harmless', async () => {
    const html = await handOut(
      await sheetOf(example('closed-hat'), { length: LENGTH }),
      HOSTILE_FILES,
      bundles,
      false,
    );
    const found = [
      ...html.matchAll(/<script(?: type="text\/plain" id="engine")?>([\s\S]*?)<\/script>/g),
    ];
    expect(found.length).toBe(2);
    for (const [, text = ''] of found) {
      expect(text).not.toMatch(/<!--|<script|<\/script/i);
      expect(text.length).toBeGreaterThan(10_000);
      expect(() => new Script(text)).not.toThrow();
    }
  });

  it('is under 2 MB without its clip, and tells nothing of where the files lay', () => {
    // The largest example.
    const cwd = scratch();
    const args = ['sheet', join(PATCHES, 'kit-of-eight.yaml'), '--no-clip', '-o', 'sheet.html'];
    expect(forehear(cwd, [...args, '--bars', '1']).status).toBe(0);
    const html = readFileSync(join(cwd, 'sheet.html'));
    expect(html.length).toBeLessThan(2e6);
    expect(html.includes(bundles.engine.slice(0, 1000))).toBe(true);
    expect(html.includes(PATCHES)).toBe(false);
  });
});
