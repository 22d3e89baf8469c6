/**
 * A segment at work. While nothing that reaches it moves and all its circuits rest, it is passed over:
 * its wires stay as they are, which is what running it would have left, bit for bit. Most of a kit
 * rests most of the time. It runs once before it may rest: until then its wires are at 0 V whatever
 * its circuits would give.
 */

import type { Circuit } from '../modules/definition.ts';
import type { Loop, NetBuffers } from './compile.ts';
import { NetWatch } from './net-watch.ts';
import type { SegmentWires } from './segment-wires.ts';

export class RunningSegment {
  private readonly loop: Loop;
  private readonly circuits: readonly Circuit[];
  private readonly mayRest: boolean;
  private readonly brought: readonly number[];
  private readonly made: readonly number[];
  private readonly buffers: NetBuffers;
  private readonly moving: Uint8Array;
  private watch: NetWatch;
  private hasRun = false;
  /** Whether the buffers hold one voltage throughout. */
  private isFilled = false;

  /**
   * @param circuits those of the segment.
   * @param wires its nets.
   * @param moving by net, 1 while its volts are not what they were a sample ago throughout the block;
   *   shared by all segments.
   */
  constructor(
    loop: Loop,
    circuits: readonly Circuit[],
    wires: SegmentWires,
    buffers: NetBuffers,
    moving: Uint8Array,
  ) {
    this.loop = loop;
    this.circuits = circuits;
    // A cycle hears itself a sample late, so that it may move by itself.
    this.mayRest = wires.late.size === 0 && circuits.every(({ rests }) => rests !== undefined);
    this.brought = wires.brought;
    this.made = wires.made.filter((net) => buffers[net] !== undefined);
    this.buffers = buffers;
    this.moving = moving;
    this.watch = new NetWatch([], buffers, moving);
  }

  /** The nets that decide whether it may rest. */
  get listensTo(): readonly number[] {
    return this.mayRest ? this.brought : [];
  }

  /** Says which nets' moving somebody wants to know: looking costs time. */
  watchOnly(nets: ReadonlySet<number>): void {
    const watched = this.made.filter((net) => nets.has(net));
    this.watch = new NetWatch(watched, this.buffers, this.moving);
  }

  /** Runs a block of so many samples. */
  next(samples: number): void {
    if (this.mayRest && this.hasRun && this.rests(samples)) this.pass(samples);
    else {
      this.loop(samples);
      this.hasRun = true;
      this.watch.see(samples);
      this.isFilled = false;
    }
  }

  private rests(samples: number): boolean {
    const { brought, circuits, moving } = this;
    for (let i = 0; i < brought.length; i++) if (moving[brought[i] as number] === 1) return false;
    for (let i = 0; i < circuits.length; i++)
      if (circuits[i]?.rests?.(samples) !== true) return false;
    return true;
  }

  private pass(samples: number): void {
    const { made, moving, buffers, circuits } = this;
    for (let i = 0; i < circuits.length; i++) circuits[i]?.skip?.(samples);
    if (this.isFilled) return;
    this.isFilled = true;
    for (let i = 0; i < made.length; i++) {
      const net = made[i] as number;
      moving[net] = 0;
      const volts = buffers[net] as Float64Array;
      volts.fill(volts[samples - 1] as number);
    }
  }
}
