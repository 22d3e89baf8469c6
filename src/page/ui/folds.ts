/**
 * Folds: each stays as a person left it, through a redraw and a reload, and all are open on paper. A
 * fold is identified by its `data-fold`.
 */

/** The key under which a browser stores the folds for as long as the tab is open. */
const KEPT = 'forehear folds';

export class Folds {
  private readonly key: string;
  private readonly states: Map<string, boolean>;
  private isPrinting = false;

  /** @param file the patch's, since a tab may come to show another. */
  constructor(file: string) {
    this.key = `${KEPT} ${file}`;
    this.states = new Map(read(this.key));
  }

  /** Follows what is opened and shut from now on, also by the browser: its own search opens folds too. */
  listen(): void {
    // The event does not bubble.
    document.addEventListener(
      'toggle',
      ({ target }) => {
        if (this.isPrinting || !(target instanceof HTMLDetailsElement)) return;
        const { fold } = target.dataset;
        if (fold !== undefined) this.note(fold, target.open);
      },
      true,
    );
    addEventListener('beforeprint', () => this.print());
  }

  /** How it was left; undefined if nobody has touched it. */
  state(fold: string): boolean | undefined {
    return this.states.get(fold);
  }

  note(fold: string, isOpen: boolean): void {
    if (this.states.get(fold) === isOpen) return;
    this.states.set(fold, isOpen);
    write(this.key, [...this.states]);
  }

  /** Puts the folds of what has been drawn into the state in which they were left. */
  restore(place: ParentNode): void {
    for (const fold of foldsIn(place)) {
      const state = this.states.get(fold.dataset.fold ?? '');
      if (state !== undefined) fold.open = state;
    }
  }

  /** Opens or shuts one. */
  set(name: string, isOpen: boolean): void {
    for (const fold of foldsIn(document)) if (fold.dataset.fold === name) fold.open = isOpen;
  }

  /** Opens or shuts all folds whose names begin like this. */
  setAll(start: string, isOpen: boolean): void {
    for (const fold of foldsIn(document))
      if (fold.dataset.fold?.startsWith(start) === true) fold.open = isOpen;
  }

  /** Opens all folds around an element. */
  reveal(element: Element): void {
    for (
      let fold = element.closest('details');
      fold !== null;
      fold = fold.parentElement?.closest('details') ?? null
    )
      fold.open = true;
  }

  private print(): void {
    const shut = foldsIn(document).filter(({ open }) => !open);
    this.isPrinting = true;
    for (const fold of shut) fold.open = true;
    const back = (): void => {
      for (const fold of shut) fold.open = false;
      // The events for these changes come later.
      setTimeout(() => {
        this.isPrinting = false;
      });
    };
    addEventListener('afterprint', back, { once: true });
  }
}

function foldsIn(place: ParentNode): readonly HTMLDetailsElement[] {
  return [...place.querySelectorAll<HTMLDetailsElement>('details[data-fold]')];
}

/** Empty where the browser stores nothing, or something that is not such a list. */
function read(key: string): readonly (readonly [string, boolean])[] {
  try {
    const kept: unknown = JSON.parse(sessionStorage.getItem(key) ?? '[]');
    return Array.isArray(kept) ? kept.filter(isState) : [];
  } catch {
    return [];
  }
}

function isState(one: unknown): one is readonly [string, boolean] {
  return Array.isArray(one) && typeof one[0] === 'string' && typeof one[1] === 'boolean';
}

function write(key: string, states: readonly (readonly [string, boolean])[]): void {
  try {
    sessionStorage.setItem(key, JSON.stringify(states));
  } catch {
    // The storage is full or forbidden: the states last until the page is closed.
  }
}
