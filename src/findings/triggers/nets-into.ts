/**
 * What an output's volts come of, and which way: whether they go up where what comes in goes up, as pulses get
 * longer with those that come in, or down.
 */

import type { Net, Netlist, Terminal } from '../../electrical/nets.ts';
import { passedBy } from '../../electrical/ranges.ts';
import type { OutputJack } from '../../modules/definition.ts';

/** A net that drives an input on which an output hangs. */
export interface NetInto {
  readonly net: Net;
  /** The input's name. */
  readonly input: string;
  /** Whether the output goes down where the net goes up; at times, where it may do either. */
  readonly turns: 'always' | 'at times' | undefined;
  /** Whether the output goes the further the further the net does, whatever comes of its pulses. */
  readonly isScaled: boolean;
  /** Whether it starts or ends something there: its volts then do nothing but that. */
  readonly isTrigger: boolean;
}

/** The nets that an output depends on, in the order of its module's jacks. */
export function netsInto(
  { module, jack: output }: Terminal<OutputJack>,
  netlist: Netlist,
): readonly NetInto[] {
  const { definition, name, jacks } = module;
  const law = definition.gates?.(output.name);
  const isDriven = (ref: { readonly jack: string }): boolean =>
    (netlist.at({ module: name, jack: ref.jack })?.outputs.length ?? 0) > 0;
  const passed = law === undefined ? passedBy(module, output.name, isDriven) : undefined;
  const multiplied = definition.multiplies?.[output.name];
  const isOpened = multiplied !== undefined && definition.opened !== undefined;
  return jacks.flatMap((jack): NetInto[] => {
    const net = netlist.at({ module: name, jack: jack.name });
    if (jack.direction !== 'in' || net === undefined) return [];
    if (law !== undefined && !law.inputs.includes(jack.name)) return [];
    const isTrigger = jack.facts.trigger !== undefined;
    const into = (turns: NetInto['turns']): NetInto[] => [
      {
        net,
        input: jack.name,
        turns,
        isScaled: definition.scales?.includes(jack.name) === true,
        isTrigger,
      },
    ];
    if (law !== undefined) return into(law.turns?.(jack.name));
    // A longer gate holds an envelope longer.
    if (isTrigger) return into(undefined);
    const gains = passed?.terms.filter(({ input }) => input === jack.name) ?? [];
    const [term] = gains;
    if (term !== undefined)
      return term.gain === 0 ? [] : into(term.gain < 0 ? 'always' : undefined);
    const isOnly = multiplied?.includes(jack.name) || (isOpened && jack.name === 'control');
    return into(isOnly ? undefined : 'at times');
  });
}
