/** The voices of a patch, each with its modules and its hits. */

import { stemsOf } from '../../engine/stems.ts';
import { type JackRef, jackName } from '../../patch/patch.ts';
import type { Context } from '../finding.ts';
import { type Hits, hitsOf, upstream } from './hits.ts';

export interface Voice {
  /** The output that it comes from. */
  readonly jack: JackRef;
  /** That, as a file writes it. */
  readonly name: string;
  readonly modules: ReadonlySet<string>;
  readonly kinds: ReadonlySet<string>;
  /** Undefined where they are not known. */
  readonly hits: Hits | undefined;
}

export function voicesOf(context: Context): readonly Voice[] {
  return stemsOf(context.prepared).map(({ jack }) => {
    const modules = upstream(jack.module, context.netlist);
    return {
      jack,
      name: jackName(jack),
      modules: new Set([...modules].map(({ name }) => name)),
      kinds: new Set([...modules].map(({ definition }) => definition.kind)),
      hits: hitsOf(modules, context),
    };
  });
}
