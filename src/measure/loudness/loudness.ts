/**
 * Integrated loudness of programme material, in LUFS.
 *
 * Source: Recommendation ITU-R BS.1770-5, Annex 1: K-weighting, mean square in blocks of 400 ms that
 * overlap by 75 %, absolute gate at -70 LUFS, relative gate 10 LU below the mean of what passes it.
 * A channel counts once, as left, right, centre and mono do, unless another weight is given.
 */

import { tanTurns } from '../../modules/dsp/math.ts';
import { type LoudnessStep, loudnessOfBlocks, loudnessOfPower, stepsOfBlocks } from './gates.ts';

/** A second-order section, its leading denominator coefficient being 1. */
export interface FilterSection {
  readonly b: readonly [b0: number, b1: number, b2: number];
  readonly a: readonly [a1: number, a2: number];
}

/** A section at 48 kHz, and the frequency at which sections for other rates must agree with it. */
interface Prototype extends FilterSection {
  /** Hz: 48000/pi atan(sqrt((1 + a1 + a2)/(1 - a1 + a2))), the undamped frequency of the poles. */
  readonly poleHz: number;
}

/** BS.1770-5, Annex 1, table 1: the effect of the head. */
const SHELF: Prototype = {
  b: [1.53512485958697, -2.69169618940638, 1.19839281085285],
  a: [-1.69065929318241, 0.73248077421585],
  poleHz: 1681.9744509555323,
};
/** BS.1770-5, Annex 1, table 2: the revised low-frequency B curve. */
const HIGH_PASS: Prototype = {
  b: [1, -2, 1],
  a: [-1.99004745483398, 0.99007225036621],
  poleHz: 38.13547087611305,
};

/** Whether loudness can be measured at a sample rate, Hz: from 8 to 384 kHz. */
export function hasLoudness(sampleRate: number): boolean {
  return sampleRate >= 8000 && sampleRate <= 384_000;
}

/**
 * Gives the two sections of the K-weighting filter at a sample rate.
 *
 * The standard prints coefficients for 48 kHz and asks for the same response at other rates. So they
 * are taken back to the analogue filter by the inverse bilinear transform and brought to the new rate
 * by the bilinear transform, prewarped to keep the poles' frequency.
 *
 * Deviation: this changes the shelf's slope a little. The gain is within 0.01 dB of the standard's from
 * 44.1 kHz on, within 0.04 dB at 22.05 kHz and 0.3 dB at 8 kHz.
 * @param sampleRate Hz, from 8000 to 384000.
 * @throws RangeError outside that.
 */
export function kWeighting(
  sampleRate: number,
): readonly [shelf: FilterSection, highPass: FilterSection] {
  if (!hasLoudness(sampleRate)) {
    throw new RangeError(`loudness needs a sample rate from 8 to 384 kHz, not ${sampleRate} Hz`);
  }
  return [atRate(SHELF, sampleRate), atRate(HIGH_PASS, sampleRate)];
}

function atRate({ b, a, poleHz }: Prototype, sampleRate: number): FilterSection {
  const ratio = tanTurns(poleHz / 48000 / 2) / tanTurns(poleHz / sampleRate / 2);
  const zeros = rescaled(b[0], b[1], b[2], ratio);
  const poles = rescaled(1, a[0], a[1], ratio);
  const a0 = poles[0];
  return {
    b: [zeros[0] / a0, zeros[1] / a0, zeros[2] / a0],
    a: [poles[1] / a0, poles[2] / a0],
  };
}

/** Puts z = (1 + s)/(1 - s) into c0 + c1/z + c2/z^2, scales s by `ratio`, and goes back to z. */
function rescaled(c0: number, c1: number, c2: number, ratio: number): [number, number, number] {
  const s2 = (c0 - c1 + c2) * ratio * ratio;
  const s1 = 2 * (c0 - c2) * ratio;
  const s0 = c0 + c1 + c2;
  return [(s2 + s1 + s0) / 4, (s0 - s2) / 2, (s2 - s1 + s0) / 4];
}

/** A block overlaps the next by 75 %, so sums over a quarter of it are all that must be kept. */
const HOPS_PER_BLOCK = 4;
const HOPS_PER_SECOND = 10;

/** Sums up the K-weighted power of channels as samples come, over steps of equal time. */
export abstract class WeightedPower {
  protected readonly sampleRate: number;
  /** Sums of squares over the complete steps. */
  protected readonly sums: number[] = [];
  protected frames = 0;
  private readonly filters: readonly KFilter[];
  private readonly weights: readonly number[];
  private readonly stepsPerSecond: number;
  private stepEnd: number;

  /**
   * @param sampleRate Hz, from 8000 to 384000.
   * @param channels how many.
   * @param weights the factor of each channel's power by ITU-R BS.1770: 1 in front, 1.41 aside, 0 for an LFE
   *   channel; 1 if left out.
   * @throws RangeError if the sample rate is outside that.
   */
  constructor(
    sampleRate: number,
    channels: number,
    weights: readonly number[],
    stepsPerSecond: number,
  ) {
    this.sampleRate = sampleRate;
    this.weights = weights;
    this.stepsPerSecond = stepsPerSecond;
    const sections = kWeighting(sampleRate);
    this.filters = Array.from({ length: channels }, () => new KFilter(sections));
    this.stepEnd = this.startOfStep(1);
  }

  /**
   * Takes in the first `frames` frames of the channels, 1.0 being full scale. The split into calls
   * changes nothing, not even the last bit.
   * @throws Error if a sample is not finite, once the step that holds it is complete.
   */
  add(channels: readonly Float64Array[], frames: number): void {
    for (let from = 0; from < frames; ) {
      const to = Math.min(frames, from + this.stepEnd - this.frames);
      for (let c = 0; c < this.filters.length; c++) {
        (this.filters[c] as KFilter).run(channels[c] as Float64Array, from, to);
      }
      this.frames += to - from;
      from = to;
      if (this.frames === this.stepEnd) this.endStep();
    }
  }

  /**
   * Gives the loudness of all that came in, in LUFS.
   * @param gainDb as if it were played so much louder: the absolute gate does not move with it.
   * @returns -Infinity for silence, for no samples, and if all of it is below -70 LUFS.
   */
  integrated(gainDb = 0): number {
    return loudnessOfBlocks(this.blockPowers(), gainDb);
  }

  /**
   * Gives what its loudness is at every gain, see `stepsOfBlocks`.
   * @param lufs what the steps are counted from, as `integrated` gives it.
   */
  loudnessSteps(lufs = this.integrated()): readonly LoudnessStep[] {
    return Number.isFinite(lufs) ? stepsOfBlocks(this.blockPowers(), lufs) : [];
  }

  /** The mean square of each block, summed over the channels. */
  protected abstract blockPowers(): Float64Array;

  /** The sum over what there is of the step that is not complete. */
  protected sumOfStep(): number {
    return this.filters.reduce((sum, filter, c) => sum + (this.weights[c] ?? 1) * filter.sum, 0);
  }

  /** The frame at which a step starts; a step need not be a whole number of frames. */
  protected startOfStep(step: number): number {
    return Math.round((step * this.sampleRate) / this.stepsPerSecond);
  }

  private endStep(): void {
    const sum = this.sumOfStep();
    if (!Number.isFinite(sum)) {
      throw new Error(`a sample up to frame ${this.frames} is not a finite number`);
    }
    this.sums.push(sum);
    for (const filter of this.filters) filter.endStep();
    this.stepEnd = this.startOfStep(this.sums.length + 1);
  }
}

/**
 * Measures loudness as samples come. Keeps 80 bytes a second of sound.
 *
 * Material shorter than a block of 400 ms is measured as if silence followed up to 400 ms, so a single drum hit has a
 * loudness too. From 400 ms on, the standard's rule holds: what is left over at the end, less than 100 ms, does not
 * count.
 */
export class LoudnessMeter extends WeightedPower {
  constructor(sampleRate: number, channels: number, weights: readonly number[] = []) {
    super(sampleRate, channels, weights, HOPS_PER_SECOND);
  }

  /**
   * Gives the least loudness that a longer whole can have, whatever follows, in LUFS. That is the mean
   * over all blocks with silence for the rest: the gates only remove blocks that are softer than the
   * mean of the others, so they never lower it.
   * @param frames of the whole.
   * @returns -Infinity for silence, and for a whole shorter than a block.
   */
  atLeast(frames: number): number {
    let all = Math.floor((frames * HOPS_PER_SECOND) / this.sampleRate);
    while (this.startOfStep(all) > frames) all--;
    const blocks = all - HOPS_PER_BLOCK + 1;
    if (blocks < 1) return Number.NEGATIVE_INFINITY;
    // A hop is in as many blocks as there is room for on either side of it.
    const sum = this.sums.reduce(
      (total, hop, n) => total + hop * Math.max(0, Math.min(n + 1, HOPS_PER_BLOCK, all - n)),
      0,
    );
    return loudnessOfPower(sum / blocks / this.startOfStep(HOPS_PER_BLOCK));
  }

  /** Only complete blocks count. */
  protected blockPowers(): Float64Array {
    const count = this.sums.length - HOPS_PER_BLOCK + 1;
    if (count < 1) {
      const sum = this.sums.reduce((a, b) => a + b, 0) + this.sumOfStep();
      return Float64Array.of(sum / this.startOfStep(HOPS_PER_BLOCK));
    }
    return Float64Array.from({ length: count }, (_, first) => {
      let sum = 0;
      for (let h = first; h < first + HOPS_PER_BLOCK; h++) sum += this.sums[h] as number;
      return sum / (this.startOfStep(first + HOPS_PER_BLOCK) - this.startOfStep(first));
    });
  }
}

/** K-weights one channel and sums its squares. */
export class KFilter {
  /** Since the start of the hop. */
  sum = 0;

  private readonly shelf: FilterSection;
  private readonly highPass: FilterSection;
  // Direct form I: the last two inputs, the last two between the sections, the last two outputs. Its
  // recursion waits for one product and one sum a sample, the transposed form for a sum more.
  private x1 = 0;
  private x2 = 0;
  private y1 = 0;
  private y2 = 0;
  private z1 = 0;
  private z2 = 0;
  /** Whether all of these are 0, so that silence leaves them so. */
  private isStill = true;

  constructor([shelf, highPass]: readonly [FilterSection, FilterSection]) {
    // A gain is moved from the high-pass to the shelf, so that its numerator is 1, -2, 1.
    const gain = highPass.b[0];
    this.shelf = { a: shelf.a, b: [shelf.b[0] * gain, shelf.b[1] * gain, shelf.b[2] * gain] };
    this.highPass = highPass;
  }

  run(samples: Float64Array, from: number, to: number): void {
    if (this.isStill && isSilent(samples, from, to)) return;
    this.isStill = false;
    const [b0, b1, b2] = this.shelf.b;
    const [a1, a2] = this.shelf.a;
    const [c1, c2] = this.highPass.a;
    let { x1, x2, y1, y2, z1, z2, sum } = this;
    for (let i = from; i < to; i++) {
      const x = samples[i] as number;
      const y = b0 * x + b1 * x1 + b2 * x2 - a2 * y2 - a1 * y1;
      const z = y - 2 * y1 + y2 - c2 * z2 - c1 * z1;
      x2 = x1;
      x1 = x;
      y2 = y1;
      y1 = y;
      z2 = z1;
      z1 = z;
      sum += z * z;
    }
    this.x1 = x1;
    this.x2 = x2;
    this.y1 = y1;
    this.y2 = y2;
    this.z1 = z1;
    this.z2 = z2;
    this.sum = sum;
  }

  endStep(): void {
    this.sum = 0;
    // In silence the outputs fade forever; numbers under 1e-308 would slow the processor down.
    if (Math.abs(this.y1) + Math.abs(this.z1) + Math.abs(this.z2) < 1e-30) {
      this.y1 = 0;
      this.y2 = 0;
      this.z1 = 0;
      this.z2 = 0;
      this.isStill = this.x1 === 0 && this.x2 === 0;
    } else if (Math.abs(this.z1) + Math.abs(this.z2) < 1e-150) {
      // Under steady volts only what the high-pass gives fades so; its squares are long too small to count.
      this.z1 = 0;
      this.z2 = 0;
    }
  }
}

function isSilent(samples: Float64Array, from: number, to: number): boolean {
  for (let i = from; i < to; i++) if (samples[i] !== 0) return false;
  return true;
}
