// Two actions within one frame of the screen. The page is drawn with the next frame, so the second
// action meets controls that were drawn before the first: it must still count.

import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { browsing, handOutOf, inPage, settled, until } from './browser.ts';

const { visit } = browsing(afterAll);
let page: Page;

beforeAll(async () => {
  page = (await visit(handOutOf('two-bar-kit'))).page;
  await settled(page);
  await inPage(page, HANDS);
});

/** Hands that need no time: all that one text says happens before anything is drawn. */
const HANDS = `
globalThis.by = (name, root = document) => [...root.querySelectorAll('button,input,select,[role]')].find((one) => (one.getAttribute('aria-label') ?? one.labels?.[0]?.textContent ?? one.textContent).trim().startsWith(name));
globalThis.click = (name) => by(name).click();
globalThis.key = (on, key, more = {}) => on.dispatchEvent(new KeyboardEvent('keydown', { key, bubbles: true, cancelable: true, ...more }));
globalThis.write = (on, text) => { on.value = text; on.dispatchEvent(new Event('input', { bubbles: true })); };
globalThis.enter = (on, text) => { write(on, text); key(on, 'Enter'); };
globalThis.pick = (on, value) => { on.value = value; on.dispatchEvent(new Event('change', { bubbles: true })); };
globalThis.list = document.querySelector('.entries');
globalThis.song = () => [...list.children].map((one) => one.lastChild.textContent).join(' ');
globalThis.chosen = () => Number(list.querySelector('[aria-selected=true]').dataset.entry) + 1;
globalThis.pressed = (name) => by(name).getAttribute('aria-pressed');
globalThis.cell = (row, step) => document.querySelector('[data-row="' + row + '"][data-step="' + step + '"]');
globalThis.signs = (...steps) => steps.map((step) => cell(0, step).dataset.sign).join('');
// Changes of one place by keys within a second are one step back: each act is a second after the one before it,
// however fast the machine is.
globalThis.ahead = 0;
const { now } = Performance.prototype;
performance.now = () => now.call(performance) + ahead;
globalThis.isQuiet = () => watch.asked === watch.wholeFor;
globalThis.at = (label) => document.querySelector('[aria-label="' + label + '"]');
`;

interface Row {
  readonly what: string;
  /** What is done before, in frames of its own. */
  readonly first?: readonly string[];
  /** What is waited for then. */
  readonly once?: string;
  /** What is done within one frame. */
  readonly acts: string;
  /** What comes of it. */
  readonly shows: string;
  readonly as: unknown;
}

/** In this order: each begins where the last one ends. */
const ROWS: readonly Row[] = [
  {
    what: 'undoes the first edit of all while it is on its way',
    acts: "key(cell(0, 1), 'x'); click('Undo')",
    shows: "isQuiet() && [signs(0, 1), by('Redo').ariaDisabled].join()",
    as: 'x-,false',
  },
  {
    what: 'adds two entries to the song, one after the other',
    acts: "click('Add after'); click('Add after')",
    shows: '[song(), chosen()].join()',
    as: 'first first first answer,3',
  },
  {
    what: 'moves an entry that keys have chosen, twice',
    acts: "key(list, 'End'); click('Up'); click('Up')",
    shows: '[song(), chosen()].join()',
    as: 'first answer first first,2',
  },
  {
    what: 'takes two entries out',
    acts: "key(list, 'End'); key(list, 'Delete'); key(list, 'Delete')",
    shows: '[song(), chosen()].join()',
    as: 'first answer,2',
  },
  {
    what: 'begins with the entry that a key has chosen just before',
    acts: "key(list, 'Home'); click('Begin with it')",
    shows: "[chosen(), pressed('Begin with it')].join()",
    as: '1,true',
  },
  ...[
    'Begin with it',
    'Loop it',
    'Loop first alone',
    'Hear kick alone',
    'Hear all without kick',
  ].map(
    (name): Row => ({
      what: `turns “${name}” on and off`,
      first: ["key(list, 'End')"],
      acts: `click('${name}'); click('${name}')`,
      shows: `pressed('${name}')`,
      as: 'false',
    }),
  ),
  {
    what: 'chooses one voice and then another',
    acts: "by('snare').click(); by('kick').click()",
    shows: "pressed('kick')",
    as: 'true',
  },
  {
    what: 'goes back to the whole',
    acts: "click('the whole')",
    shows: "pressed('the whole')",
    as: 'true',
  },
  {
    what: 'types a value and then the one that stood before',
    first: ["click('Open all')"],
    acts: "enter(at('drums tempo'), '100 bpm'); enter(at('drums tempo'), '92 bpm')",
    shows: "at('drums tempo').dataset.text",
    as: '92 bpm',
  },
  {
    what: 'keeps what is typed while another value is on its way',
    acts: "enter(at('drums tempo'), '101 bpm'); write(at('drums tempo'), '10')",
    shows: "[at('drums tempo').value, at('drums tempo').dataset.text].join()",
    as: '10,101 bpm',
  },
  {
    what: 'moves a scale on and back',
    first: ["enter(at('drums tempo'), '92 bpm')"],
    // A scale moves from where it is drawn.
    once: "at('drums tempo').dataset.text === '92 bpm'",
    acts: "key(at('drums tempo, scale'), 'ArrowRight'); key(at('drums tempo, scale'), 'ArrowLeft')",
    shows: "at('drums tempo').dataset.text",
    as: '92 bpm',
  },
  {
    what: 'writes two steps of one line',
    acts: "key(cell(0, 1), 'x'); key(cell(0, 2), 'X')",
    shows: 'signs(0, 1, 2)',
    as: 'xxX',
  },
  {
    what: 'turns a step from rest to hit to accent',
    acts: "key(cell(0, 3), ' '); key(cell(0, 3), ' ')",
    shows: 'signs(3)',
    as: 'X',
  },
  {
    what: 'undoes both of these',
    acts: "click('Undo'); click('Undo')",
    shows: 'signs(0, 1, 2, 3)',
    as: 'x---',
  },
  {
    what: 'undoes an edit that is on its way, and none before it',
    first: ["key(cell(0, 1), 'x')"],
    once: "signs(1) === 'x' && isQuiet()",
    acts: "enter(at('drums tempo'), '93 bpm'); click('Undo')",
    shows: "isQuiet() && [signs(0, 1), at('drums tempo').dataset.text].join()",
    as: 'xx,92 bpm',
  },
  {
    what: 'undoes the edit before it, and does both again',
    acts: "click('Undo'); click('Redo'); click('Redo')",
    shows: "isQuiet() && [signs(0, 1), at('drums tempo').dataset.text].join()",
    as: 'xx,93 bpm',
  },
  {
    what: 'undoes all three, of which one is on its way',
    acts: "key(cell(0, 3), 'x'); click('Undo'); click('Undo'); click('Undo')",
    shows: "isQuiet() && [signs(0, 1, 2, 3), at('drums tempo').dataset.text].join()",
    as: 'x---,92 bpm',
  },
  {
    what: 'opens all modules and shuts them',
    acts: "click('Open all'); click('Close all')",
    shows: "document.querySelectorAll('.module[open]').length",
    as: 0,
  },
  {
    what: 'turns the loop off and on',
    acts: "click('Loop'); click('Loop')",
    shows: "by('Loop').checked",
    as: true,
  },
  {
    what: 'finds what was typed just before Enter',
    acts: "enter(document.querySelector('[type=search]'), 'drums tempo')",
    shows: "document.activeElement.getAttribute('aria-label')",
    as: 'drums tempo',
  },
  {
    what: 'keeps one version, however often it is told to',
    acts: "click('Keep what sounds now'); click('Keep what sounds now')",
    shows: "document.querySelectorAll('.bank tbody tr').length",
    as: 1,
  },
  {
    what: 'begins a blind test of the two that were chosen just before',
    first: ["enter(at('drums tempo'), '100 bpm')", "click('Keep what sounds now')"],
    once: "document.querySelector('.tell-apart') !== null",
    acts: "document.querySelector('.tell-apart').open = true; const [one, other] = document.querySelectorAll('.tell-apart select'); pick(other, one.value); click('Begin')",
    shows: "document.querySelector('.message').textContent",
    as: 'Choose two different ones first.',
  },
  {
    what: 'goes two cables on while patching along',
    first: ["click('Patch along')"],
    // Until the engine has told the cables there is none to go on from.
    once: "document.querySelector('.along-number') !== null",
    acts: "const dialog = document.querySelector('dialog'); key(dialog, 'ArrowRight'); key(dialog, 'ArrowRight')",
    shows: "Number.parseInt(document.querySelector('.along-number').textContent, 10)",
    as: 3,
  },
  {
    what: 'doubts a cable and no longer',
    acts: "click('It is not so'); click('It is not so')",
    shows: "by('It is not so').getAttribute('aria-expanded')",
    as: 'false',
  },
];

/** Does something, and waits until it is drawn and the engine has given all that was asked of it. */
async function does(acts: string): Promise<void> {
  await inPage(page, `{ ahead += 1500; ${acts} }`);
  await inPage(
    page,
    'new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))',
  );
  await until(page, 'watch.asked === watch.wholeFor');
}

it('A list shows what was chosen while the page is still to take it', async () => {
  const { page } = await visit(handOutOf('closed-hat'));
  await settled(page);
  await inPage(page, HANDS);
  await inPage(
    page,
    "for (const closed of document.querySelectorAll('details')) closed.open = true",
  );
  await until(page, "at('shape trigger') !== null");
  // The decay is answered first, and drawn.
  await inPage(
    page,
    `{
      const trigger = at('shape trigger');
      enter(at('shape decay'), '77 ms');
      pick(trigger, 'voltage');
      globalThis.shown = new Set();
      const look = () => { shown.add(trigger.value); requestAnimationFrame(look); };
      look();
    }`,
  );
  await until(page, "at('shape decay').value === '77 ms'");
  await settled(page);
  expect(await inPage(page, '[...shown]')).toEqual(['voltage']);
});

describe('Two acts within one frame', () => {
  it.each(ROWS)('$what', async ({ first = [], once = 'true', acts, shows, as }) => {
    for (const act of first) await does(act);
    await until(page, once);
    await does(acts);
    await expect.poll(() => inPage(page, shows)).toEqual(as);
  });
});
