/**
 * Which cables are plugged already: ticks that survive a reload. They are kept by the names of the cables, so
 * that they survive an edit elsewhere in the patch, and a cable that comes back has its tick again.
 */

/** Prefix of all keys for ticks; the name of the patch file follows. */
const PREFIX = 'forehear ticks ';

/** The browser's storage; absent where a person or a browser forbids it. */
function memory(): Storage | undefined {
  try {
    return globalThis.localStorage;
  } catch {
    return undefined;
  }
}

export class Ticks {
  private readonly key: string;

  /** @param main name of the patch file. Hand-outs of the same name are distinguished by their address. */
  constructor(main: string, place: Location) {
    this.key = `${PREFIX}${place.protocol === 'file:' ? `${place.pathname} ` : ''}${main}`;
  }

  /** The names that are ticked; empty where nothing is stored. */
  read(): ReadonlySet<string> {
    try {
      const names: unknown = JSON.parse(memory()?.getItem(this.key) ?? '[]');
      return new Set(Array.isArray(names) ? names.filter((name) => typeof name === 'string') : []);
    } catch {
      return new Set();
    }
  }

  /** @returns whether they are stored. */
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

  /** Calls when another page of the same patch changes its ticks. */
  follow(onChange: (names: ReadonlySet<string>) => void): void {
    addEventListener('storage', ({ key }) => {
      if (key === this.key || key === null) onChange(this.read());
    });
  }
}

/** Sets the checkboxes of the cable list. */
export function showTicks(names: ReadonlySet<string>): void {
  for (const box of document.querySelectorAll<HTMLInputElement>('input[data-cable]'))
    box.checked = names.has(box.dataset.cable ?? '');
}
