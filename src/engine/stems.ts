/**
 * Stems: the voices that the mix is the sum of. Traced back from the output through modules that
 * only add (mixers, attenuators), so that the stems sum to the mix. A mixer driven into its supply
 * rails does more than add; then they do not, and the render says so.
 */

import { netlist } from '../electrical/nets.ts';
import { nodeLaw } from '../electrical/node-law.ts';
import { type JackRef, jackName, type Patch } from '../patch/patch.ts';

export interface Stem {
  /** The output jack that the voice comes from. */
  readonly jack: JackRef;
  /** Volts at each of the output's inputs for a volt on the jack's net: left, right. */
  readonly gains: readonly [number, number];
}

/** The stems of a patch, in the order of its modules. Empty if nothing reaches the output. */
export function stemsOf(patch: Patch): readonly Stem[] {
  const { at } = netlist(patch);
  const output = patch.modules.find(({ definition }) => definition.role === 'output');
  const found = new Map<string, { jack: JackRef; gains: [number, number] }>();

  const trace = (ref: JackRef, gain: number, side: 0 | 1, path: readonly string[]): void => {
    const net = at(ref);
    const driver = net?.outputs[0];
    if (net === undefined || driver === undefined || gain === 0) return;
    const { module, jack } = driver;
    const parts = (module.definition.sums?.(module.settings) ?? []).filter(
      ({ output }) => output === jack.name,
    );
    if (parts.length > 0 && net.outputs.length === 1 && !path.includes(module.name)) {
      const law = nodeLaw(net);
      const own = law.outputs[0]?.conductance ?? 0;
      const weight = law.stiff.length > 0 ? 1 : own / law.conductance;
      for (const part of parts)
        trace({ module: module.name, jack: part.input }, gain * weight * part.gain, side, [
          ...path,
          module.name,
        ]);
      return;
    }
    const leaf = { module: module.name, jack: jack.name };
    const stem = found.get(jackName(leaf)) ?? { jack: leaf, gains: [0, 0] };
    stem.gains[side] += gain;
    found.set(jackName(leaf), stem);
  };

  if (output !== undefined) {
    trace({ module: output.name, jack: 'left' }, 1, 0, []);
    trace({ module: output.name, jack: 'right' }, 1, 1, []);
  }
  const rank = new Map(patch.modules.map(({ name }, index) => [name, index]));
  return [...found.values()].sort(
    (a, b) => (rank.get(a.jack.module) as number) - (rank.get(b.jack.module) as number),
  );
}
