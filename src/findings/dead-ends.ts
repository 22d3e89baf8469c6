/** Modules whose work nobody hears: which of them reach the output, and where the others end. */

import type { OutputJack } from '../modules/definition.ts';
import type { PatchModule } from '../patch/patch.ts';
import type { Context } from './finding.ts';

export interface DeadEnd {
  readonly module: PatchModule;
  /** Its outputs, none of which is plugged in; empty for a loop that feeds only itself. */
  readonly jacks: readonly OutputJack[];
}

/** The modules from which a signal gets to an output module. */
export function reaching({ patch, netlist }: Context): ReadonlySet<PatchModule> {
  const found = new Set<PatchModule>(
    patch.modules.filter(({ definition }) => definition.role === 'output'),
  );
  const wave = [...found];
  for (let module = wave.pop(); module !== undefined; module = wave.pop()) {
    for (const jack of module.jacks) {
      if (jack.direction !== 'in') continue;
      const net = netlist.at({ module: module.name, jack: jack.name });
      for (const output of net?.outputs ?? []) {
        if (found.has(output.module)) continue;
        found.add(output.module);
        wave.push(output.module);
      }
    }
  }
  return found;
}

/** Where chains end that reach no output: modules that take something in and give nothing on. */
export function openEnds(context: Context): readonly DeadEnd[] {
  const { patch, netlist } = context;
  const heard = reaching(context);
  const ends: DeadEnd[] = [];
  for (const module of patch.modules) {
    if (heard.has(module) || module.definition.role === 'passive') continue;
    const net = (jack: string) => netlist.at({ module: module.name, jack });
    const outputs = module.jacks.filter((jack): jack is OutputJack => jack.direction === 'out');
    const goesOn = outputs.some(({ name }) => (net(name)?.inputs.length ?? 0) > 0);
    const takes = module.jacks.some(({ direction, name }) => direction === 'in' && net(name));
    if (takes && !goesOn) ends.push({ module, jacks: outputs });
  }
  return ends;
}
