/**
 * What has to be removed should this process end before it is finished: files and folders in the making.
 *
 * Whoever makes one says so first: a signal may come at any moment, and until this process listens to
 * signals they end it at once. Between {@link begin} and the end of the arithmetic that follows, none is heard.
 */

export interface Unfinished {
  /** Removes it at once, without waiting for anything; it need not have come into being yet. */
  abandon(): void;
}

const unfinished = new Set<Unfinished>();
let onChange: (some: boolean) => void = () => {};

/** Notes that something is about to be made. */
export function begin(one: Unfinished): void {
  unfinished.add(one);
  if (unfinished.size === 1) onChange(true);
}

/** Notes that it is finished or gone. */
export function end(one: Unfinished): void {
  if (unfinished.delete(one) && unfinished.size === 0) onChange(false);
}

/** Removes all that is in the making. */
export function abandonUnfinished(): void {
  for (const one of [...unfinished]) {
    try {
      one.abandon();
    } catch {
      // The others still have to be removed.
    }
  }
}

/** @param listener is told whenever there begins to be something, or nothing any more. */
export function watchUnfinished(listener: (some: boolean) => void): void {
  onChange = listener;
  listener(unfinished.size > 0);
}
