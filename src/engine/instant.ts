/**
 * The end of a patch that remembers nothing, such as its mixers: modules whose outputs follow from their inputs
 * at the same sample, with nothing after them that remembers. It can be played from any place on, given the
 * signals that feed it.
 */

import type { PatchModule } from '../patch/patch.ts';
import type { Prepared } from './prepared.ts';

/**
 * Finds them, from the output back, so that what hears itself is never among them.
 * @param among names of modules; those at the end of these are found.
 */
export function instantEnd(
  { patch, nets }: Prepared,
  among: ReadonlySet<string>,
): ReadonlySet<string> {
  const end = new Set<string>();
  const joins = (module: PatchModule): boolean =>
    module.jacks.every((jack) => {
      if (jack.direction !== 'out') return true;
      // What a rack says of an output may take its time.
      if (jack.facts.stage !== undefined) return false;
      const net = nets.at({ module: module.name, jack: jack.name });
      if (net === undefined) return true;
      // Modules that drive a net together are played together.
      const isAlone = net.outputs.length === 1;
      return isAlone && net.inputs.every(({ module: reader }) => isEnd(reader, end));
    });
  const left = new Set(
    patch.modules.filter(
      ({ name, definition }) => among.has(name) && definition.isInstant === true,
    ),
  );
  for (let size = -1; size !== left.size; ) {
    size = left.size;
    for (const module of left)
      if (joins(module)) {
        end.add(module.name);
        left.delete(module);
      }
  }
  return end;
}

/** Whether a module is in the end: found already, or without a circuit, as the output is. */
function isEnd({ name, definition }: PatchModule, end: ReadonlySet<string>): boolean {
  return definition.create === undefined || end.has(name);
}
