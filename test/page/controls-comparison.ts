/** What each control of the page to compare on is for, and that the clip heard is the one that it names. */

import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import type { Locator, Page } from 'playwright-core';
import { inPage } from './browser.ts';
import { type Row, seen } from './controls.ts';

/** A number for the clip that sounds, another for each clip; and how often a clip has started. */
async function sounding(page: Page): Promise<readonly [starts: number, clip: number]> {
  return inPage(
    page,
    `(() => {
      const { length } = watch.starts;
      const loop = watch.starts.at(-1)?.loop.slice(0, 9_600) ?? [];
      return [length, loop.reduce((sum, value) => sum + Math.abs(value), 0)];
    })()`,
  );
}

/** Uses something that lets a clip sound. @returns which. */
export async function clipAfter(page: Page, act: () => Promise<unknown>): Promise<number> {
  const [before] = await sounding(page);
  await act();
  await seen(
    'a clip that begins',
    () => sounding(page),
    ([now]) => now > before,
  );
  return (await sounding(page))[1];
}

export const status = (page: Page): Promise<string> =>
  page
    .locator('#status')
    .textContent()
    .then((text) => text ?? '');

export function comparisonTable(page: Page, names: readonly string[]): readonly Row[] {
  /** The clips by their names, as they sounded when first heard. */
  const known = new Map<string, number>();
  const sounds = async (name: string, clip: number): Promise<void> => {
    await seen(
      `Sounding: ${name}.`,
      () => status(page),
      (now) => now === `Sounding: ${name}.`,
    );
    const other = [...known].find(([one, sound]) => (one === name) !== (sound === clip));
    if (other !== undefined) throw new Error(`${name} sounds other than before, or as ${other[0]}`);
    known.set(name, clip);
  };
  const side = (letter: string): Locator => page.locator(`#side-${letter}`);
  const chosen = (letter: string): Promise<string> =>
    side(letter)
      .locator('option:checked')
      .textContent()
      .then((text) => text ?? '');
  const hears =
    (letter: string): Row['press'] =>
    async (at) => {
      await named();
      await sounds(await chosen(letter), await clipAfter(page, () => at.click()));
    };
  const chooses =
    (letter: string): Row['press'] =>
    async (at) => {
      await named();
      for (const name of names) {
        if (name === (await chosen(letter))) continue;
        // While it plays, another choice sounds at once.
        if ((await page.locator('.play').textContent()) === 'Play')
          await page.locator(`#hear-${letter}`).click();
        await sounds(name, await clipAfter(page, () => at.selectOption({ label: name })));
      }
    };
  const blind = (what: string): Locator => page.locator(`#${what}`);
  /** Ends a blind test, which hides all names. */
  const named = async (): Promise<void> => {
    if (await blind('blind').isVisible()) await blind('give-up').click();
  };
  /** Lets the test begin with so many trials, unless it goes on already. */
  const begin = async (): Promise<void> => {
    if (await blind('blind').isVisible()) return;
    await side('a').selectOption({ index: 0 });
    await side('b').selectOption({ index: 1 });
    await blind('trials').fill('5');
    await blind('begin').dblclick();
    await blind('blind').waitFor();
  };
  const heardBlind =
    (which: string): Row['press'] =>
    async () => {
      await begin();
      await clipAfter(page, () => blind(`blind-${which}`).click());
      await seen(
        'its mark',
        () => blind(`blind-${which}`).getAttribute('aria-pressed'),
        (now) => now === 'true',
      );
      // No name is to be seen.
      const shown = await inPage<string>(page, 'document.body.innerText');
      const told = names.find((name) => shown.includes(name));
      if (told !== undefined) throw new Error(`${told} is told in the blind test`);
    };
  const answers =
    (which: string): Row['press'] =>
    async () => {
      await begin();
      const count = () => blind('blind-count').textContent();
      const before = (await count()) ?? '';
      await blind('blind-x').click();
      // The second click is no answer for the next.
      await blind(`answer-${which}`).dblclick();
      const next = before.replace(/\d+/, (number) => String(Number(number) + 1));
      await seen('the next trial', count, (now) => now === next);
      await seen(
        'a refusal',
        () => status(page),
        (now) => now.startsWith('Hear X'),
      );
    };

  return [
    { role: 'button', name: /^Hear A$/, press: hears('a') },
    { role: 'button', name: /^Hear B$/, press: hears('b') },
    { role: 'combobox', name: /^A$/, press: chooses('a') },
    { role: 'combobox', name: /^B$/, press: chooses('b') },
    {
      role: 'button',
      name: /^(Play|Stop)$/,
      press: async () => {
        await named();
        const button = page.locator('.play');
        const text = () => button.textContent();
        if ((await text()) === 'Stop') {
          await button.click();
          await seen(
            'Stopped.',
            () => status(page),
            (now) => now === 'Stopped.',
          );
        }
        await clipAfter(page, () => button.click());
        await seen('Stop', text, (now) => now === 'Stop');
        await button.click();
        await seen('Play', text, (now) => now === 'Play');
        await button.dblclick();
        await seen('Play', text, (now) => now === 'Play');
      },
    },
    {
      role: 'slider',
      name: /^Place in the loop$/,
      press: async (at) => {
        if ((await page.locator('.play').textContent()) === 'Play')
          await clipAfter(page, () => page.locator('.play').click());
        await clipAfter(page, () => at.press('End'));
        const offset = await inPage<number>(page, 'watch.starts.at(-1).offset');
        if (!(offset > 0)) throw new Error(`it sounds from ${offset} s on`);
      },
    },
    {
      role: 'slider',
      name: /^Volume$/,
      press: async (at) => {
        await at.press('Home');
        await seen(
          'silence',
          () => at.inputValue(),
          (now) => now === '-60',
        );
        await at.press('End');
        await seen(
          '0 dB',
          () => at.inputValue(),
          (now) => now === '0',
        );
        await at.fill('-30');
      },
    },
    {
      role: 'checkbox',
      name: /^Keys:?$/,
      press: async (at) => {
        await named();
        const space = async () => {
          await page.locator('h1').click();
          await page.keyboard.press('Space');
          return page.locator('.play').textContent();
        };
        if ((await page.locator('.play').textContent()) === 'Stop')
          await page.locator('.play').click();
        await at.click();
        if ((await space()) !== 'Play') throw new Error('Space plays without keys');
        await at.click();
        await space();
        await seen(
          'Stop',
          () => page.locator('.play').textContent(),
          (now) => now === 'Stop',
        );
        await sounds(await chosen('b'), await clipAfter(page, () => page.keyboard.press('b')));
        await sounds(await chosen('a'), await clipAfter(page, () => page.keyboard.press('a')));
      },
    },
    {
      role: 'spinbutton',
      name: /^Trials$/,
      press: async (at) => {
        await named();
        await side('a').selectOption({ index: 0 });
        await side('b').selectOption({ index: 1 });
        for (const bad of ['', '0', '-5', '4', '51', '7.5', '1e9']) {
          await at.fill(bad);
          await blind('begin').click();
          await seen(
            'the range',
            () => status(page),
            (now) => /from 5 to 50/.test(now),
          );
          if (await blind('blind').isVisible()) throw new Error(`${bad} trials begin`);
          if ((await at.inputValue()) !== bad) throw new Error(`${bad} is changed`);
        }
        await at.fill('5');
      },
    },
    {
      role: 'button',
      name: /^Begin$/,
      reveals: true,
      press: async (at) => {
        await named();
        await side('a').selectOption({ index: 0 });
        await side('b').selectOption({ index: 0 });
        await at.click();
        await seen(
          'a refusal',
          () => status(page),
          (now) => /two different/.test(now),
        );
        await begin();
        await seen(
          'the first',
          () => blind('blind-count').textContent(),
          (now) => now === 'Trial 1 of 5',
        );
      },
    },
    { role: 'button', name: /^Hear the first$/, press: heardBlind('first') },
    { role: 'button', name: /^Hear the second$/, press: heardBlind('second') },
    { role: 'button', name: /^Hear X$/, press: heardBlind('x') },
    { role: 'button', name: /^X is the first$/, press: answers('first') },
    { role: 'button', name: /^X is the second$/, press: answers('second') },
    {
      role: 'button',
      name: /^Give up$/,
      press: async (at) => {
        await begin();
        await at.click();
        await seen(
          'its words',
          () => status(page),
          (now) => /given up/.test(now),
        );
        await begin();
        // Who hears the difference is right each time.
        const first = await clipAfter(page, () => blind('blind-first').click());
        for (let trial = 0; trial < 5; trial++) {
          const x = await clipAfter(page, () => blind('blind-x').click());
          await blind(x === first ? 'answer-first' : 'answer-second').click();
        }
        await seen(
          'the result',
          () => status(page),
          (now) => /^Right 5 of 5 times\./.test(now),
        );
      },
    },
    {
      role: 'button',
      name: /^Hear ./,
      press: async (at, { name }) => {
        await named();
        await sounds(name.replace('Hear ', ''), await clipAfter(page, () => at.click()));
        // Again, and it is silent.
        await at.click();
        await seen(
          'Stopped.',
          () => status(page),
          (now) => now === 'Stopped.',
        );
      },
    },
    {
      role: 'button',
      name: /^Take .+ as [AB]$/,
      press: async (at, { name }) => {
        await named();
        const [, clip = '', letter = ''] = /^Take (.+) as ([AB])$/.exec(name) ?? [];
        await sounds(clip, await clipAfter(page, () => at.click()));
        if ((await chosen(letter.toLowerCase())) !== clip) throw new Error('it is not chosen');
      },
    },
    ...documentRows(),
  ];
}

/** What every page with clips beside it has: its licences, links to what lies there, and what scrolls by itself. */
export function documentRows(): readonly Row[] {
  return [
    {
      role: 'DisclosureTriangle',
      name: /^Licences$/,
      press: async (at) => {
        await at.click();
        await seen(
          'what opens',
          () => at.locator('xpath=..').getAttribute('open'),
          (now) => now !== null,
        );
      },
    },
    {
      role: 'link',
      name: /./,
      press: async (at) => {
        const href = await at.evaluate((one) => String(Reflect.get(one, 'href')));
        if (!existsSync(fileURLToPath(href))) throw new Error(`there is no ${href}`);
      },
    },
    {
      role: 'group',
      name: /./,
      press: async (at) => {
        await at.focus();
        await seen('the focus', () => at.evaluate((one) => one.matches(':focus')), Boolean);
      },
    },
  ];
}
