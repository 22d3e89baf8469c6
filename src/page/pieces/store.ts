/** A value that is replaced as a whole, with listeners that are called for each change. */

import { useLayoutEffect, useState } from 'preact/hooks';

export class Store<T> {
  private value: T;
  private readonly listeners = new Set<() => void>();

  constructor(value: T) {
    this.value = value;
  }

  get now(): T {
    return this.value;
  }

  /** Replaces some parts. */
  put(parts: Partial<T>): void {
    this.value = { ...this.value, ...parts };
    for (const listener of [...this.listeners]) listener();
  }

  listen(listener: () => void): () => void {
    this.listeners.add(listener);
    return () => this.listeners.delete(listener);
  }
}

/** What `pick` takes out of the store; the component is drawn again when that changes. */
export function usePicked<T, P>(store: Store<T>, pick: (value: T) => P): P {
  const [picked, setPicked] = useState(() => pick(store.now));
  useLayoutEffect(() => {
    const look = (): void => setPicked(() => pick(store.now));
    look();
    return store.listen(look);
  }, [store]);
  return picked;
}
