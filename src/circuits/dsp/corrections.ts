/**
 * Band-limited steps and corners, so that a wave with jumps does not alias.
 *
 * A wave is sampled as it is, KERNEL_DELAY samples late, and every jump or change of slope adds the
 * difference between its low-passed form and its sampled form:
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

import { BLOCK } from '../core/wire';
import { bandLimitedKernel, KERNEL_DELAY, KERNEL_LENGTH } from './band-limited-kernel';

/** Rows in a table: an event's place between two samples is interpolated between two rows. */
const ROWS: i32 = 256;

class Tables {
  /** Row r, column j: the correction r / ROWS + j samples after the event. */
  readonly step: StaticArray<f64> = new StaticArray<f64>((ROWS + 1) * KERNEL_LENGTH);
  readonly corner: StaticArray<f64> = new StaticArray<f64>((ROWS + 1) * KERNEL_LENGTH);

  constructor() {
    const kernel = bandLimitedKernel(ROWS);
    const step = this.step;
    const corner = this.corner;
    let s: f64 = 0;
    let integral: f64 = 0;
    for (let j: i32 = 0; j < KERNEL_LENGTH; j++) {
      const shown: f64 = j >= KERNEL_DELAY ? 1 : 0;
      for (let row: i32 = 0; row <= ROWS; row++) {
        if (row > 0) {
          const rise: f64 = j * ROWS + row < kernel.length ? kernel[j * ROWS + row] : 0;
          integral += (s + rise / 2) / f64(ROWS);
          s += rise;
        }
        const i = row * KERNEL_LENGTH + j;
        step[i] = s - shown;
        corner[i] = integral - shown * (f64(j) + f64(row) / f64(ROWS) - f64(KERNEL_DELAY));
      }
    }
  }
}

/** Made when first asked for. */
let tables: Tables | null = null;

/** The tables, made when first asked for: they are the same for every rate. */
function sharedTables(): Tables {
  let made = tables;
  if (made == null) {
    made = new Tables();
    tables = made;
  }
  return made;
}

/** The corrections still to come on one wave: aligned with the block, and a kernel beyond it. */
export class Corrections {
  readonly line: StaticArray<f64> = new StaticArray<f64>(BLOCK + KERNEL_LENGTH);
  private readonly tables: Tables = sharedTables();

  /** Adds a jump before sample `at` of the block. */
  addStep(at: i32, height: f64, since: f64): void {
    this.add(this.tables.step, at, height, since);
  }

  /**
   * Adds a change of slope.
   * @param change of slope, per sample.
   * @param since as for `addStep`.
   */
  addCorner(at: i32, change: f64, since: f64): void {
    this.add(this.tables.corner, at, change, since);
  }

  /** Ends the block: corrections beyond it move to its start. */
  turn(): void {
    const line = changetype<usize>(this.line);
    memory.copy(line, line + (BLOCK << 3), KERNEL_LENGTH << 3);
    memory.fill(line + (KERNEL_LENGTH << 3), 0, BLOCK << 3);
  }

  private add(table: StaticArray<f64>, at: i32, size: f64, since: f64): void {
    const place = since * f64(ROWS);
    const floor = Math.floor(place);
    const row: i32 = floor < f64(ROWS - 1) ? i32(floor) : ROWS - 1;
    const upper = size * (place - f64(row));
    const lower = size - upper;
    const line = this.line;
    const base = row * KERNEL_LENGTH;
    // Two taps at a time.
    const lowers = f64x2.splat(lower);
    const uppers = f64x2.splat(upper);
    let to = changetype<usize>(line) + ((<usize>at) << 3);
    let from = changetype<usize>(table) + ((<usize>base) << 3);
    const end = to + ((<usize>KERNEL_LENGTH) << 3);
    for (; to < end; to += 16, from += 16) {
      const value = f64x2.add(
        f64x2.mul(lowers, v128.load(from)),
        f64x2.mul(uppers, v128.load(from, KERNEL_LENGTH << 3)),
      );
      v128.store(to, f64x2.add(v128.load(to), value));
    }
  }
}
