/**
 * The edges of a rhythm module as they are at its jacks, where a rack says what those give: other levels,
 * and pulses of one width. The circuit plays the module's own edges, and the stages behind it make these of
 * them; for who shows edges, these are worked out here in the same way. An edge is where the level steps.
 */

import type { OutputJack } from '../modules/definition.ts';
import type { OutputStage } from '../modules/facts.ts';
import type { PatchModule } from '../patch/patch.ts';
import type { TimedEdge } from './edges.ts';

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
  /** How the pulse of one width ends that is on, by output. */
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

function atLevel(volts: number, { from }: OutputStage, low: number, high: number): number {
  const gain = from.high === from.low ? 1 : (high - low) / (from.high - from.low);
  return low + gain * (volts - from.low);
}
