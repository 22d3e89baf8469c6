/** A switch output on an input that waits for a voltage: nothing ever raises it. */

import { jackName } from '../../patch/patch.ts';
import { suspectsAtRest } from '../at-rest.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { insertConverter } from '../mend/converter.ts';
import { distinct, drivers, inVolts, placeAtJack, wire } from '../words.ts';

export const switchIntoVoltage: Rule = {
  name: 'switch-into-voltage',
  headline: ['jack', 'waits for a voltage'],
  explanation: {
    what: 'A switch-trigger output is plugged into an input that waits for a voltage.',
    why:
      'A switch output only connects its jack to ground, and is open at rest. An input that waits ' +
      'for a voltage has a resistor to ground already: open or closed, it stays at 0 V and never ' +
      'fires. Where a switch-trigger input hangs on the same net, its pull-up holds both high at ' +
      'rest, and the voltage input then fires when the switch opens.',
    sum: 'Open: V = 0 through the input resistance. Closed: V = saturation x Rin / (Rin + Ron), about 0 V.',
    mend: 'Put a trigger converter in between: switch -> switch-in, voltage-out -> the input.',
  },

  find(context: Context): readonly Finding[] {
    const suspects = suspectsAtRest(
      context,
      ({ outputs }) =>
        outputs.length > 0 && outputs.every(({ jack }) => jack.facts.type === 'switch'),
      ({ terminal }) => terminal.jack.facts.trigger?.type !== 'switch',
    );
    return suspects.flatMap(({ net, jack, trigger, low, high, rest }): Finding[] => {
      const rises = trigger !== undefined && trigger.margin >= 0;
      // A switch that is closed at rest and opens to play, with a pull-up beside it, works.
      if (rises && trigger.release >= 0 && rest !== undefined && rest <= trigger.off) return [];
      const what =
        trigger === undefined
          ? `it stays at ${inVolts(high)} whether the switch is open or closed`
          : !rises
            ? `it stays at ${distinct(high, trigger.on, inVolts).join(', never at ')}, so it never fires`
            : trigger.release < 0
              ? `a pull-up holds it at ${inVolts(high)} and the switch takes it only to ${inVolts(low)}, so it stays on`
              : `a pull-up on the same net holds it at ${inVolts(high)} at rest, so it fires inverted, when the switch opens`;
      return [
        {
          rule: switchIntoVoltage.name,
          severity: 'fault',
          message: `${drivers(net)} is a switch to ground, and ${jackName(jack)} waits for a voltage: ${what}.`,
          fix:
            `Put a trigger converter in between: its switch-in takes the cable, its voltage-out goes to ` +
            `${jackName(jack)}.`,
          place: placeAtJack(net, jack, context.patch),
          jack,
          cause: wire(net),
          figures: {
            openVolts: high,
            closedVolts: low,
            ...(trigger !== undefined && { onVolts: trigger.on }),
          },
        },
      ];
    });
  },

  mend: (finding, context) => insertConverter(finding, context, 'switch-in', 'voltage-out'),
};
