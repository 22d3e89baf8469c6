/** The third octaves of a sound over time: all bands of one sample rate at once, by `circuits/dsp/third-octaves`. */

import { NO_ROOM, type ProgramMemory, wasm } from '../../modules/dsp/program.ts';
import { bandCoefficients } from './band-filters.ts';
import { THIRD_OCTAVES_WASM } from './third-octaves-wasm.ts';

/** What the program gives. It keeps no state between two sounds, so that one instance serves all. */
interface Filters {
  readonly memory: ProgramMemory;
  room(): number;
  samplesAt(): number;
  pairsAt(): number;
  run(pairs: number, count: number): void;
  quieten(pairs: number): void;
}

/** An instance, and what is written into its memory. */
interface Work {
  readonly filters: Filters;
  readonly samples: Float64Array;
  /** By pair of bands, {@link PAIR} each: value by value for both. */
  readonly pairs: Float64Array;
}

/** Values of a pair of bands. */
const PAIR = 32;
/** The value that is the sum of squares. */
const SUM = 15;
/** As many pairs as the program has room for: more than there are third octaves. */
const MOST_PAIRS = 16;

let begun: Work | undefined;

function work(): Work {
  if (begun !== undefined) return begun;
  const filters = started();
  const { buffer } = filters.memory;
  begun = {
    filters,
    samples: new Float64Array(buffer, filters.samplesAt(), filters.room()),
    pairs: new Float64Array(buffer, filters.pairsAt(), PAIR * MOST_PAIRS),
  };
  return begun;
}

function started(): Filters {
  const program = new wasm.Module(THIRD_OCTAVES_WASM);
  try {
    return new wasm.Instance(program, {}).exports as unknown as Filters;
  } catch (error) {
    throw error instanceof RangeError ? new Error(NO_ROOM, { cause: error }) : error;
  }
}

/** Some bands at one sample rate. */
export class BandBank {
  /** How many bands it has. */
  readonly count: number;
  /** What the filters begin with, by pair. */
  private readonly still: Float64Array;

  /**
   * @param bands which, 0 being that at 1 kHz; 32 at most.
   * @param sampleRate Hz, over twice the upper edge of each.
   */
  constructor(bands: readonly number[], sampleRate: number) {
    this.count = bands.length;
    this.still = new Float64Array(PAIR * Math.ceil(bands.length / 2));
    bands.forEach((x, index) => {
      bandCoefficients(x, sampleRate).forEach((value, k) => {
        this.still[placeOf(index, k)] = value;
      });
    });
  }

  /**
   * The mean square in each frame of a sound that starts at its first sample, with silence before and after it.
   * @param step samples from frame to frame; need not be whole.
   * @returns by band.
   * @throws Error of {@link NO_ROOM} if there is none for the filters.
   */
  powers(sound: Float64Array, frames: number, step: number): readonly Float64Array[] {
    const powers = Array.from({ length: this.count }, () => new Float64Array(frames));
    const { filters, samples, pairs } = work();
    const used = this.still.length / PAIR;
    pairs.set(this.still);
    let from = 0;
    for (let k = 0; k < frames; k++) {
      const to = Math.round((k + 1) * step);
      for (let at = from; at < to; at += samples.length) {
        const end = Math.min(to, at + samples.length);
        const heard = sound.subarray(at, end);
        samples.set(heard);
        samples.fill(0, heard.length, end - at);
        filters.run(used, end - at);
      }
      powers.forEach((row, band) => {
        const place = placeOf(band, SUM);
        row[k] = (pairs[place] as number) / (to - from);
        pairs[place] = 0;
      });
      filters.quieten(used);
      from = to;
    }
    return powers;
  }
}

/** Where the program keeps a value of a band. */
function placeOf(band: number, value: number): number {
  return PAIR * (band >> 1) + 2 * value + (band & 1);
}
