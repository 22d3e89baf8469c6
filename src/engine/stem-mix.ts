/** A voice by itself, as it is in the mix, block by block: its volts, times gains that volts may move. */

import { BLOCK } from './renderer.ts';
import type { Mover, Stem } from './stems.ts';

interface MixedWay {
  readonly gains: readonly number[];
  readonly movers: readonly { readonly mover: Mover; readonly volts: Float64Array }[];
}

export class StemMix {
  /** By channel, full scale being 1; each `run` fills them again. */
  readonly channels: readonly Float64Array[];
  private readonly volts: Float64Array;
  private readonly ways: readonly MixedWay[];
  private readonly moved = new Float64Array(BLOCK);

  /**
   * @param taps blocks of the volts of `jacksOfStem`, which are filled again before each `run`: of so many the next.
   * @param channels how many there are, left first.
   * @param fullScale V of a sample of 1.
   */
  constructor(
    { gains, ways = [{ gains, movers: [] }] }: Stem,
    taps: Iterator<Float64Array>,
    channels: number,
    fullScale: number,
  ) {
    const tap = (): Float64Array => taps.next().value as Float64Array;
    this.channels = Array.from({ length: channels }, () => new Float64Array(BLOCK));
    this.volts = tap();
    this.ways = ways.map((way) => ({
      gains: way.gains.map((gain) => gain / fullScale),
      movers: way.movers.map((mover) => ({ mover, volts: tap() })),
    }));
  }

  /** Works out the first `frames` frames of the block. */
  run(frames: number): void {
    this.ways.forEach(({ gains, movers }, way) => {
      const volts = movers.length === 0 ? this.volts : this.movedBy(movers, frames);
      this.channels.forEach((signal, channel) => {
        const gain = gains[channel] as number;
        if (way === 0) for (let i = 0; i < frames; i++) signal[i] = (volts[i] as number) * gain;
        else
          for (let i = 0; i < frames; i++)
            signal[i] = (signal[i] as number) + (volts[i] as number) * gain;
      });
    });
  }

  private movedBy(movers: MixedWay['movers'], frames: number): Float64Array {
    const { moved } = this;
    moved.set(this.volts);
    for (const { mover, volts } of movers) {
      let last = Number.NaN;
      let gain = 0;
      for (let i = 0; i < frames; i++) {
        const at = volts[i] as number;
        if (at !== last) {
          last = at;
          gain = mover.gainAt(at);
        }
        moved[i] = (moved[i] as number) * gain;
      }
    }
    return moved;
  }
}
