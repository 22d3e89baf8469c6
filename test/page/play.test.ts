// The page plays in a real browser: the sound is the one that the engine made, at the right place, and a
// change takes over there without a click. Everything is judged by the samples sent to the
// loudspeaker.

import type { Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import {
  browsing,
  folderWith,
  handOutOf,
  inPage,
  type Listening,
  listening,
  rests,
  settled,
  until,
} from './browser.ts';

// Chromium as a person has it.
const { visit } = browsing(afterEach, true);
let kit: string;
let served: Listening;

beforeAll(async () => {
  kit = handOutOf('two-bar-kit');
  // What records needs an address of its own, which a file has not.
  served = await listening(folderWith('two-bar-kit'), 'two-bar-kit');
});
afterAll(() => served?.process.kill('SIGINT'));

/** s; what the player says of itself. */
const FADE = 0.005;

/** Plays at full volume, so that samples come through as they are. */
async function playing(page: Page): Promise<void> {
  await settled(page);
  await inPage(page, 'watch.wantsRecording = true');
  await page.getByLabel('Volume').focus();
  await page.keyboard.press('End');
  await page.getByRole('button', { name: 'Play' }).click();
  await until(page, 'watch.isRecording && watch.blocks.length > 100');
  // A recorder that joins makes the browser restart its audio, and what sounds then may stay behind: what
  // is judged begins after that.
  await page.getByRole('button', { name: 'Stop' }).click();
  await inPage(page, '{ watch.starts.length = 0; watch.blocks.length = 0; }');
  await page.getByRole('button', { name: 'Play' }).click();
  await until(page, 'watch.blocks.length > 100');
}

interface Heard {
  /** The greatest distance between what was heard and the loops it should have come from. */
  readonly worst: number;
  readonly compared: number;
  /** Frames by which sources of the same loop are apart from one another. */
  readonly shifts: readonly number[];
}

/** Waits until so many seconds of the latest source have been recorded. */
function heardUpTo(page: Page, seconds: number): Promise<void> {
  return until(
    page,
    `(({ when, rate }) => watch.blocks.at(-1)[0] > (when + ${seconds}) * rate)(watch.starts.at(-1))`,
  );
}

/** In the page: whether a source began after its time, which the player sees and mends with another. */
const IS_LATE = '({ when, now }) => now >= when';

/** How many sources took over in time from one that was in time. */
function takenOver(page: Page): Promise<number> {
  return inPage(
    page,
    `watch.starts.map(${IS_LATE}).filter((late, index, all) => index > 0 && !late && !all[index - 1]).length`,
  );
}

/**
 * Compares the recording, once the volume has arrived, with what its sources should give: each its loop from its frame on, straight
 * faded in while the one before fades out straight. What a source gives that a busy machine has
 * started late is left out, until the next has taken over.
 */
function heard(page: Page, arriving = 24_000): Promise<Heard> {
  return inPage(
    page,
    `(() => {
      const fade = ${FADE};
      const isLate = ${IS_LATE};
      // One that begins too late is dropped for one that begins at the same place.
      const isDropped = ({ when, offset }, next) => next?.offset === offset && next.when - when < 0.5;
      const voices = watch.starts.map(({ when, now, offset, loop, rate }, index, all) => ({
        late: isLate({ when, now }) || isDropped({ when, offset }, all[index + 1]),
        dropped: isDropped({ when, offset }, all[index + 1]),
        loop, at: Math.round(when * rate), from: Math.round(offset * rate), fade: Math.round(fade * rate),
      }));
      const from = voices[0].at + ${arriving};
      let worst = 0;
      let compared = 0;
      for (const [start, samples] of watch.blocks) {
        if (start < from) continue;
        for (let i = 0; i < samples.length; i++) {
          const frame = start + i;
          const index = voices.findLastIndex(({ at }) => at <= frame);
          const sampleOf = ({ loop, at, from }) => loop[(frame - at + from) % loop.length];
          const voice = voices[index];
          const share = Math.min(1, (frame - voice.at) / voice.fade);
          const before = voices[index - 1];
          if (voice.late || (share < 1 && before?.late)) continue;
          const expected = sampleOf(voice) * share + (share < 1 && before ? sampleOf(before) * (1 - share) : 0);
          worst = Math.max(worst, Math.abs(expected - samples[i]));
          compared++;
        }
      }
      const phase = ({ at, from, loop }) => (((from - at) % loop.length) + loop.length) % loop.length;
      const kept = voices.filter(({ dropped }) => !dropped);
      const shifts = kept.slice(1).map((voice, index) => phase(voice) - phase(kept[index]));
      return { worst, compared, shifts };
    })()`,
  );
}

describe('playing in Chromium', () => {
  it('plays the engine’s samples, and a change takes over at the same place without a click', async () => {
    const { page } = await visit(served.url, { bypassCSP: true });
    await playing(page);
    await heardUpTo(page, 0.7);
    await page.getByText('Open all').click();
    const level = page.getByLabel('mix level-1', { exact: true });
    const texts = ['50 %', '75 %', '20 %'];
    // Changes until enough of them have come in time, which on a busy machine is not each.
    for (
      let change = 0;
      change < texts.length || (await takenOver(page)) < texts.length;
      change++
    ) {
      const count = await inPage<number>(page, 'watch.starts.length');
      await level.fill(texts[change % texts.length] as string);
      await level.press('Enter');
      await until(page, `watch.starts.length > ${count}`);
      await settled(page);
      await heardUpTo(page, 0.3);
    }
    const { worst, compared, shifts } = await heard(page);
    expect(shifts.length).toBeGreaterThanOrEqual(3);
    expect(shifts.every((shift) => shift === 0)).toBe(true);
    // A second at the least, sample by sample. Gains and sums are of 32 bits, and the browser puts the
    // ends of a fade between two samples: less than a step of it, 1/240, of what the loops differ by.
    expect(compared).toBeGreaterThan(48_000);
    expect(
      worst,
      JSON.stringify(
        await inPage(page, 'watch.starts.map(({ when, offset, now }) => [when, offset, now])'),
      ),
    ).toBeLessThan(1 / 240);
    // What is heard last is what the engine made of the last text.
    expect(
      await inPage(
        page,
        'watch.starts.at(-1).loop.every((value, frame) => value === watch.sounds.at(-1).loop[frame])',
      ),
    ).toBe(true);

    // Once it has rested it begins with its own samples, faded in from the first on.
    await rests(page);
    await inPage(page, '{ watch.starts.length = 0; watch.blocks.length = 0; }');
    await page.getByRole('button', { name: 'Play' }).click();
    await until(page, 'watch.blocks.length > 0');
    await heardUpTo(page, 0.3);
    const again = await heard(page, 0);
    expect(again.compared).toBeGreaterThan(0.2 * 48_000);
    expect(again.worst).toBeLessThan(1 / 240);
  });

  it('stops where it is, goes to a place, ends without loop, and starts quiet', async () => {
    const { page } = await visit(kit);
    await settled(page);
    // −24 dB: the first thing heard is not loud.
    expect(await page.getByLabel('Volume').inputValue()).toBe('-24');
    await page.keyboard.press('Space');
    await page.getByRole('button', { name: 'Stop' }).waitFor();
    await page.keyboard.press('Space');
    await page.getByRole('button', { name: 'Play' }).waitFor();
    const place = page.getByRole('slider', { name: 'Place in the loop' });
    await place.focus();
    await page.keyboard.press('End');
    const where = () => place.getAttribute('aria-valuetext');
    await expect.poll(where).toMatch(/^bar 2, 2\.61 s, answer \(entry 2\)$/);
    await page.keyboard.press('Home');
    await expect.poll(where).toBe('bar 1, 0.00 s, first (entry 1)');
    await page.getByLabel('Loop', { exact: true }).uncheck();
    const box = await place.boundingBox();
    if (box === null) throw new Error('no place to click');
    await page.mouse.click(box.x + box.width * 0.97, box.y + box.height / 2);
    await page.getByRole('button', { name: 'Play' }).click();
    // 3 % of 5.2 s are left; it ends by itself.
    await page.getByRole('button', { name: 'Play' }).waitFor();
    await expect.poll(where).toBe('bar 1, 0.00 s, first (entry 1)');
  });
});
