/** Whether a trigger input gets what it waits for: voltages where it wants voltages, switches where switches. */

import type { TriggerLevels } from '../../electrical/levels.ts';
import type { Net } from '../../electrical/nets.ts';

/** Whether a net has one driver, or several switches, of the sort that the input waits for. */
export function drivenAsMeant(net: Net, type: TriggerLevels['type']): boolean {
  const types = net.outputs.map(({ jack }) => jack.facts.type);
  if (!types.every((one) => one === type)) return false;
  return type === 'switch' ? types.length > 0 : types.length === 1;
}
