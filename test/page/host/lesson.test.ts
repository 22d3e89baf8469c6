// The page of a lesson, with the script that is shipped: that nothing in a patch can break it, and that its
// policy allows it to load only what it needs. Content Security Policy Level 3, W3C.

import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { describe, expect, it } from 'vitest';
import type { Lesson } from '../../../src/output/lesson/lesson-words.ts';
import { stagesOf } from '../../../src/output/lesson/stages.ts';
import { readProgram } from '../../../src/page/host/bundles.ts';
import { lessonPage } from '../../../src/page/host/lesson.ts';
import { scratch } from '../../cli/run.ts';
import { example } from '../../compare/written.ts';
import { browsing } from '../browser.ts';

const BUILT = new URL('../../../dist/page/', import.meta.url);
const HOSTILE = '</script><script>hit = 1</script><img src=x onerror="hit = 1"> & "friends"';

function lesson(folder: string): Lesson {
  const { patch } = example('closed-hat.yaml');
  writeFileSync(join(folder, "1 '<a>.wav"), 'no sound');
  return {
    patch: { ...patch, title: HOSTILE, about: HOSTILE },
    stages: stagesOf(patch).map((stage, index) => ({
      stage: { ...stage, title: `${HOSTILE} ${index}` },
      picture: `${index}.svg`,
      drawing: '<svg xmlns="http://www.w3.org/2000/svg"></svg>',
      ...(index === 0 && { clip: "1 '<a>.wav", gainDb: 1, cue: 0 }),
    })),
    joined: 'all #1 (2)?.wav',
    targetLufs: -20,
    sampleRate: 48_000,
  };
}

describe('the page of a lesson', () => {
  const { visit } = browsing();

  it('shows hostile names as they are, and runs nothing of them', async () => {
    const folder = scratch();
    const path = join(folder, 'lesson.html');
    writeFileSync(path, lessonPage(lesson(folder), folder, readProgram(BUILT, 'lesson')));
    const { page, complaints } = await visit(String(pathToFileURL(path)));
    const joined = page.getByRole('link', { name: 'All of them one after the other' });
    const to = await joined.evaluate((link) => String(Reflect.get(link as object, 'href')));
    expect(to).toBe(
      String(pathToFileURL(join(folder, 'all #1 (2)?.wav'))).replace('(2)', '%282%29'),
    );
    expect(await page.locator('h1').textContent()).toBe(`${HOSTILE}, step by step`);
    expect(await page.locator('#stage-1').textContent()).toBe(`${HOSTILE} 0`);
    // What is no sound is not heard, and the page says so.
    await page.getByRole('button', { name: `Hear 1. ${HOSTILE} 0` }).click();
    await page.locator('#chooser').waitFor();
    expect(await page.evaluate('typeof hit')).toBe('undefined');
    expect(complaints).toEqual([]);
  });

  it('names its script by hash, allows no other, and asks nobody for clips that are in it', () => {
    const folder = scratch();
    const text = lessonPage(lesson(folder), folder, { script: 'let own = 1;', notices: '' });
    const policy = /Content-Security-Policy" content="([^"]*)"/.exec(text)?.[1] ?? '';
    expect(policy).toMatch(
      /^default-src 'none'; style-src 'sha256-\S+'; img-src data:; script-src 'sha256-\S+'; base-uri 'none'; form-action 'none'$/,
    );
  });
});
