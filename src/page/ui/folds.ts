/**
 * Folds: each stays as a person left it, through a redraw and a reload, and all are open on paper. A
 * fold is identified by its `data-fold`.
 */

/** The key under which a browser stores the folds for as long as the tab is open. */
const KEPT = 'forehear folds';

export class Folds {
  private readonly key: string;
  private readonly states: Map<string, boolean>;
  /** The folds that are open only on paper, while it is made. */
  private forPaper: Set<HTMLDetailsElement> | undefined;

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
        if (this.forPaper !== undefined || !(target instanceof HTMLDetailsElement)) return;
        const { fold } = target.dataset;
        if (fold !== undefined) this.note(fold, target.open);
      },
      true,
    );
    addEventListener('beforeprint', () => this.print());
    addEventListener('afterprint', () => this.back());
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
    for (const fold of foldsIn(place)) this.restoreOne(fold);
  }

  /** Also while a print is prepared, where what is drawn late must not come shut. */
  restoreOne(fold: HTMLDetailsElement): void {
    const state = this.states.get(fold.dataset.fold ?? '');
    if (state !== undefined) fold.open = state;
    if (this.forPaper !== undefined) openForPaper(fold, this.forPaper);
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
    this.forPaper ??= new Set();
    for (const fold of foldsIn(document)) openForPaper(fold, this.forPaper);
  }

  private back(): void {
    const opened = this.forPaper;
    if (opened === undefined) return;
    for (const fold of opened) fold.open = false;
    opened.clear();
    // The events for these changes come later, and another print may come before them.
    setTimeout(() => {
      if (opened.size === 0) this.forPaper = undefined;
    });
  }
}

function openForPaper(fold: HTMLDetailsElement, opened: Set<HTMLDetailsElement>): void {
  if (fold.open) return;
  opened.add(fold);
  fold.open = true;
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
