/** Breaks layers, from left to right, into rows: as few as are no wider than asked, with the least height. */

import { GAPS } from './layout.ts';

/** A layer, and what is cut at its left. */
export interface Cut {
  /** Its left end, px. */
  readonly x: number;
  /** How many outputs have wires that go around a fold there. */
  readonly wires: number;
  /** px. */
  readonly height: number;
}

/** Room that a turn of wires takes beside their lanes, px. */
const TURN_PX = 24;

/**
 * Gives the row of each layer.
 * @param end of the last layer, px.
 * @param width of a row at most, px, unless one layer is wider.
 */
export function rowsOf(layers: readonly Cut[], end: number, width: number): readonly number[] {
  interface Best {
    readonly rows: number;
    readonly tall: number;
    /** The first layer of the last row. */
    readonly first: number;
  }
  const lanes = (at: number): number => {
    const wires = layers[at]?.wires ?? 0;
    return at === 0 || wires === 0 ? 0 : TURN_PX + wires * GAPS.wires;
  };
  // The best rows for the first so many layers.
  const best: Best[] = [{ rows: 0, tall: 0, first: 0 }];
  for (let next = 1; next <= layers.length; next++) {
    const right = layers[next]?.x ?? end;
    let found: Best | undefined;
    let tallest = 0;
    for (let first = next - 1; first >= 0; first--) {
      const { x, height } = layers[first] as Cut;
      tallest = Math.max(tallest, height);
      if (right - x + lanes(first) + lanes(next) > width && first < next - 1) break;
      const before = best[first] as Best;
      const rows = before.rows + 1;
      const tall = before.tall + tallest + lanes(first);
      const isBetter =
        found === undefined || rows < found.rows || (rows === found.rows && tall < found.tall);
      if (isBetter) found = { rows, tall, first };
    }
    best.push(found as Best);
  }
  const rows = new Array<number>(layers.length).fill(0);
  for (let end = layers.length; end > 0; ) {
    const { rows: count, first } = best[end] as Best;
    rows.fill(count - 1, first, end);
    end = first;
  }
  return rows;
}
