/** The envelopes of a patch, each with the course that its triggers give it. */

import type { Netlist } from '../../electrical/nets.ts';
import type { Course } from '../../modules/definition.ts';
import type { Patch, PatchModule } from '../../patch/patch.ts';
import { type EnvelopeHit, envelopeHits } from './course.ts';
import type { Train, Triggers } from './triggers.ts';

export interface PlayedEnvelope {
  readonly module: PatchModule;
  readonly shape: Course;
  readonly train: Train;
  readonly hits: readonly EnvelopeHit[];
}

/** The envelopes that get a trigger; one that something cuts off is left out, since its course differs. */
export function playedEnvelopes(
  patch: Patch,
  netlist: Netlist,
  triggers: Triggers,
): readonly PlayedEnvelope[] {
  return patch.modules.flatMap((module): PlayedEnvelope[] => {
    const shape = module.definition.course?.(module.settings);
    if (shape === undefined) return [];
    const cut = netlist.at({ module: module.name, jack: 'cut' });
    const train = triggers.at({ module: module.name, jack: 'trigger' });
    if (train === undefined || train.noticed.length === 0) return [];
    if (cut !== undefined && cut.outputs.length > 0) return [];
    return [{ module, shape, train, hits: envelopeHits(shape, train.noticed) }];
  });
}
