/**
 * The edges of a rhythm module as they are at its jacks, where a rack says what those give: other levels, and
 * pulses of one width. The circuit plays the module's own edges, and the stages behind it make these of them;
 * for code that shows edges, they are worked out here in the same way. An edge is where the level steps.
 */

import type { OutputJack } from '../modules/definition.ts';
import type { OutputStage } from '../modules/facts.ts';
import type { PatchModule } from '../patch/patch.ts';
import type { TimedEdge } from './pulses.ts';

/**
 * Gives a function whose calls give the edges at the jacks, in order.
 * @param next gives the module's own, in order.
 */
export function edgesAtJacks(
  { jacks }: PatchModule,
  sampleRate: number,
  next: () => TimedEdge | undefined,
): () => TimedEdge | undefined {
  const outputs = jacks.filter((jack): jack is OutputJack => jack.direction === 'out');
  if (outputs.every(({ facts }) => facts.stage === undefined)) return next;
  /** The fall of each pulse of one width that is on, by output. */
  const open = new Map<number, TimedEdge>();
  let coming = next();

  /** The earliest fall of a pulse of one width that comes before a sample. */
  const fallBefore = (sample: number): TimedEdge | undefined => {
    let first: TimedEdge | undefined;
    for (const fall of open.values())
      if (fall.sample < sample && fall.sample < (first?.sample ?? Number.POSITIVE_INFINITY))
        first = fall;
    return first;
  };

  return () => {
    for (;;) {
      const fall = fallBefore(coming?.sample ?? Number.POSITIVE_INFINITY);
      if (fall !== undefined) {
        open.delete(fall.output);
        return fall;
      }
      const edge = coming;
      if (edge === undefined) return undefined;
      coming = next();
      const facts = outputs[edge.output]?.facts;
      if (facts?.type !== 'voltage' || facts.stage === undefined) return edge;
      const { stage, low, high } = facts;
      if (stage.width === 0) return { ...edge, volts: atLevel(edge.volts, stage, low, high) };
      if (edge.volts <= (stage.from.low + stage.from.high) / 2) continue;
      const isOn = open.has(edge.output);
      const length = Math.max(1, Math.round(stage.width * sampleRate));
      const ends = { sample: edge.sample + length, time: edge.time + stage.width, volts: low };
      open.set(edge.output, { ...edge, ...ends });
      if (!isOn) return { ...edge, volts: high };
    }
  };
}

/** The same for edges that are reported as they are played, as by a rhythm that follows pulses. */
export class LiveEdges {
  private readonly told: TimedEdge[] = [];
  private readonly next: () => TimedEdge | undefined;
  private sample = 0;

  constructor(module: PatchModule, sampleRate: number) {
    // Between edges, a mark of no output says up to which sample all edges are known.
    this.next = edgesAtJacks(module, sampleRate, () => this.told.shift() ?? known(this.sample));
  }

  /** Takes one of the module's own edges, in order. */
  take(edge: TimedEdge): void {
    this.told.push(edge);
  }

  /** Gives the edges at the jacks before a sample; all of the module's own before it have been taken. */
  before(sample: number): readonly TimedEdge[] {
    this.sample = sample;
    const found: TimedEdge[] = [];
    for (let edge = this.next(); edge !== undefined; edge = this.next()) {
      if (edge.output !== NO_OUTPUT) found.push(edge);
      else if (edge.sample === sample) break;
    }
    return found;
  }
}

const NO_OUTPUT = -1;

function known(sample: number): TimedEdge {
  return { sample, output: NO_OUTPUT, volts: 0, time: 0, cause: 'run', bar: 1, step: 1 };
}

function atLevel(volts: number, { from }: OutputStage, low: number, high: number): number {
  const gain = from.high === from.low ? 1 : (high - low) / (from.high - from.low);
  return low + gain * (volts - from.low);
}
