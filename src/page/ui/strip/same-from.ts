/** Whether two places where playing begins are one. */

import type { From } from '../../protocol.ts';

export function isSameFrom(one: From | undefined, other: From | undefined): boolean {
  return JSON.stringify(one) === JSON.stringify(other);
}
