/** A trigger input whose idle level is too high for it to be ready again. */

import { jackName } from '../../patch/patch.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { drivenAsMeant } from '../triggers/triggers.ts';
import { distinct, drivers, inVolts, placeAtJack, wire } from '../words.ts';

export const staysOn: Rule = {
  name: 'stays-on',
  headline: ['jack', 'fires once and never again'],
  explanation: {
    what: 'The level at a trigger input never falls back far enough for it to fire again.',
    why:
      'A trigger input has two thresholds, so that a noisy edge fires once: it goes on above the ' +
      'one and is ready again only under the other. A gate with an offset, or one that idles at ' +
      'two volts, stays between them.',
    sum: 'V at rest = sum(Vi / Ri) / sum(1 / Ri), by Millman, against the lower threshold.',
    mend: 'Take the offset away, or put a comparator in between, set between the two levels.',
  },

  find({ patch, levels }: Context): readonly Finding[] {
    return [...levels.values()].flatMap(({ net, inputs, low, high }) =>
      inputs.flatMap(({ terminal, trigger }): Finding[] => {
        if (trigger === undefined || !drivenAsMeant(net, trigger.type)) return [];
        if (trigger.release >= 0 || trigger.margin < 0) return [];
        const jack = { module: terminal.module.name, jack: terminal.jack.name };
        const voltage = trigger.type === 'voltage';
        const idle = voltage ? low : high;
        const [rests, ready] = distinct(idle, trigger.off, inVolts);
        const sure = voltage ? idle > trigger.off : idle < trigger.off;
        return [
          {
            rule: staysOn.name,
            severity: sure ? 'fault' : 'caution',
            message:
              `${jackName(jack)} never goes ${voltage ? 'under' : 'above'} ${rests} by ${drivers(net)} and is ready ` +
              `again ${voltage ? 'under' : 'above'} ${ready}: it ${sure ? 'fires' : 'may fire'} once and never again.`,
            fix: `Let ${drivers(net)} rest at 0 V, or put a comparator in between.`,
            place: placeAtJack(net, jack, patch),
            jack,
            cause: wire(net),
            figures: { idleVolts: idle, onVolts: trigger.on, offVolts: trigger.off },
          },
        ];
      }),
    );
  },
};
