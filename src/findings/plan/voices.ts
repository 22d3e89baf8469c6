/** The voices of a patch, each with its modules and its hits. */

import { stemsOf } from '../../engine/stems.ts';
import { type JackRef, jackName, type PatchModule } from '../../patch/patch.ts';
import type { Context } from '../finding.ts';
import { hitsOf, upstream } from './hits.ts';
import type { Hits } from './move.ts';

export interface PlannedVoice {
  /** The output that it comes from. */
  readonly jack: JackRef;
  /** That, as a file writes it. */
  readonly name: string;
  readonly modules: ReadonlySet<string>;
  readonly kinds: ReadonlySet<string>;
  /** The outputs of a rhythm that it plays, by name: `drums.snare`. */
  readonly plays: readonly string[];
  /** Undefined where they are not known. */
  readonly hits: Hits | undefined;
}

export function plannedVoices(context: Context): readonly PlannedVoice[] {
  return stemsOf(context.prepared).map(({ jack }) => {
    const modules = upstream(jack.module, context.netlist);
    return {
      jack,
      name: jackName(jack),
      modules: new Set([...modules].map(({ name }) => name)),
      kinds: new Set([...modules].map(({ definition }) => definition.kind)),
      plays: playedBy(modules, context),
      hits: hitsOf(modules, context),
    };
  });
}

function playedBy(modules: ReadonlySet<PatchModule>, { netlist }: Context): readonly string[] {
  const names = [...modules].flatMap(({ name, jacks }) =>
    jacks.flatMap(({ name: jack, direction }) =>
      (direction === 'in' ? (netlist.at({ module: name, jack })?.outputs ?? []) : [])
        .filter((from) => from.module.definition.role === 'score' && from.jack.signal === 'gate')
        .map((from) => jackName({ module: from.module.name, jack: from.jack.name })),
    ),
  );
  return [...new Set(names)];
}
