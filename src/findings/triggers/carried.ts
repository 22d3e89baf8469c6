/** What a net really carries: the signals it comes from, followed back through what only adds or scales. */

import type { Net, Netlist, Terminal } from '../../electrical/nets.ts';
import type { OutputJack, Signal } from '../../modules/definition.ts';
import type { PatchModule } from '../../patch/patch.ts';

/** An output that makes its signal rather than passing one on. */
export type Origin = Terminal<OutputJack>;

/** The outputs where a net's signal originates; none for a net that nothing drives, or that only drives itself. */
export function origins(net: Net, netlist: Netlist): readonly Origin[] {
  const found: Origin[] = [];
  const seen = new Set<PatchModule>();
  const left = net.outputs.toReversed();
  for (let output = left.pop(); output !== undefined; output = left.pop()) {
    const { module } = output;
    const carried = module.definition.carries?.[output.jack.name];
    if (carried === undefined) {
      found.push(output);
      continue;
    }
    if (seen.has(module)) continue;
    seen.add(module);
    // What a steady offset makes is a control voltage of its own.
    if (addsVolts(output)) found.push(output);
    const before = carried.flatMap(
      (jack) => netlist.at({ module: module.name, jack })?.outputs ?? [],
    );
    for (const next of before.toReversed()) left.push(next);
  }
  return found;
}

/** Whether an output adds steady volts of its own to what it passes on. */
export function addsVolts({ module: { definition, settings }, jack }: Origin): boolean {
  const passing = definition.passes?.(settings, () => true) ?? [];
  return passing.some(({ output, offset }) => output === jack.name && offset !== 0);
}

/** Whether all of these, and at least one, carry one of the signals. */
export function allCarry(found: readonly Origin[], ...signals: readonly Signal[]): boolean {
  return found.length > 0 && found.every(({ jack }) => signals.includes(jack.signal));
}
