/** Two or more outputs on one net, each holding the voltage against the others. */

import type { NetLevels } from '../../electrical/levels.ts';
import type { Net, Terminal } from '../../electrical/nets.ts';
import type { OutputJack } from '../../modules/definition.ts';
import type { Edit } from '../../patch/edit/edit.ts';
import { type Cable, jackName, type Patch } from '../../patch/patch.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { cableAt, distinct, drivers, freshName, inAmperes, inOhms, inVolts } from '../words.ts';

export const outputsJoined: Rule = {
  name: 'outputs-joined',
  headline: ['jack', 'is joined to another output'],
  explanation: {
    what: 'Two or more outputs are joined in one net.',
    why:
      'An output holds its voltage through its resistance. Joined to another, neither gets its ' +
      'way: the net stands between them, nearer to the one of lower resistance, and a current ' +
      'flows from one into the other. Two gates joined give half a gate when one of them plays. ' +
      'Outputs of no resistance fight with all the current they have. Switch outputs may be joined: ' +
      'any of them closes the net.',
    sum: 'V = sum(Vi / Ri) / sum(1 / Ri), by Millman; from output 1 into output 2 flows (V1 - V2) / (R1 + R2).',
    mend: 'Bring sounds and control voltages together in a mixer, two gates in a logic module (or).',
  },

  find({ levels }: Context): readonly Finding[] {
    return [...levels.values()].flatMap((level): Finding[] => {
      const { net } = level;
      const { outputs } = net;
      const voltages = outputs.filter(({ jack }) => jack.facts.type === 'voltage');
      if (outputs.length < 2 || voltages.length === 0) return [];
      const last = outputs.at(-1) as Terminal<OutputJack>;
      const jack = { module: last.module.name, jack: last.jack.name };
      // The cable that joined them: the last in the file with an output at its start.
      const cable =
        net.cables.findLast(({ from }) =>
          outputs.some(
            ({ module, jack: out }) => module.name === from.module && out.name === from.jack,
          ),
        ) ?? cableAt(net, jack);
      const { severity, result, figures } = fight(level, voltages.length);
      return [
        {
          rule: outputsJoined.name,
          severity,
          message: `${drivers(net)} are joined: ${result}.`,
          fix: `Give each an input of its own: ${isGates(net) && outputs.length === 2 ? 'a logic module (or)' : 'a mixer'} takes both and gives one.`,
          place: cable?.place ?? last.module.place,
          jack: cable?.from ?? jack,
          figures,
        },
      ];
    });
  },

  mend({ jack }, { patch, netlist }): readonly Edit[] | undefined {
    const net = jack && netlist.at(jack);
    if (net === undefined) return undefined;
    const names = new Set(net.outputs.map(({ module, jack: out }) => `${module.name}.${out.name}`));
    const cables = net.cables.filter(({ from }) => names.has(jackName(from)));
    const [first] = cables;
    // Each with one cable, and all of them in one file.
    if (first === undefined || cables.length !== names.size || cables.length > 8) return undefined;
    if (cables.some(({ place }) => place.file !== first.place.file)) return undefined;
    if (net.outputs.some(({ jack: out }) => out.facts.type === 'switch')) return undefined;
    const own = toFreeInputs(cables, patch);
    if (own !== undefined) return own;
    const gates = isGates(net) && cables.length === 2;
    const name = freshName(gates ? 'either' : 'joined', patch);
    const inputs = gates ? ['a', 'b'] : cables.map((_, index) => `in-${index + 1}`);
    const out = gates ? 'or' : 'out';
    return [
      {
        type: 'add-module',
        file: first.place.file,
        name,
        text: gates ? '{ kind: logic }' : '{ kind: mixer }',
      },
      ...cables.map(
        ({ place }, index): Edit => ({
          type: 'replace-cable',
          place,
          texts: [
            `{from} -> ${name}.${inputs[index]}`,
            ...(index === 0 ? [`${name}.${out} -> {to}`] : []),
          ],
        }),
      ),
    ];
  },
};

/** Where they meet in an input of a sum that has others like it free, as a mixer has, these are what was meant. */
function toFreeInputs(cables: readonly Cable[], patch: Patch): readonly Edit[] | undefined {
  const [first, ...others] = cables;
  const to = first?.to;
  if (to === undefined || others.some((cable) => jackName(cable.to) !== jackName(to)))
    return undefined;
  const module = patch.modules.find(({ name }) => name === to.module);
  if (module === undefined) return undefined;
  const sums = module.definition.sums?.(module.settings) ?? [];
  const own = sums.find(({ input }) => input === to.jack)?.output;
  const used = new Set(patch.cables.map((cable) => jackName(cable.to)));
  // Inputs that each have a level are alike.
  const free = module.jacks.filter(
    (jack) =>
      jack.direction === 'in' &&
      jack.level !== undefined &&
      sums.some(({ input, output }) => input === jack.name && output === own) &&
      !used.has(`${module.name}.${jack.name}`),
  );
  if (free.length < others.length) return undefined;
  return others.map(({ place }, index) => ({
    type: 'replace-cable',
    place,
    texts: [`{from} -> {to:${free[index]?.name}}`],
  }));
}

function isGates(net: Net): boolean {
  return net.outputs.every(({ jack }) => jack.signal === 'gate');
}

/** Who wins, by how much, and what flows. */
function fight(
  { net, inputs, low, high }: NetLevels,
  voltages: number,
): Pick<Finding, 'severity' | 'figures'> & { readonly result: string } {
  const { outputs } = net;
  const dead = inputs.find(
    ({ trigger }) => trigger !== undefined && (trigger.margin < 0 || trigger.release < 0),
  );
  const stiff = outputs.filter(
    ({ jack }) => jack.facts.type === 'voltage' && jack.facts.ohms === 0,
  );
  if (stiff.length > 1)
    return {
      severity: 'fault',
      result:
        'both hold their voltage with no resistance, so where they differ the net has no voltage ' +
        'that can be told, and the current is what their circuits let through',
      figures: { outputs: outputs.length, lowVolts: low, highVolts: high },
    };
  const [winner, other] = outputs.toSorted((a, b) => a.jack.facts.ohms - b.jack.facts.ohms) as [
    Terminal<OutputJack>,
    Terminal<OutputJack>,
  ];
  const name = `${winner.module.name}.${winner.jack.name}`;
  const [r1, r2] = [winner.jack.facts.ohms, other.jack.facts.ohms];
  const swing = Math.max(span(winner, other), span(other, winner));
  const amperes = swing / (r1 + r2);
  const who =
    winner.jack.facts.type === 'switch'
      ? `${name} takes the net to ground while it is closed`
      : r1 === 0
        ? `${name}, of no resistance, has its way and the others none`
        : r1 === r2
          ? 'neither wins, and the net stands halfway between them'
          : `${name} wins, with ${distinct(r1, r2, inOhms).join(' against ')}`;
  const trigger = dead?.trigger;
  const input = dead && `${dead.terminal.module.name}.${dead.terminal.jack.name}`;
  const consequence =
    trigger === undefined
      ? ''
      : trigger.margin < 0
        ? `, ${input} gets ${distinct(trigger.driven, trigger.on, inVolts).join(' when one plays alone and needs ')}`
        : `, ${input} does not let go`;
  return {
    severity: trigger === undefined && voltages === outputs.length ? 'caution' : 'fault',
    result: `${who}${consequence}; up to ${inAmperes(amperes)} flows from one into another`,
    figures: {
      outputs: outputs.length,
      amperes,
      lowVolts: low,
      highVolts: high,
      ...(trigger !== undefined && { drivenVolts: trigger.driven, onVolts: trigger.on }),
    },
  };
}

/** How far apart two outputs can be, one at its highest and the other at its lowest. */
function span(upper: Terminal<OutputJack>, lower: Terminal<OutputJack>): number {
  const [a, b] = [upper.jack.facts, lower.jack.facts];
  return Math.abs(
    (a.type === 'switch' ? a.saturation : a.high) - (b.type === 'switch' ? b.saturation : b.low),
  );
}
