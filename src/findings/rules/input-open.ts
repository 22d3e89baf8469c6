/** A module that is in use and cannot work, because nothing drives an input that it needs. */

import type { Need, OutputJack, Signal } from '../../modules/definition.ts';
import type { Edit } from '../../patch/edit/edit.ts';
import { type JackRef, jackName, type PatchModule } from '../../patch/patch.ts';
import { CLOCK_IN, isFollowing } from '../../timing/rhythm.ts';
import { openEnds } from '../dead-ends.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { listed, placeAtJack } from '../words.ts';

export const inputOpen: Rule = {
  name: 'input-open',
  headline: ['jack', 'gets nothing'],
  explanation: {
    what: 'A module is plugged into something, but nothing drives an input that it cannot do without.',
    why:
      'An input without a source rests at 0 V (a switch-trigger input at its pull-up): an envelope ' +
      'never starts, an amplifier has nothing to amplify or stays shut. A multiple with no output ' +
      'plugged into it is such a source of nothing.',
    sum: 'None: it is a matter of which jacks have a driver.',
    mend: 'Plug in what was meant to go there, or take the module out.',
  },

  find(context: Context): readonly Finding[] {
    const { patch, netlist } = context;
    const found: Finding[] = [];
    const driven = (ref: JackRef): boolean => (netlist.at(ref)?.outputs.length ?? 0) > 0;
    const reported = new Set<unknown>();
    for (const module of patch.modules) {
      for (const { inputs: group, otherwise } of needsOf(module, context)) {
        const refs = group.map((jack) => ({ module: module.name, jack }));
        if (refs.some(driven)) continue;
        const [first] = refs;
        if (first === undefined) continue;
        const net = refs.map((ref) => netlist.at(ref)).find((one) => one !== undefined);
        if (net !== undefined) {
          // Several inputs of one dead net are one slip.
          if (reported.has(net)) continue;
          reported.add(net);
        }
        const names = group.length > 3 ? `${group[0]} to ${group.at(-1)}` : group.join(' or ');
        found.push({
          rule: inputOpen.name,
          severity: 'fault',
          message:
            net === undefined
              ? `${module.name} has nothing in ${names}, so it ${otherwise}.`
              : `nothing drives the net of ${listed(net.jacks.map(jackName))}, so ${module.name} ${otherwise}.`,
          fix:
            net === undefined
              ? `Plug something into ${jackName(first)}, or take ${module.name} out.`
              : `Plug an output into the net, or take its cables out.`,
          place: net === undefined ? module.place : placeAtJack(net, first, patch),
          jack: first,
          figures: { inputs: group.join(' ') },
        });
      }
    }
    return found;
  },

  /** Joins it to the one output that goes nowhere, if there is just one that fits. */
  mend({ jack }, context): readonly Edit[] | undefined {
    const { patch, netlist } = context;
    const module = jack && patch.modules.find(({ name }) => name === jack.module);
    const input = module?.jacks.find(({ name }) => name === jack?.jack);
    if (jack === undefined || input?.direction !== 'in' || netlist.at(jack) !== undefined)
      return undefined;
    const fitting = openEnds(context)
      .flatMap(({ module: end, jacks }) => jacks.map((one) => ({ end, one })))
      .filter(({ end, one }) => end !== module && fits(end, one, input.signal));
    const [only, ...others] = fitting;
    if (only === undefined || others.length > 0) return undefined;
    const text = `${only.end.name}.${only.one.name} -> ${jackName(jack)}`;
    return [{ type: 'add-cable', file: patch.file, text }];
  },
};

/** Whether what an output carries is what an input is for, as far as that can be told. */
export function fits(
  { definition }: PatchModule,
  { name, signal }: OutputJack,
  input: Signal,
): boolean {
  // A mixer and its like carry whatever they are given.
  return signal === input || (definition.carries?.[name] !== undefined && input !== 'switch');
}

function needsOf(module: PatchModule, { patch, netlist }: Context): readonly Need[] {
  const { name, definition, settings, jacks } = module;
  const isPlugged = (jack: string): boolean => netlist.at({ module: name, jack }) !== undefined;
  // A module with no plug at all is put aside, not forgotten.
  if (!jacks.some((jack) => isPlugged(jack.name))) return [];
  // What follows waits for pulses once a plug is in, whatever is at its other end.
  const followed = isFollowing(patch, module) ? [CLOCK_IN, 'run-in'].filter(isPlugged) : [];
  return [
    ...followed.map((jack) => ({ inputs: [jack], otherwise: 'stands' })),
    ...(definition.needs?.(settings) ?? []).filter(
      ({ output }) => output === undefined || isPlugged(output),
    ),
  ];
}
