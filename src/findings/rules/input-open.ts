/** A module that is in use and cannot work, because nothing drives an input that it needs. */

import type { Signal } from '../../modules/definition.ts';
import type { Edit } from '../../patch/edit/edit.ts';
import { type JackRef, jackName, type PatchModule } from '../../patch/patch.ts';
import { openEnds } from '../dead-ends.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { PASSES } from '../triggers/carried.ts';
import { listed, placeAtJack } from '../words.ts';

/**
 * By kind, what it needs: one jack at least of each group. Kinds that make something of nothing are
 * not here. `output` is left to the rule that looks for what reaches it.
 */
export const NEEDS: { readonly [kind: string]: readonly (readonly string[])[] } = {
  amplifier: [['in'], ['control']],
  attenuator: [],
  burst: [['trigger']],
  clock: [],
  'clock-divider': [['clock']],
  cluster: [],
  comparator: [['in', 'reference']],
  delay: [['trigger']],
  envelope: [['trigger']],
  filter: [['in']],
  'fixed-bank': [['in']],
  ladder: [['in']],
  logic: [['a', 'b']],
  mixer: [['in-1', 'in-2', 'in-3', 'in-4', 'in-5', 'in-6', 'in-7', 'in-8']],
  multiple: [],
  noise: [],
  oscillator: [],
  output: [],
  panner: [['in']],
  pulse: [['trigger']],
  random: [],
  resonator: [['strike', 'in']],
  rhythm: [],
  ring: [['a'], ['b']],
  'sample-hold': [['in'], ['trigger']],
  shaper: [['in']],
  slew: [['in']],
  'step-sequencer': [['clock']],
  'trigger-converter': [],
};

/** For kinds whose outputs each have an input of their own. */
const NEEDS_OF_OUTPUT: { readonly [kind: string]: { readonly [output: string]: string } } = {
  'trigger-converter': { 'switch-out': 'voltage-in', 'voltage-out': 'switch-in' },
};

export const inputOpen: Rule = {
  name: 'input-open',
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
      for (const group of needsOf(module, context)) {
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
              ? `${module.name} has nothing in ${names}, so it ${consequence(module, first.jack)}.`
              : `nothing drives the net of ${listed(net.jacks.map(jackName))}, so ${module.name} ${consequence(module, first.jack)}.`,
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
      .filter(({ end, one }) => end !== module && fits(end, one.signal, input.signal));
    const [only, ...others] = fitting;
    if (only === undefined || others.length > 0) return undefined;
    const text = `${only.end.name}.${only.one.name} -> ${jackName(jack)}`;
    return [{ type: 'add-cable', file: patch.file, text }];
  },
};

/** Whether what an output of a module carries is what an input is for, as far as that can be told. */
export function fits({ definition }: PatchModule, out: Signal, input: Signal): boolean {
  // A mixer and its like carry whatever they are given.
  return out === input || (PASSES.includes(definition.kind) && input !== 'switch');
}

function needsOf(module: PatchModule, { netlist }: Context): readonly (readonly string[])[] {
  const { kind } = module.definition;
  const plugged = module.jacks.filter(({ name }) =>
    netlist.at({ module: module.name, jack: name }),
  );
  // A module with no plug at all is put aside, not forgotten.
  if (plugged.length === 0) return [];
  const own = plugged.flatMap(({ name }) => {
    const input = NEEDS_OF_OUTPUT[kind]?.[name];
    return input === undefined ? [] : [[input]];
  });
  return [...needsWith(module), ...own];
}

/** What some settings change of the needs. */
function needsWith({ definition, settings, jacks }: PatchModule): readonly (readonly string[])[] {
  const needs = NEEDS[definition.kind] ?? [];
  if (definition.kind === 'random') return settings.clock === 'trigger' ? [['trigger']] : [];
  // A comparator or an attenuator with nothing in it still gives a steady voltage that may be meant.
  if (definition.kind === 'attenuator') return settings.offset === 0 ? [['in']] : [];
  return needs.filter((group) => group.some((name) => jacks.some((jack) => jack.name === name)));
}

function consequence({ definition }: PatchModule, jack: string): string {
  if (definition.kind === 'amplifier' && jack === 'control') return 'stays shut';
  if (jack === 'trigger' || jack === 'clock' || jack === 'voltage-in' || jack === 'switch-in')
    return 'never starts';
  if (definition.kind === 'multiple') return 'carries nothing';
  return 'gives nothing';
}
