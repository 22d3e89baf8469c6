/** A voltage output on a switch-trigger input, which waits to be pulled down and is so at rest. */

import { jackName } from '../../patch/patch.ts';
import { suspectsAtRest } from '../at-rest.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { insertConverter } from '../mend/converter.ts';
import { distinct, drivers, inVolts, placeAtJack, wire } from '../words.ts';

export const voltageIntoSwitch: Rule = {
  name: 'voltage-into-switch',
  headline: ['jack', 'waits for a switch trigger'],
  explanation: {
    what: 'A voltage output (a gate, a clock, an envelope) is plugged into a switch-trigger input.',
    why:
      'A switch-trigger input is held up by a resistor inside the module and fires when something ' +
      'connects it to ground. A voltage output at rest gives 0 V through its own small resistance, ' +
      'which is such a connection: the input is on while nothing plays, goes off when the gate ' +
      'rises, and fires again when the gate falls. Everything comes late by the length of the gate, ' +
      'and once too often at the start.',
    sum:
      'At rest V = Vp Rs / (Rp + Rs), by Millman: 5 V through 10 kohm against 0 V through 1 kohm is ' +
      '0.455 V, under the 0.8 V at which the input fires.',
    mend: 'Put a trigger converter in between: gate -> voltage-in, switch-out -> the input.',
  },

  find(context: Context): readonly Finding[] {
    const suspects = suspectsAtRest(
      context,
      ({ outputs }) => outputs.some(({ jack }) => jack.facts.type === 'voltage'),
      ({ trigger }) => trigger?.type === 'switch',
    );
    return suspects.flatMap(({ net, jack, trigger, low, high, rest }): Finding[] => {
      if (trigger === undefined) return [];
      const idlesHigh = rest !== undefined && rest > trigger.on;
      const pulls = trigger.margin >= 0;
      const letsGo = trigger.release >= 0;
      // An output that idles high and falls when it plays is as good as a switch.
      if (idlesHigh && pulls && letsGo) return [];
      const { on, off } = trigger;
      const [lowest, fires] = distinct(low, on, inVolts);
      const [highest, ready] = distinct(high, off, inVolts);
      const what = !pulls
        ? `its low level leaves the input at ${lowest}, not under ${fires}, so it never fires`
        : !letsGo
          ? `at rest it pulls the input to ${lowest} (on under ${fires}), and its high level ` +
            `lifts it only to ${highest}, not to ${ready}: it fires once and never again`
          : `at rest it pulls the input to ${lowest} (on under ${fires}), so it fires ` +
            'inverted: at the start, and then whenever the voltage falls, not when it rises';
      return [
        {
          rule: voltageIntoSwitch.name,
          severity: 'fault',
          message: `${drivers(net)} gives a voltage, and ${jackName(jack)} waits for a switch trigger: ${what}.`,
          fix:
            `Put a trigger converter in between: its voltage-in takes the cable, its switch-out goes to ` +
            `${jackName(jack)}.`,
          place: placeAtJack(net, jack, context.patch),
          jack,
          cause: wire(net),
          figures: { lowVolts: low, highVolts: high, onVolts: on, offVolts: off },
        },
      ];
    });
  },

  mend: (finding, context) => insertConverter(finding, context, 'voltage-in', 'switch-out'),
};
