/**
 * Rhythm sequencer: puts the edges of a score on its jacks. Settings and sources: src/modules/rhythm.ts.
 * The host queues each edge before the block that it falls into.
 */

import { Circuit } from './core/circuit';
import { Wire } from './core/wire';

export class Rhythm extends Circuit {
  private readonly wires: Array<Wire | null> = [];
  private readonly volts: Array<f64> = [];
  /** The edges to come: their samples, outputs and volts; taken from `first` on. */
  private readonly samples: Array<f64> = [];
  private readonly edgeOutputs: Array<i32> = [];
  private readonly edgeVolts: Array<f64> = [];
  private first: i32 = 0;
  private queued: i32 = 0;
  /** Samples played. */
  private position: f64 = 0;

  /** Adds an output, to be called for each in turn. */
  plug(wire: Wire | null): void {
    this.wires.push(wire);
    this.volts.push(0);
    this.drives(wire);
  }

  /** Queues an edge: from `sample` on, counted from the start, the output gives `volts`. */
  queue(sample: f64, output: i32, volts: f64): void {
    if (this.first == this.queued) {
      this.first = 0;
      this.queued = 0;
    }
    const at = this.queued;
    if (at == this.samples.length) {
      this.samples.push(sample);
      this.edgeOutputs.push(output);
      this.edgeVolts.push(volts);
    } else {
      this.samples[at] = sample;
      this.edgeOutputs[at] = output;
      this.edgeVolts[at] = volts;
    }
    this.queued = at + 1;
  }

  process(from: i32, to: i32): void {
    let i = from;
    while (i < to) {
      while (this.next() <= this.position) {
        this.volts[this.edgeOutputs[this.first]] = this.edgeVolts[this.first];
        this.first += 1;
      }
      const ahead = this.next() - this.position;
      const end: i32 = ahead < f64(to - i) ? i + i32(ahead) : to;
      for (let k: i32 = 0; k < this.wires.length; k++) {
        const wire = this.wires[k];
        if (wire != null) {
          const volts = this.volts[k] * wire.gain;
          const buffer = wire.volts;
          for (let n = i; n < end; n++) buffer[n] = volts;
        }
      }
      this.position += f64(end - i);
      i = end;
    }
  }

  rests(samples: i32): bool {
    return this.next() - this.position >= f64(samples);
  }

  skip(samples: i32): void {
    this.position += f64(samples);
  }

  /** The sample of the next edge queued; infinity if none is. */
  private next(): f64 {
    return this.first < this.queued ? this.samples[this.first] : Infinity;
  }
}

export function rhythmOutput(rhythm: Rhythm, wire: Wire | null): void {
  rhythm.plug(wire);
}

export function rhythmEdge(rhythm: Rhythm, sample: f64, output: i32, volts: f64): void {
  rhythm.queue(sample, output, volts);
}
