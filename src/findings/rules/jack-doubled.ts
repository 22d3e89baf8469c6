/** More than one plug in a jack. */

import type { NumberSpec } from '../../modules/definition.ts';
import { multiple } from '../../modules/multiple.ts';
import type { Edit } from '../../patch/edit/edit.ts';
import { type Cable, type JackRef, jackName, type Patch } from '../../patch/patch.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { oneMoreJack } from '../mend/one-more-jack.ts';
import { setTo } from '../mend/set-to.ts';
import { freshName, listed, localName } from '../words.ts';

/** Jacks of the smallest and the largest multiple. */
const { min: SMALLEST, max: LARGEST } = multiple.settings.jacks as NumberSpec;

export const jackDoubled: Rule = {
  name: 'jack-doubled',
  headline: ['jack', 'has more than one plug'],
  explanation: {
    what: 'Two or more cables end in one jack.',
    why: 'A jack takes one plug. To bring an output to several inputs, a multiple stands in between.',
    sum: 'A multiple for n inputs has n + 1 jacks: one for the output.',
    mend: 'Plug the output into a multiple, and each input into a jack of it.',
  },

  find({ patch, netlist }: Context): readonly Finding[] {
    const plugs = new Map<string, Cable[]>();
    for (const cable of patch.cables) {
      for (const end of [cable.from, cable.to]) {
        const name = jackName(end);
        const list = plugs.get(name);
        if (list === undefined) plugs.set(name, [cable]);
        else list.push(cable);
      }
    }
    return [...plugs].flatMap(([name, cables]): Finding[] => {
      const second = cables[1];
      if (second === undefined) return [];
      const jack = jackName(second.from) === name ? second.from : second.to;
      const from = jackName(second.from) === name;
      // Several outputs in one input are a fault of their own, which another rule tells.
      const voltages = netlist
        .at(jack)
        ?.outputs.filter(({ jack: out }) => out.facts.type === 'voltage');
      const outputs = netlist.at(jack)?.outputs.length ?? 0;
      if (!from && outputs > 1 && (voltages?.length ?? 0) > 0) return [];
      const others = cables.map(({ from: a, to: b }) => jackName(jackName(a) === name ? b : a));
      return [
        {
          rule: jackDoubled.name,
          severity: 'fault',
          message: `${cables.length} plugs are in ${name} (${listed(others)}), and a jack takes one.`,
          fix: isThrough(jack, patch)
            ? `Use another jack of ${jack.module}, or a multiple with more jacks.`
            : `Put a multiple of ${cables.length + 1} jacks in between.`,
          place: second.place,
          jack,
          figures: { plugs: cables.length, neededJacks: cables.length + 1 },
        },
      ];
    });
  },

  mend({ jack }, { patch }): readonly Edit[] | undefined {
    if (jack === undefined) return undefined;
    const name = jackName(jack);
    const cables = patch.cables.filter(({ from, to }) =>
      [from, to].some((end) => jackName(end) === name),
    );
    const [first] = cables;
    if (first === undefined || cables.some(({ place }) => place.file !== first.place.file))
      return undefined;
    if (isThrough(jack, patch)) return toFreeJack(jack, cables, patch);
    if (cables.length + 1 > LARGEST) return undefined;
    const split = freshName(`${localName(jack.module)}-split`, patch);
    const isFrom = jackName(first.from) === name;
    const other = isFrom ? '{to}' : '{from}';
    const cableTo = (index: number): string =>
      isFrom ? `${split}.out-${index} -> ${other}` : `${other} -> ${split}.out-${index}`;
    return [
      {
        type: 'add-module',
        file: first.place.file,
        name: split,
        text: `{ kind: ${multiple.kind}, jacks: ${Math.max(SMALLEST, cables.length + 1)} }`,
      },
      ...cables.map(({ place }, index): Edit => {
        const own = isFrom ? `{from} -> ${split}.in` : `${split}.in -> {to}`;
        return {
          type: 'replace-cable',
          place,
          texts: [...(index === 0 ? [own] : []), cableTo(index + 1)],
        };
      }),
    ];
  },
};

function isThrough(jack: JackRef, patch: Patch): boolean {
  const module = patch.modules.find(({ name }) => name === jack.module);
  return module?.jacks.find(({ name }) => name === jack.jack)?.direction === 'through';
}

/** Moves the second plug to a free jack of the multiple, which grows if it has none. */
function toFreeJack(
  jack: JackRef,
  cables: readonly Cable[],
  patch: Patch,
): readonly Edit[] | undefined {
  const module = patch.modules.find(({ name }) => name === jack.module);
  const [, second] = cables;
  if (module === undefined || second === undefined) return undefined;
  const free = oneMoreJack(module, patch.cables);
  if (free === undefined) return undefined;
  const name = `${localName(module.name)}.${free.jack}`;
  const isFrom = jackName(second.from) === jackName(jack);
  const { grown } = free;
  const more = grown === undefined ? [] : setTo(module, grown.setting, grown.count, patch);
  return (
    more && [
      ...more,
      {
        type: 'replace-cable',
        place: second.place,
        texts: [isFrom ? `${name} -> {to}` : `{from} -> ${name}`],
      },
    ]
  );
}
