/**
 * State of a component. A change is drawn with the next frame of the screen, but a read always gives the
 * present value, even in a handler that was made when the component was last drawn.
 */

import { useRef, useState } from 'preact/hooks';

export interface Cell<T> {
  readonly now: T;
  /** Sets another value, and has the component drawn again. */
  readonly put: (value: T) => void;
}

/** @param first gives the value to begin with. @returns the same cell each time it is drawn. */
export function useCell<T>(first: () => T): Cell<T> {
  const [, draw] = useState({});
  const cell = useRef<Cell<T>>(undefined);
  if (cell.current === undefined) {
    let value = first();
    cell.current = {
      get now() {
        return value;
      },
      put(next) {
        if (Object.is(next, value)) return;
        value = next;
        draw({});
      },
    };
  }
  return cell.current;
}
