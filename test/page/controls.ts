/**
 * Every control of a page, pressed: the accessibility tree lists them, and a table says what to do
 * with each and what must then be seen. A control without a row is a failure, and so is a row
 * without a control, so neither a new control nor one that has gone can be missed.
 *
 * Source: Core Accessibility API Mappings 1.2, W3C: what takes the focus is a control.
 */

import type { CDPSession, Locator, Page } from 'playwright-core';
import { inPage } from './browser.ts';

export interface Control {
  readonly role: string;
  readonly name: string;
  /** Whether it can be used now. */
  readonly isEnabled: boolean;
}

/** What is done with the controls of some names, and what is seen then. */
export interface Row {
  readonly role: string;
  readonly name: RegExp;
  /** Whether there are other controls then, which go before those that were there already. */
  readonly reveals?: true;
  /**
   * Uses the control and looks at what comes of it.
   * @throws when that is not what the control says.
   */
  readonly press: (at: Locator, control: Control) => Promise<void>;
}

/** The tree's nodes, as the Chrome DevTools Protocol has them. */
interface AxNode {
  readonly ignored: boolean;
  readonly role?: { readonly value: string };
  readonly name?: { readonly value: string };
  readonly properties?: readonly { readonly name: string; readonly value: { value?: unknown } }[];
}

/** Roles of what is used, which a control has even while it is disabled. */
const USED = new Set([
  'button',
  'link',
  'checkbox',
  'radio',
  'combobox',
  'textbox',
  'searchbox',
  'slider',
  'spinbutton',
  'gridcell',
  'DisclosureTriangle',
]);
/** What takes the focus and is no control of its own: the page, and the choices of a list. */
const PASSED = new Set(['RootWebArea', 'option', 'MenuListPopup']);

/** Elements that have a role of themselves. */
const TAGS: Readonly<Record<string, string>> = {
  button: 'button',
  slider: 'input[type=range]',
  textbox: 'input:not([type])',
};

export class Controls {
  private readonly page: Page;
  private session: CDPSession | undefined;

  constructor(page: Page) {
    this.page = page;
    page.setDefaultTimeout(PATIENCE);
  }

  /** All that the page has now, in its own order. */
  async all(): Promise<readonly Control[]> {
    this.session ??= await this.page.context().newCDPSession(this.page);
    const { nodes } = (await this.session.send('Accessibility.getFullAXTree')) as {
      nodes: readonly AxNode[];
    };
    return nodes.flatMap(({ ignored, role, name, properties = [] }) => {
      const has = (what: string): boolean =>
        properties.some((one) => one.name === what && one.value.value === true);
      const kind = role?.value ?? '';
      if (ignored || PASSED.has(kind) || !(USED.has(kind) || has('focusable'))) return [];
      // Without the sign before a line that opens.
      const words = (name?.value ?? '').replace(/^[▸▾]/, '').replace(/\s+/g, ' ').trim();
      return [{ role: kind, name: words, isEnabled: !has('disabled') }];
    });
  }

  /** Where a control is. */
  async at({ role, name }: Control): Promise<Locator> {
    if (role === 'DisclosureTriangle')
      return this.page.locator('summary', { hasText: new RegExp(`^\\s*${loose(name)}`) }).first();
    // A press looks for it at each of its steps: by a label that is quick, by role and name it goes through all
    // elements.
    const labelled = this.page.locator(`${TAGS[role]}[aria-label=${JSON.stringify(name)}]`);
    if (role in TAGS && (await labelled.count()) === 1) return labelled;
    return this.page.getByRole(role as 'button', { name, exact: true }).first();
  }

  /**
   * Uses every control by its row, those that appear meanwhile too.
   * @param which where another test uses them all: `rows`, one of each row; `roles`, one of each role and of each
   *   row that reveals others, and of the rest only whether a hand can reach it.
   * @returns what went wrong, in words.
   */
  async press(
    table: readonly Row[],
    which: 'all' | 'rows' | 'roles' = 'all',
  ): Promise<readonly string[]> {
    const wrong: string[] = [];
    const done = new Set<string>();
    const used = new Set<Row>();
    const roles = new Set<string>();
    const isEnough = (row: Row): boolean =>
      which !== 'all' &&
      (used.has(row) || (which === 'roles' && row.reveals !== true && roles.has(row.role)));
    const look = async (): Promise<void> => {
      if (which !== 'roles') return;
      for (const one of await outOfReach(this.page)) if (!wrong.includes(one)) wrong.push(one);
    };
    const fresh = async (): Promise<Control[]> => {
      const all = await this.all();
      return all.filter((control) => control.isEnabled && !done.has(keyOf(control)));
    };
    await look();
    for (let queue = await fresh(); queue.length > 0; ) {
      const control = queue.shift() as Control;
      const key = keyOf(control);
      const row = rowOf(table, control);
      if (row === undefined && !done.has(key)) wrong.push(`${key} has no row`);
      else if (row !== undefined && !done.has(key) && !isEnough(row)) {
        used.add(row);
        roles.add(row.role);
        done.add(key);
        try {
          await row.press(await this.at(control), control);
        } catch (error) {
          wrong.push(`${key}: ${error instanceof Error ? error.message : error}`);
        }
        if (row.reveals === true) {
          await look();
          queue = await fresh();
        }
      }
      done.add(key);
      if (queue.length === 0) queue = await fresh();
    }
    for (const row of table)
      if (!used.has(row) && which !== 'roles') wrong.push(`no ${row.role} is named as ${row.name}`);
    return wrong;
  }

  /** The controls that no row of a table is for. */
  async strange(table: readonly Row[]): Promise<readonly string[]> {
    return (await this.all())
      .filter((control) => rowOf(table, control) === undefined)
      .map(({ role, name }) => `${role} "${name}"`);
  }
}

function keyOf({ role, name }: Control): string {
  return `${role} "${name}"`;
}

function rowOf(table: readonly Row[], { role, name }: Control): Row | undefined {
  return table.find((row) => row.role === role && row.name.test(name));
}

/**
 * The controls that a hand cannot reach: they lie beside the page, or under something else.
 * @returns what is wrong with each, in words.
 */
async function outOfReach(page: Page): Promise<readonly string[]> {
  return inPage<string[]>(
    page,
    `[...document.querySelectorAll('a[href], button, input, select, textarea, summary, [tabindex="0"]')].flatMap((at) => {
      if (!at.checkVisibility({ visibilityProperty: true })) return [];
      // What only the keyboard leads to is in its place once it has the focus.
      if (at.matches('a[href^="#"]')) at.focus();
      at.scrollIntoView({ block: 'center', inline: 'nearest', behavior: 'instant' });
      const { left, right, top, bottom } = at.getBoundingClientRect();
      const name = at.getAttribute('aria-label') ?? at.labels?.[0]?.textContent ?? at.textContent;
      const what = at.localName + ' "' + name.trim().slice(0, 40) + '"';
      if (left < 0 || right > document.documentElement.clientWidth) return [what + ' is beside the page'];
      const hit = document.elementFromPoint((left + right) / 2, (top + bottom) / 2);
      const isHit = at.contains(hit) || [...(at.labels ?? [])].some((label) => label.contains(hit));
      return isHit ? [] : [what + ' is under ' + (hit?.outerHTML.slice(0, 80) ?? 'nothing')];
    })`,
  );
}

/** A pattern for words between which there may be any space, or none. */
function loose(words: string): string {
  return [...words.replace(/\s/g, '')]
    .map((letter) => letter.replace(/[.*+?^${}()|[\]\\]/g, '\\$&'))
    .join('\\s*');
}

/**
 * Waits until something holds, at most some seconds.
 * @throws Error that says what was not seen, and what the latest value was.
 */
export async function seen<T>(
  what: string,
  look: () => Promise<T> | T,
  holds: (value: T) => boolean,
): Promise<void> {
  const until = performance.now() + PATIENCE;
  // To look takes a browser about as long as this; what takes long is looked at less and less often.
  for (let pause = 10; ; pause = Math.min(1.5 * pause, 60)) {
    const value = await look();
    if (holds(value)) return;
    if (performance.now() > until)
      throw new Error(`${what} was not seen, but ${JSON.stringify(value)?.slice(0, 300)}`);
    await new Promise((done) => setTimeout(done, pause));
  }
}

/** Types what no setting takes into a field. @returns the refusals that are seen. */
export async function refused(page: Page, at: Locator): Promise<Locator> {
  await at.fill('80 parsecs');
  await at.press('Enter');
  const refusal = page.locator('.refusal:visible');
  await seen(
    'a refusal',
    () => refusal.allTextContents(),
    ([now]) => /^Not taken: ./.test(now ?? ''),
  );
  return refusal;
}

/** ms: a busy machine may need seconds for what takes a blink otherwise. */
export const PATIENCE = 10_000;
