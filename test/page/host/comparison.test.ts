// The page to compare on, as text and in a browser with the script that is shipped: that nothing in a
// patch can break it, and that its policy allows it to load only what it needs. Content Security Policy Level 3, W3C.

import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { Page } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import wavefile from 'wavefile';
import { readProgram } from '../../../src/page/host/bundles.ts';
import { comparisonPage } from '../../../src/page/host/comparison.ts';
import { scratch } from '../../cli/run.ts';
import { browsing } from '../browser.ts';

const BUILT = new URL('../../../dist/page/', import.meta.url);
const HOSTILE =
  '</title></script><script>hit = 1</script><img src=x onerror="hit = 1"> & "friends"';

const clip = { sampleRate: 48_000, cells: ['<3', '4'] };
const CONTENT = {
  title: `Hat ${HOSTILE}`,
  about: 'It <b>hisses</b>.',
  level: 'Every clip is at -20.0 LUFS.',
  columns: ['loudness', 'gain'],
  clips: [
    { ...clip, name: `a ${HOSTILE}`, file: '01-a.wav', data: 'AAAA' },
    { ...clip, name: "b <!-- 'x'", file: '02-b.wav' },
  ],
  charts: [{ svg: '<svg></svg>', caption: 'A chart.' }],
  pairs: [[`a ${HOSTILE}`, 'b', '-3.0 dB']],
} as const;
const PAGE = comparisonPage(CONTENT, { script: 'let own = 1;', notices: 'Copyright others' });

describe('the page', () => {
  it('takes no text of a patch for markup', () => {
    expect(PAGE).toContain('<title>Hat &lt;/title&gt;');
    expect(PAGE).not.toContain('<b>hisses');
    // The data and the script, each ended once.
    expect(PAGE.match(/<\/script>/g)).toHaveLength(2);
    const data =
      /<script type="application\/json" id="clips">(.*?)<\/script>/.exec(PAGE)?.[1] ?? '';
    expect(JSON.parse(data)).toEqual([
      { name: `a ${HOSTILE}`, file: '01-a.wav', sampleRate: 48_000, data: 'AAAA' },
      { name: "b <!-- 'x'", file: '02-b.wav', sampleRate: 48_000 },
    ]);
  });

  it('writes figures with a minus as its charts do, and names as they are', () => {
    // Unicode 6.2.3: U+2212, where a hyphen-minus is meant as a minus.
    for (const figure of ['at \u221220.0 LUFS.', '>\u22123.0 dB<']) expect(PAGE).toContain(figure);
    const named = { ...CONTENT.clips[1], name: 'pan -30 %', cells: ['-3 dB', '-', 'a-1'] };
    const page = comparisonPage({ ...CONTENT, clips: [named] }, { script: '', notices: '' });
    expect(page).toContain('>pan -30 %</a>');
    expect(page).toContain('<td>\u22123 dB</td><td>-</td><td>a-1</td>');
  });

  it('needs nothing from elsewhere', () => {
    expect(PAGE).not.toMatch(/https?:\/\/(?!www\.w3\.org)/);
    expect(PAGE).not.toMatch(
      /<(?:img|iframe)|<link (?!rel="icon" href="data:,">|rel="expect" href="#)|@import|url\(/,
    );
  });

  it('names its script by hash, allows no other, and asks beside itself only for what is not in it', () => {
    const policy = /Content-Security-Policy" content="([^"]*)"/.exec(PAGE)?.[1] ?? '';
    const directives = new Map(
      policy.split('; ').map((one) => [one.split(' ')[0], one.slice(one.indexOf(' ') + 1)]),
    );
    expect(directives.get('default-src')).toBe("'none'");
    expect(directives.get('script-src')).toMatch(/^'sha256-[A-Za-z0-9+/=]+'$/);
    expect(directives.get('style-src')).toMatch(/^'sha256-[A-Za-z0-9+/=]+'$/);
    expect(directives.get('img-src')).toBe('data:');
    expect(directives.get('connect-src')).toBe("'self'");
    const whole = { ...CONTENT, clips: [CONTENT.clips[0]] };
    expect(comparisonPage(whole, { script: '', notices: '' })).not.toContain('connect-src');
  });

  it('hides in a blind test every part that names a clip', () => {
    // What is left when the parts marked so are taken away, the data and the script aside.
    const shown = PAGE.replace(/<script[\s\S]*?<\/script>/g, '').replace(
      /<div class="named[\s\S]*?<\/div>\n<\/section>/g,
      '',
    );
    expect(shown).not.toMatch(/a &lt;\/title|b &lt;!--/);
    expect(shown).toContain('data-island="blind"');
  });
});

describe('the page as built', () => {
  const { visit } = browsing();

  async function opened(
    content: Parameters<typeof comparisonPage>[0] = CONTENT,
  ): Promise<{ page: Page; complaints: readonly string[] }> {
    const path = join(scratch(), 'compare.html');
    writeFileSync(path, comparisonPage(content, readProgram(BUILT, 'comparison')));
    return visit(String(pathToFileURL(path)));
  }

  it('shows hostile names as they are, and runs nothing of them', async () => {
    const { page, complaints } = await opened();
    expect(await page.locator('h1').textContent()).toBe(`Hat ${HOSTILE}`);
    expect(await page.locator('#side-a option').first().textContent()).toBe(`a ${HOSTILE}`);
    expect(await page.getByRole('button', { name: `Take a ${HOSTILE} as B` }).count()).toBe(1);
    expect(await page.evaluate('typeof hit')).toBe('undefined');
    expect(complaints).toEqual([]);
  });

  it('of one clip lets it be heard, and asks nobody to tell it from itself', async () => {
    const only = { ...clip, name: 'one', file: '01.wav', data: silence().toString('base64') };
    const { page } = await opened({ ...CONTENT, clips: [only] });
    const buttons = page.getByRole('button');
    await page.getByRole('button', { name: 'Hear one' }).waitFor();
    expect(await buttons.allTextContents()).toEqual(['Play', 'Hear']);
    await page.keyboard.press(' ');
    await expect.poll(() => page.locator('#status').textContent()).toBe('Sounding: one.');
  });

  it('gives away in a blind test neither by the page nor by a gap which of two clips sounds', async () => {
    // Of other rates and lengths, as a patch and a recording are.
    const clips = [
      { ...clip, name: 'one', file: '01.wav', data: silence().toString('base64') },
      { ...clip, name: 'other', file: '02.wav', data: silence(44_100, 1.5).toString('base64') },
    ].map((one, index) => ({ ...one, sampleRate: [48_000, 44_100][index] as number }));
    const { page } = await opened({ ...CONTENT, clips, pairs: [] });
    await page.evaluate(`{
      globalThis.rates = [];
      const start = AudioBufferSourceNode.prototype.start;
      AudioBufferSourceNode.prototype.start = function (...given) {
        rates.push(this.context.sampleRate);
        return start.apply(this, given);
      };
    }`);
    await page.locator('#begin').click();
    const looks = new Set<string>();
    let heard = 0;
    for (const which of ['first', 'second', 'x', 'first', 'second', 'x']) {
      await page.locator(`#blind-${which}`).click();
      heard += 1;
      await expect.poll(() => page.evaluate('rates.length')).toBe(heard);
      await page.locator(`#blind-${which}[aria-pressed=true]`).waitFor();
      // All of the page but its programs, and which button was pressed.
      const markup = await page.evaluate(`{
        const copy = document.documentElement.cloneNode(true);
        for (const one of copy.querySelectorAll('script, style')) one.remove();
        for (const one of copy.querySelectorAll('[aria-pressed]')) one.removeAttribute('aria-pressed');
        // The place moves on; where lengths differ it is not seen, nor told in words.
        for (const one of copy.querySelectorAll('.now')) one.removeAttribute('style');
        for (const one of copy.querySelectorAll('[class=""]')) one.removeAttribute('class');
        copy.outerHTML;
      }`);
      looks.add(String(markup));
    }
    expect(looks.size).toBe(1);
    // A source of another rate needs another context, and so a gap.
    expect(await page.evaluate('new Set(rates).size')).toBe(1);
    const visibility = (): Promise<unknown> =>
      page.evaluate('getComputedStyle(document.querySelector(".now")).visibility');
    expect(await visibility()).toBe('hidden');
    await page.locator('#give-up').click();
    await expect.poll(visibility).toBe('visible');
  });

  it('runs no script that is put into it', async () => {
    const { page } = await opened();
    await page.evaluate(`{
      globalThis.stopped = [];
      addEventListener('securitypolicyviolation', ({ effectiveDirective }) => stopped.push(effectiveDirective));
      const script = document.createElement('script');
      script.textContent = 'hit = 1';
      document.body.append(script);
      document.body.insertAdjacentHTML('beforeend', '<img src="data:," onerror="hit = 1">');
    }`);
    await page.waitForFunction('stopped.length >= 2');
    expect(await page.evaluate('typeof hit')).toBe('undefined');
  });

  it('asks for the clips that it cannot read, and says which are still missing', async () => {
    const { page } = await opened();
    // The second is neither in the page nor beside it.
    await page.locator('#hear-b').click();
    await page.locator('#chooser').waitFor();
    expect(await page.locator('#status').textContent()).toMatch(/^The clip could not be read/);
    const file = (name: string) => ({ name, mimeType: 'audio/wav', buffer: silence() });
    await page.locator('#chooser').setInputFiles([file('other.wav')]);
    await expect.poll(() => page.locator('#status').textContent()).toBe('Still missing: 02-b.wav.');
    await page.locator('#chooser').setInputFiles([file('02-b.wav')]);
    await expect.poll(() => page.locator('#status').textContent()).toBe('All clips are here.');
    await page.locator('#hear-b').click();
    await expect.poll(() => page.locator('#status').textContent()).toBe("Sounding: b <!-- 'x'.");
  });
});

function silence(rate = 48_000, seconds = 1): Buffer {
  const wav = new wavefile.WaveFile();
  wav.fromScratch(1, rate, '16', new Int16Array(seconds * rate));
  return Buffer.from(wav.toBuffer());
}
