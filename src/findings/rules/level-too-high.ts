/** A net whose volts exceed what one of its inputs tolerates. */

import { RAIL_VOLTS } from '../../modules/facts.ts';
import { jackName } from '../../patch/patch.ts';
import { asRackSays, isFixedByRack } from '../by-rack.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { levelCause } from '../mend/raise-level.ts';
import { distinct, drivers, inVolts, placeAtJack } from '../words.ts';

export const levelTooHigh: Rule = {
  name: 'level-too-high',
  headline: ['jack', 'gets more than it withstands'],
  explanation: {
    what: 'The voltage at an input goes beyond the highest that is safe for it.',
    why:
      'Inputs of analogue modules withstand their supply, but those of instruments with converters, ' +
      'and of computers, often only 5 V or less. More drives current into the chip through its ' +
      'protection, and in time breaks it.',
    sum: 'V = sum(Vi / Ri) / sum(1 / Ri), by Millman, at its highest and lowest, against the safe volts.',
    mend: 'Turn the level down, or put an attenuator in between. Check the limits in the manual.',
  },

  find({ patch, levels }: Context): readonly Finding[] {
    return [...levels.values()].flatMap(({ net, inputs, low, high, worst }): Finding[] => {
      // No output goes beyond its supply, however far off its level is.
      const top = Math.max(high, Math.min(worst.high, RAIL_VOLTS));
      const bottom = Math.min(low, Math.max(worst.low, -RAIL_VOLTS));
      const [first, ...others] = inputs
        .map(({ terminal }) => terminal)
        .filter(({ jack: { facts } }) => Math.max(top, -bottom) > facts.safe)
        .sort((a, b) => a.jack.facts.safe - b.jack.facts.safe);
      if (first === undefined || net.outputs.length === 0) return [];
      const jack = { module: first.module.name, jack: first.jack.name };
      const volts = top > -bottom ? top : bottom;
      const { safe } = first.jack.facts;
      const [gets, bears] = distinct(volts, safe, inVolts);
      const more = others.length === 0 ? '' : ` (and ${others.length} more inputs of the net)`;
      return [
        {
          rule: levelTooHigh.name,
          severity: 'caution',
          message: `${drivers(net)} takes ${jackName(jack)}${more} to ${gets}; it withstands ${bears}.${asRackSays(net, 'high', patch)}`,
          fix: isFixedByRack(net)
            ? 'Put an attenuator in between.'
            : `Turn the level of ${drivers(net)} down to ${bears} or less, or put an attenuator in between.`,
          place: placeAtJack(net, jack, patch),
          jack,
          cause: levelCause(net),
          figures: { volts, safeVolts: safe },
        },
      ];
    });
  },
};
