/**
 * Band-limited steps and corners, so that a wave with jumps does not alias.
 *
 * A wave is sampled as it stands, KERNEL_DELAY samples late, and every jump or change of slope adds
 * what a low-pass would have made of it less what the sampled wave shows:
 *
 *   step      s(t) - u(t - delay)                   s: running sum of the low-pass impulse
 *   corner    integral of s - max(0, t - delay)
 *
 * where t runs from the event, which lies between two samples. Both die away within KERNEL_LENGTH
 * samples. The late wave is exact for straight lines: a low-pass whose impulse has its centre of
 * gravity at the delay leaves a ramp a ramp, just that much later.
 *
 * Source: Brandt, "Hard sync without aliasing", ICMC 2001 (from memory).
 */

import { bandLimitedKernel, KERNEL_DELAY, KERNEL_LENGTH } from './band-limited-kernel.ts';

/** Rows in a table: an event's place between two samples is interpolated between two rows. */
const ROWS = 64;
/** The ring of samples to come holds one whole correction. */
const MASK = KERNEL_LENGTH - 1;

interface Tables {
  /** Row r, column j: the correction r / ROWS + j samples after the event. */
  readonly step: Float64Array;
  readonly corner: Float64Array;
}

let tables: Tables | undefined;

/** The tables, made when first asked for: they are the same for every rate. */
function sharedTables(): Tables {
  tables ??= makeTables();
  return tables;
}

function makeTables(): Tables {
  const kernel = bandLimitedKernel(ROWS);
  const step = new Float64Array((ROWS + 1) * KERNEL_LENGTH);
  const corner = new Float64Array((ROWS + 1) * KERNEL_LENGTH);
  let s = 0;
  let integral = 0;
  for (let j = 0; j < KERNEL_LENGTH; j++) {
    const shown = j >= KERNEL_DELAY ? 1 : 0;
    for (let row = 0; row <= ROWS; row++) {
      // The last row of a column is the first of the next, seen before the sampled wave moves.
      if (row > 0) {
        const rise = kernel[j * ROWS + row] ?? 0;
        integral += (s + rise / 2) / ROWS;
        s += rise;
      }
      const i = row * KERNEL_LENGTH + j;
      step[i] = s - shown;
      corner[i] = integral - shown * (j + row / ROWS - KERNEL_DELAY);
    }
  }
  return { step, corner };
}

/** The corrections still to come on one wave. */
export class Corrections {
  private readonly ring = new Float64Array(KERNEL_LENGTH);
  private at = 0;
  private left = 0;

  /**
   * Adds a jump.
   * @param height of the jump.
   * @param since samples between the jump and the sample to be taken next, from 0 to 1.
   */
  addStep(height: number, since: number): void {
    this.add(sharedTables().step, height, since);
  }

  /**
   * Adds a change of slope.
   * @param change of slope, per sample.
   * @param since as for `addStep`.
   */
  addCorner(change: number, since: number): void {
    this.add(sharedTables().corner, change, since);
  }

  /** Takes this sample's correction: 0 when no event is near. */
  take(): number {
    if (this.left === 0) return 0;
    this.left -= 1;
    const at = this.at;
    const value = this.ring[at] as number;
    this.ring[at] = 0;
    this.at = (at + 1) & MASK;
    return value;
  }

  private add(table: Float64Array, size: number, since: number): void {
    const place = since * ROWS;
    const row = Math.min(Math.floor(place), ROWS - 1);
    const upper = size * (place - row);
    const lower = size - upper;
    const ring = this.ring;
    let i = row * KERNEL_LENGTH;
    for (let j = this.at; j < this.at + KERNEL_LENGTH; j++, i++) {
      const value = lower * (table[i] as number) + upper * (table[i + KERNEL_LENGTH] as number);
      ring[j & MASK] = (ring[j & MASK] as number) + value;
    }
    this.left = KERNEL_LENGTH;
  }
}
