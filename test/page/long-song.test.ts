// A song of five minutes in a real browser: all of it can be reached by keyboard, and the sound at its
// end is that of the render, sample for sample.

import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, Locator, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { forehear, scratch } from '../cli/run.ts';
import { readRiff } from '../riff.ts';
import { inPage, launched, listening, settled, visit } from './browser.ts';

/** 124 bars of four quarters at 100 a minute, and a minute's less than that in two more tempos: 300 s. */
const SONG = `title: Five minutes
seed: long
modules:
  drums:
    kind: rhythm
    tempo: 100 bpm
    channels: [hat]
    patterns:
      verse: { hat: "x?X- x?x- x?X- x-f?" }
      bridge: { hat: "X-3- x-x- X-?- xgxg", tempo: 96 bpm }
    song:
      - { pattern: verse, repeats: 60 }
      - { pattern: bridge, repeats: 24 }
      - { pattern: verse, repeats: 40 }
  hiss: { kind: noise, level: 1.5 V }
  shape: { kind: envelope, trigger: voltage, decay: 55 ms, release: 55 ms, sustain: 0 % }
  level: { kind: amplifier, response: linear }
  out: { kind: output }
cables:
  - drums.hat -> shape.trigger
  - shape.out -> level.control
  - hiss.white -> level.in
  - level.out -> out.left
`;
const RATE = 48_000;
/** s: a bar is 2.4 s at 100 quarters a minute, 2.5 s at 96. */
const LENGTH = 60 * 2.4 + 24 * 2.5 + 40 * 2.4;

let browser: Browser;
beforeAll(async () => {
  browser = await launched();
});
afterAll(() => browser?.close());

/** What `render` writes of the song, as numbers of 32 bits. */
function rendered(folder: string): Float32Array {
  const { status, stderr } = forehear(folder, [
    'render',
    'long.yaml',
    '--depth',
    '32f',
    '--tail',
    '0',
    '-o',
    'long.wav',
  ]);
  if (status !== 0) throw new Error(stderr);
  const data = readRiff(readFileSync(join(folder, 'long.wav'))).chunks.find(
    ({ id }) => id === 'data',
  );
  if (data === undefined) throw new Error('it has no samples');
  return new Float32Array(new Uint8Array(data.body).buffer);
}

interface Heard {
  /** Samples that were recorded without a gap up to the end, after the fade-in, if all are as rendered; otherwise 0. */
  readonly same: number;
  /** What tells why where they differ: the sources that were started, and when blocks were recorded. */
  readonly starts: string;
  readonly frames: readonly number[];
}

/** What Web Audio renders at once; a block of the recorder. */
const QUANTUM = 128;
/**
 * Quanta that a source may begin late: on a busy machine the page's thread may hold the graph, and the audio's
 * thread goes on without what was connected last. Up to four have been seen.
 */
const MOST_LATE = 32;

/** Plays what is left of the last bars and compares it with the render, after the fade-in, from where the source began. */
async function lastBarHeard(page: Page, place: Locator, last: Float32Array): Promise<Heard> {
  await inPage(page, '{ watch.blocks.length = 0; }');
  await place.focus();
  await page.keyboard.press('End');
  await page.keyboard.press('Space');
  await page.getByRole('button', { name: 'Stop', exact: true }).waitFor();
  await page.getByRole('button', { name: 'Play', exact: true }).waitFor();
  // The last blocks are on their way from the audio's thread.
  await inPage(page, 'watch.allRecorded()');
  const { begin, blocks, starts } = await inPage<{
    begin: number;
    blocks: [frame: number, samples: number[]][];
    starts: string;
  }>(
    page,
    `(({ when, offset, rate }) => {
      const at = Math.round(when * rate);
      const blocks = watch.blocks
        .filter(([frame]) => frame >= at + 0.01 * rate)
        .map(([frame, block]) => [frame, [...block]]);
      const starts = JSON.stringify(
        watch.starts.map(({ when, offset, now }) => ({ when, offset, now })),
      );
      return { begin: Math.round(offset * rate) - at, blocks, starts };
    })(watch.starts.at(-1))`,
  );
  // The recorder may lose blocks as it begins, and the graph may be held once more meanwhile: what follows without a gap
  // counts, each block where its own frame says.
  const gap = blocks.findLastIndex(
    ([frame], k) => k > 0 && frame !== (blocks[k - 1]?.[0] as number) + QUANTUM,
  );
  const whole = blocks.slice(Math.max(0, gap));
  const sameWith = (late: number): number => {
    let same = 0;
    for (const [frame, samples] of whole)
      for (const [n, value] of samples.entries()) {
        const rendered = last[begin + frame + n - late];
        // What comes after the end is nothing.
        if (rendered !== undefined && rendered !== value) return 0;
        if (rendered !== undefined) same++;
      }
    return same;
  };
  let same = 0;
  for (let late = 0; same === 0 && late <= MOST_LATE; late++) same = sameWith(late * QUANTUM);
  return { same, starts, frames: blocks.map(([frame]) => frame) };
}

describe('a song of five minutes', () => {
  it('is heard at its end as it is rendered, and goes on by itself from stretch to stretch', async () => {
    const folder = scratch();
    writeFileSync(join(folder, 'long.yaml'), SONG);
    const render = rendered(folder);
    expect(render.length).toBe(Math.round(LENGTH * RATE));
    const { url, process } = await listening(folder, 'long');
    try {
      // What records may not come in otherwise.
      const { page } = await visit(browser, url, { bypassCSP: true });
      await settled(page);
      await inPage(page, 'watch.wantsRecording = true');
      const place = page.getByRole('slider', { name: 'Place in the loop' });
      const first = page.getByLabel('First bar to play');
      const stretches = page.locator('.stretches');
      expect(await stretches.textContent()).toMatch(/^Bars 1 to 25 of the song play/);
      // The last two bars of 124, by keyboard alone.
      await first.focus();
      await page.keyboard.type('123');
      await page.keyboard.press('Enter');
      await expect.poll(() => stretches.textContent()).toMatch(/^Bars 123 to 124 of the song play/);
      await settled(page);
      const last = render.slice(render.length - Math.round(2 * 2.4 * RATE));
      expect(await inPage<number[]>(page, 'Array.from(watch.sounds.at(-1).loop)')).toEqual(
        Array.from(last),
      );
      await place.focus();
      await page.keyboard.press('End');
      await expect
        .poll(() => place.getAttribute('aria-valuetext'))
        .toBe('bar 124, 297.60 s, verse (entry 3, 40 of 40)');
      // At full volume samples come through as they are.
      await page.getByLabel('Volume').focus();
      await page.keyboard.press('End');
      await page.getByLabel('Loop', { exact: true }).uncheck();
      const heard = await lastBarHeard(page, place, last);
      // Most of the last bar.
      expect(heard.same, JSON.stringify(heard)).toBeGreaterThan(1.5 * RATE);

      // From a stretch near the end of the first minute it goes on with the bars after it.
      await first.fill('24');
      await first.press('Enter');
      await settled(page);
      await expect.poll(() => stretches.textContent()).toMatch(/^Bars 24 to 48 /);
      await place.press('End');
      await place.press('ArrowRight');
      await place.press('ArrowRight');
      await page.keyboard.press('Space');
      await expect.poll(() => stretches.textContent(), { timeout: 20_000 }).toMatch(/^Bars 49 to /);
      await page.getByRole('button', { name: 'Stop', exact: true }).waitFor();
      await page.keyboard.press('Space');
      // And back, without a number.
      await page.getByRole('button', { name: 'Bars before' }).click();
      await expect.poll(() => stretches.textContent()).toMatch(/^Bars 2[45] to /);
      await first.fill('');
      await first.press('Enter');
      await expect.poll(() => stretches.textContent()).toMatch(/^Bars 1 to 25 /);
    } finally {
      process.kill('SIGINT');
    }
  });
});
