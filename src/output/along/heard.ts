/** What should be heard at a step of patching along, or why nothing is heard. */

import type { Prepared } from '../../engine/prepared.ts';
import { contextOf } from '../../findings/context.ts';
import { reaching } from '../../findings/dead-ends.ts';
import { silenceOf } from '../../findings/silence.ts';
import type { AlongStep } from './along.ts';

/** The number of the cable with which something reaches the output first; undefined if nothing ever does. */
export function firstAtOutput(steps: readonly AlongStep[]): number | undefined {
  // Adding a cable never removes an output's driver.
  let low = 0;
  let high = steps.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (isAtOutput((steps[middle] as AlongStep).of)) high = middle;
    else low = middle + 1;
  }
  return steps[low]?.cable.number;
}

/** Whether an output of any module reaches the patch's own. */
function isAtOutput({ patch, nets: { at } }: Prepared): boolean {
  return patch.modules.some(
    ({ name, definition, jacks }) =>
      definition.role === 'output' &&
      jacks.some(({ name: jack }) => (at({ module: name, jack })?.outputs.length ?? 0) > 0),
  );
}

/**
 * Says why nothing is heard at a step; call it only where nothing is heard.
 * @param first what {@link firstAtOutput} gives.
 */
export function whySilent({ of, patch, cable }: AlongStep, first: number | undefined): string {
  if (first === undefined) return 'no cable of this patch brings anything to an output';
  if (cable.number < first)
    return `nothing is plugged into the output yet: cable ${first} is the first that brings something there`;
  const context = contextOf(of);
  const isDriven = (module: string, jack: string): boolean =>
    (context.netlist.at({ module, jack })?.outputs.length ?? 0) > 0;
  const heard = reaching(context);
  for (const module of patch.modules) {
    if (!heard.has(module)) continue;
    for (const { inputs, otherwise, output } of module.definition.needs?.(module.settings) ?? []) {
      // An input that only an unplugged output needs is not missed.
      const isWanted =
        output === undefined ||
        context.netlist.at({ module: module.name, jack: output }) !== undefined;
      if (isWanted && !inputs.some((jack) => isDriven(module.name, jack)))
        return `nothing is plugged into ${inputs.length > 3 ? `${inputs[0]} to ${inputs.at(-1)}` : inputs.join(' or ')} of ${module.name} yet, so it ${otherwise}`;
    }
  }
  return silenceOf(of);
}
