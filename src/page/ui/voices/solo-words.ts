/** What of the mix is heard, in words. */

import type { Solo } from '../../protocol.ts';

export function soloWords({ voice, isAlone }: Solo): string {
  return isAlone ? `${voice} alone is heard.` : `All is heard but ${voice}.`;
}
