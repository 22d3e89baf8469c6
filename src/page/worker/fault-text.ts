/** Why a typed value is none, in words. */

import type { Fault } from '../../patch/units.ts';

/** As `describe` puts it, without a place. */
export function faultText({ message, expected, nearest }: Fault): string {
  const lines = [message];
  if (expected !== undefined) lines.push(`expected ${expected}`);
  if (nearest !== undefined) lines.push(`did you mean ${nearest}?`);
  return lines.join('\n');
}
