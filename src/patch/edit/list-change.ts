/** A change of a list: what is asked for, and the list after it. */

/** Places are counted from 0. */
export type ListChange =
  /** In front of the item that is at that place, or at the end. */
  | { readonly type: 'insert'; readonly at: number; readonly text: string }
  | { readonly type: 'remove'; readonly at: number }
  /** `to` is the place that the item has afterwards. */
  | { readonly type: 'move'; readonly from: number; readonly to: number };

/** A list after a change. */
export function changedList<T>(items: readonly T[], change: ListChange, made: T): readonly T[] {
  switch (change.type) {
    case 'insert':
      return items.toSpliced(change.at, 0, made);
    case 'remove':
      return items.toSpliced(change.at, 1);
    case 'move': {
      const [item] = items.slice(change.from, change.from + 1);
      return item === undefined
        ? items
        : items.toSpliced(change.from, 1).toSpliced(change.to, 0, item);
    }
  }
}
