/** A voice, or all of the patch, with no way to the output. */

import type { PatchModule } from '../../patch/patch.ts';
import { openEnds, reaching } from '../dead-ends.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { listed } from '../words.ts';
import { fits, inputOpen } from './input-open.ts';

export const nothingReachesOutput: Rule = {
  name: 'nothing-reaches-output',
  headline: ['patch', 'not everything reaches the output'],
  explanation: {
    what: 'No cable leads from a voice to the output, so it is not heard.',
    why: 'The last cable of a voice is the one that is forgotten most easily.',
    sum: 'None: it follows the cables from the output backwards.',
    mend: 'Plug the end of the voice into the output, or into the mixer in front of it.',
  },

  find(context: Context): readonly Finding[] {
    const { patch, netlist } = context;
    const outputs = patch.modules.filter(({ definition }) => definition.role === 'output');
    const [output] = outputs;
    if (output === undefined) {
      const [first] = patch.modules;
      return [
        {
          rule: nothingReachesOutput.name,
          severity: 'caution',
          message: 'the patch has no output module, so there is nothing to hear.',
          fix: 'Add "out: { kind: output }" and a cable to out.left.',
          place: first?.place ?? { file: patch.file, line: 1, column: 1, length: 1 },
          figures: {},
        },
      ];
    }
    const left = { module: output.name, jack: 'left' };
    const plugged = output.jacks.some(
      ({ name }) => (netlist.at({ module: output.name, jack: name })?.outputs.length ?? 0) > 0,
    );
    if (!plugged)
      return [
        {
          rule: nothingReachesOutput.name,
          severity: 'fault',
          message: `nothing is plugged into ${output.name}, so there is nothing to hear.`,
          fix: `Plug the end of the voice into ${output.name}.left.`,
          place: output.place,
          jack: left,
          figures: {},
        },
      ];
    const heard = reaching(context);
    const needed = inputOpen.find(context);
    const all = openEnds(context);
    const unheard = all.filter(({ module: end, jacks }) => {
      // An input that waits for just this has been reported, and is the same slip.
      const waits = needed.some(({ jack }) => {
        const module = patch.modules.find(({ name }) => name === jack?.module);
        const input = module?.jacks.find(({ name }) => name === jack?.jack);
        return input?.direction === 'in' && jacks.some((out) => fits(end, out, input.signal));
      });
      return !waits;
    });
    const ends = unheard.map(({ module }) => module);
    const circles = loops(
      context,
      heard,
      all.map(({ module }) => module),
    );
    return [...ends, ...circles].map((module): Finding => {
      const voices = module.jacks.filter(({ direction }) => direction === 'out');
      const [first] = voices;
      return {
        rule: nothingReachesOutput.name,
        severity: 'fault',
        message:
          `no cable leads from ${module.name} (${listed(voices.map(({ name }) => name))}) ` +
          'to the output, so what it does is not heard.',
        fix: `Plug ${module.name} into what comes next, or take it out.`,
        place: module.place,
        ...(first !== undefined && { jack: { module: module.name, jack: first.name } }),
        figures: { modules: ends.length },
      };
    });
  },
};

/** One module of each group that feeds only itself and leads to none of the ends. */
function loops(
  { patch, netlist }: Context,
  heard: ReadonlySet<PatchModule>,
  ends: readonly PatchModule[],
): readonly PatchModule[] {
  const accounted = new Set([...heard, ...ends]);
  const found: PatchModule[] = [];
  const leads = (start: PatchModule, seen: Set<PatchModule>): boolean => {
    const left = [start];
    for (let module = left.pop(); module !== undefined; module = left.pop()) {
      if (accounted.has(module)) return true;
      if (seen.has(module)) continue;
      seen.add(module);
      for (const next of nextOf(module)) left.push(next);
    }
    return false;
  };
  const nextOf = (module: PatchModule): readonly PatchModule[] =>
    module.jacks.flatMap((jack) => {
      if (jack.direction !== 'out') return [];
      const net = netlist.at({ module: module.name, jack: jack.name });
      return net === undefined ? [] : net.inputs.map((input) => input.module);
    });
  for (const module of patch.modules) {
    if (nextOf(module).length === 0) continue;
    const seen = new Set<PatchModule>();
    if (leads(module, seen)) continue;
    found.push(module);
    for (const one of seen) accounted.add(one);
  }
  return found;
}
