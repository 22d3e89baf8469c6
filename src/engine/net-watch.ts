/** Sees which nets moved in a block. */

import type { NetBuffers } from './compile.ts';

export class NetWatch {
  private readonly nets: readonly number[];
  private readonly buffers: NetBuffers;
  private readonly moving: Uint8Array;
  /** By net, its volts at the end of the block before. */
  private readonly last: Float64Array;

  /**
   * @param nets to look at; each has a buffer.
   * @param moving by net, 1 while its volts are not what they were a sample ago throughout the block.
   */
  constructor(nets: readonly number[], buffers: NetBuffers, moving: Uint8Array) {
    this.nets = nets;
    this.buffers = buffers;
    this.moving = moving;
    this.last = new Float64Array(moving.length).fill(Number.NaN);
  }

  /** Looks at the first `samples` of the buffers. */
  see(samples: number): void {
    const { nets, moving, buffers, last } = this;
    for (let i = 0; i < nets.length; i++) {
      const net = nets[i] as number;
      const volts = buffers[net] as Float64Array;
      const before = last[net] as number;
      let n = 0;
      while (n < samples && volts[n] === before) n++;
      moving[net] = n < samples ? 1 : 0;
      last[net] = volts[samples - 1] as number;
    }
  }
}
