/**
 * Which channels end the sound of which: those whose gate goes to a jack that ends what another channel has
 * started in the same module, as a closed hat's does to the cut jack of the open one's envelope.
 *
 * Deviation: a stroke does not end the one before it of its own channel, as an envelope that starts again does;
 * a sampler lets both ring.
 */

import type { Prepared } from '../../engine/prepared.ts';
import type { InputJack } from '../../modules/definition.ts';
import { jackName, type PatchModule } from '../../patch/patch.ts';

/** By the gate of a channel, as `module.jack`, the gates that end its sound. */
export type Chokes = ReadonlyMap<string, ReadonlySet<string>>;

/** Finds them in a patch. */
export function chokesOf({ patch, nets }: Prepared): Chokes {
  const found = new Map<string, Set<string>>();
  for (const module of patch.modules) {
    const triggers = module.jacks.filter(
      (jack): jack is InputJack => jack.direction === 'in' && jack.facts.trigger !== undefined,
    );
    const enders = gatesInto(
      module,
      triggers.filter(({ rise }) => rise === 'ends'),
      nets,
    );
    if (enders.size === 0) continue;
    const starts = triggers.filter(({ rise }) => rise !== 'ends' && rise !== 'resets');
    for (const victim of gatesInto(module, starts, nets)) {
      const all = found.get(victim) ?? new Set();
      for (const ender of enders) if (ender !== victim) all.add(ender);
      if (all.size > 0) found.set(victim, all);
    }
  }
  return found;
}

/** The gates of rhythms that reach jacks of a module, through whatever passes them on. */
function gatesInto(
  module: PatchModule,
  jacks: readonly InputJack[],
  nets: Prepared['nets'],
): ReadonlySet<string> {
  const gates = new Set<string>();
  const seen = new Set<PatchModule>();
  const left = jacks.map(({ name }) => ({ module: module.name, jack: name }));
  for (let input = left.pop(); input !== undefined; input = left.pop())
    for (const { module: driver, jack } of nets.at(input)?.outputs ?? []) {
      if (driver.definition.role === 'score') {
        if (jack.signal === 'gate') gates.add(jackName({ module: driver.name, jack: jack.name }));
        continue;
      }
      if (seen.has(driver)) continue;
      seen.add(driver);
      for (const one of driver.jacks)
        if (one.direction === 'in') left.push({ module: driver.name, jack: one.name });
    }
  return gates;
}
