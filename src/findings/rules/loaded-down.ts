/** An output that loses more than a tenth of its voltage to the inputs on its net. */

import type { Net } from '../../electrical/nets.ts';
import type { InputJack, OutputJack } from '../../modules/definition.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { offBy } from '../triggers/corners.ts';
import { atWorst, drivers, inPercent, inVolts, listed } from '../words.ts';

/** Source: the design's figure; common practice, no source. */
const MUCH = 0.1;

export const loadedDown: Rule = {
  name: 'loaded-down',
  headline: ['jack', 'is loaded down'],
  explanation: {
    what: 'The inputs on a net take more than a tenth of the voltage of the output that drives it.',
    why:
      'Each input draws a little current through the output’s own resistance, and a passive multiple ' +
      'adds them up: an envelope no longer opens an amplifier fully, a pitch goes flat.',
    sum: 'V = E Rin / (Rin + Rs), the loaded divider, Rin being all inputs in parallel.',
    mend: 'Take inputs off the net, or put something with an output of its own in one branch: an attenuator at 100 %, a mixer.',
  },

  find({ levels, tolerance }: Context): readonly Finding[] {
    return [...levels.values()].flatMap(({ net, inputs, high, low }): Finding[] => {
      const [output, ...others] = net.outputs;
      if (output === undefined || others.length > 0 || output.jack.facts.type !== 'voltage')
        return [];
      // A pull-up is no load but a source; other rules speak of it.
      if (net.inputs.some(({ jack }) => jack.facts.rest !== 0)) return [];
      const nominal = lossOf(output.jack, net, () => 0);
      const worst = lossOf(output.jack, net, (facts) =>
        offBy(facts, 'ohms', facts.ohms, tolerance),
      );
      const share = nominal > MUCH ? nominal : worst;
      if (share <= MUCH) return [];
      const open = Math.max(high, -low) / (1 - nominal);
      const peak = open * (1 - share);
      const perhaps = share > nominal ? `, ${atWorst(tolerance)}` : '';
      const jack = { module: output.module.name, jack: output.jack.name };
      // A trigger that fires all the same has lost nothing that matters.
      const matters = inputs.some(({ trigger }) => trigger === undefined);
      return [
        {
          rule: loadedDown.name,
          severity: matters ? 'caution' : 'note',
          message:
            `${drivers(net)} loses ${inPercent(share)} of its voltage to ` +
            `${listed(net.inputs.map(({ module, jack: input }) => `${module.name}.${input.name}`))}: ` +
            `${inVolts(peak)} in place of ${inVolts(open)}${perhaps}.`,
          fix: 'Take inputs off the net, or put an attenuator at 100 % in one branch: its output is its own.',
          place: net.cables[0]?.place ?? output.module.place,
          jack,
          figures: {
            lossShare: share,
            loadedVolts: peak,
            openVolts: open,
            inputs: net.inputs.length,
          },
        },
      ];
    });
  },
};

/** The share of an output's volts that its own resistance takes. @param off ohm by which each is off, for the worse. */
function lossOf({ facts }: OutputJack, { inputs }: Net, off: (facts: Facts) => number): number {
  const siemens = inputs.reduce(
    (sum, { jack }) => sum + 1 / (jack.facts.ohms - off(jack.facts)),
    0,
  );
  return 1 - 1 / (1 + siemens * (facts.ohms + off(facts)));
}

type Facts = (InputJack | OutputJack)['facts'];
