/** The nets that a segment has to do with. */

import type { Plan, PlannedModule, PlannedNet, Segment } from './plan.ts';

export interface SegmentWires {
  /** Read in the segment. */
  readonly read: ReadonlySet<number>;
  /** ... of these the ones that an earlier segment worked out. */
  readonly brought: readonly number[];
  /** ... and the ones read before their driver runs: a cycle's one sample of delay. */
  readonly late: ReadonlySet<number>;
  /** Worked out in the segment. */
  readonly made: readonly number[];
}

/** Gives the nets of a segment. */
export function wiresOf(plan: Plan, { from, to }: Segment): SegmentWires {
  const read = new Set<number>();
  const late = new Set<number>();
  const members = plan.modules.slice(from, to);
  const made = members.flatMap(({ completes }: PlannedModule) => completes);
  members.forEach(({ inputs }, member) => {
    for (const source of inputs) {
      if (source.type !== 'net') continue;
      read.add(source.net);
      const { after } = plan.nets[source.net] as PlannedNet;
      if (after >= from + member && after < to) late.add(source.net);
    }
  });
  return { read, brought: [...read].filter((net) => !made.includes(net)), late, made };
}
