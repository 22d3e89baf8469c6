/** Every kind of module there is. A new kind is one new file beside this one and one line here. */

import type { Definition } from './definition.ts';

export const KINDS: readonly Definition[] = [];

/** The definition of a kind, or undefined if there is none of that name. */
export function kindNamed(kind: string): Definition | undefined {
  return KINDS.find((definition) => definition.kind === kind);
}
