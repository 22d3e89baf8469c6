/**
 * Which cables are plugged already: ticks that outlive a reload. They are kept by the names of the cables, so
 * that an edit elsewhere in the patch leaves them, and a cable that comes back has its tick again.
 */

/** Of all ticks; the patch's file follows. */
const PREFIX = 'forehear ticks ';

/** What a browser has to remember by; absent where a person or a browser forbids it. */
function memory(): Storage | undefined {
  try {
    return globalThis.localStorage;
  } catch {
    return undefined;
  }
}

export class Ticks {
  private readonly key: string;

  /** @param main name of the patch file. Hand-outs of one name are told apart by where they lie. */
  constructor(main: string, place: Location) {
    this.key = `${PREFIX}${place.protocol === 'file:' ? `${place.pathname} ` : ''}${main}`;
  }

  /** The names that are ticked; none where nothing is remembered. */
  read(): ReadonlySet<string> {
    try {
      const names: unknown = JSON.parse(memory()?.getItem(this.key) ?? '[]');
      return new Set(Array.isArray(names) ? names.filter((name) => typeof name === 'string') : []);
    } catch {
      return new Set();
    }
  }

  /** @returns whether they are remembered. */
  write(names: ReadonlySet<string>): boolean {
    try {
      const store = memory();
      if (names.size === 0) store?.removeItem(this.key);
      else store?.setItem(this.key, JSON.stringify([...names]));
      return store !== undefined;
    } catch {
      return false;
    }
  }

  /** Is told when another page of the same patch ticks. */
  follow(onChange: (names: ReadonlySet<string>) => void): void {
    addEventListener('storage', ({ key }) => {
      if (key === this.key || key === null) onChange(this.read());
    });
  }
}

/** Puts ticks into the boxes of the cable list. */
export function showTicks(names: ReadonlySet<string>): void {
  for (const box of document.querySelectorAll<HTMLInputElement>('input[data-cable]'))
    box.checked = names.has(box.dataset.cable ?? '');
}
