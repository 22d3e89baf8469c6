/** Band-limited steps and corners: see src/modules/dsp/band-limited-step.ts and -kernel.ts. */

import { BLOCK } from '../core/wire';

const KERNEL_DELAY: i32 = 3;
const KERNEL_LENGTH: i32 = 32;
const POINTS: i32 = 4;
const AVERAGES: i32 = 5;
const ROWS: i32 = 64;

const TAPS: StaticArray<f64> = [
  412420, 2035140, 6389953, 15580269, 31829235, 56567403, 89280198, 126541181, 161780356, 186229442,
  191114709, 170625819, 124688260, 60363646, -9024044, -67194609, -99830360, -99472300, -68504331,
  -18850886, 31816109, 66168758, 73386569, 52982851, 14709815, -25496550, -51935903, -55318836,
  -36168867, -4091296, 26684707, 43496017, 40469187, 20572897, -6247616, -27849215, -35330441,
  -26689896, -7181864, 13583149, 26275070, 26002848, 14140308, -2840563, -16764129, -21634859,
  -16177275, -3969592, 8680579, 15924778, 15036966, 7352640, -2789221, -10402258, -12259832,
  -8207465, -875737, 5892697, 9006068, 7493003, 2693009, -2680570, -6014750, -6029801, -3206684,
  691474, 3649778, 4407322, 2952105, 336702, -1996174, -2974931, -2360214, -725202, 959729, 1869399,
  1703753, 743412, -392296, -1113098, -1145304, -608844, 117226, 634328, 728267, 440544, -4023,
  -348611, -441555, -291610, -29293, 186444, 256351, 178924, 29112, -98266, -142767, -101992,
  -18942, 51837, 76204, 53631, 8937, -27726, -38757, -25468, -2256, 15033, 18466, 10332, -1081,
  -8056, -7862, -2945, 2083, 3970, 2514, -169, -1734, -1341, 64,
];

function bandLimitedKernel(points: i32): StaticArray<f64> {
  const gap = (points / POINTS) | 0;
  let sum: f64 = 0;
  let moment: f64 = 0;
  const differences = new StaticArray<f64>(KERNEL_LENGTH * POINTS);
  for (let n: i32 = 0; n < TAPS.length; n++) {
    const tap = TAPS[n];
    differences[n] = tap;
    sum += tap;
    moment += tap * f64(n) * f64(gap);
  }
  for (let pass: i32 = 0; pass < AVERAGES; pass++) {
    sum *= f64(gap);
    moment *= f64(gap);
    for (let n: i32 = differences.length - 1; n > 0; n--)
      differences[n] = differences[n] - differences[n - 1];
  }
  const centre = moment / sum + f64(AVERAGES * (gap - 1)) / 2 - 0.5;
  const late = f64(KERNEL_DELAY * points) - centre;
  const whole = i32(Math.floor(late));
  const second = (late - f64(whole)) / sum;
  const first = 1 / sum - second;
  const kernel = new StaticArray<f64>(KERNEL_LENGTH * points);
  let sum1: f64 = 0;
  let sum2: f64 = 0;
  let sum3: f64 = 0;
  let sum4: f64 = 0;
  let value: f64 = 0;
  for (let i: i32 = whole; i < kernel.length; i++) {
    const before = value;
    const point = i - whole;
    if (point % gap == 0) sum1 += differences[(point / gap) | 0];
    sum2 += sum1;
    sum3 += sum2;
    sum4 += sum3;
    value += sum4;
    kernel[i] = value * first + before * second;
  }
  return kernel;
}

class Tables {
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

function sharedTables(): Tables {
  let made = tables;
  if (made == null) {
    made = new Tables();
    tables = made;
  }
  return made;
}

/** The corrections still to come on one wave: in line with the block, and a kernel beyond it. */
export class Corrections {
  readonly line: StaticArray<f64> = new StaticArray<f64>(BLOCK + KERNEL_LENGTH);
  private readonly tables: Tables = sharedTables();

  /** Adds a jump before sample `at` of the block. */
  addStep(at: i32, height: f64, since: f64): void {
    this.add(this.tables.step, at, height, since);
  }

  addCorner(at: i32, change: f64, since: f64): void {
    this.add(this.tables.corner, at, change, since);
  }

  /** Ends the block: what lies beyond it comes to its start. */
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
