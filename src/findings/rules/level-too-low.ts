/** A trigger whose level never reaches the threshold of its input. */

import { jackName } from '../../patch/patch.ts';
import { asRackSays } from '../by-rack.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { levelCause, raiseLevel } from '../mend/raise-level.ts';
import { asAdvice, drivenTriggers } from '../mend/what-helps.ts';
import { atWorst, distinct, drivers, inVolts, isAtLimit, placeAtJack } from '../words.ts';

export const levelTooLow: Rule = {
  name: 'level-too-low',
  headline: ['jack', 'never fires'],
  explanation: {
    what: 'The level at a trigger input never passes its threshold.',
    why:
      'An output is a voltage behind a resistance, and every input on its net draws a little: what ' +
      'arrives is less than what the output gives with nothing plugged in. A weak clock, an ' +
      'attenuator or a multiple with many takers leaves too little. A switch trigger is the same ' +
      'upside down: the closed switch must pull the input under its threshold.',
    sum: 'V = sum(Vi / Ri) / sum(1 / Ri), by Millman; margin = V - threshold.',
    mend:
      'Raise the level of the output, take inputs off the net, or put something with an output of ' +
      'its own in between: a comparator, or an attenuator at 100 %.',
  },

  find(context: Context): readonly Finding[] {
    const { patch, tolerance } = context;
    return drivenTriggers(context).flatMap(({ net, jack, trigger, waysOut }): Finding[] => {
      if (trigger.margin >= 0) return [];
      const { on, driven, margin } = trigger;
      const [gets, needs] = distinct(driven, on, inVolts);
      const short = trigger.type === 'voltage' ? on - driven : driven - on;
      const verb = trigger.type === 'voltage' ? 'reaches' : 'is pulled down only to';
      const figures = {
        [trigger.type === 'voltage' ? 'highVolts' : 'lowVolts']: driven,
        onVolts: on,
        marginVolts: margin,
      };
      const place = placeAtJack(net, jack, patch);
      const fix =
        trigger.type === 'voltage'
          ? asAdvice(
              waysOut(),
              `Use an output with a higher level than ${drivers(net)}, or with a lower resistance.`,
            )
          : `Use a switch output of lower resistance, or give ${jackName(jack)} a trigger converter of its own.`;
      const cause = levelCause(net);
      const common = { rule: levelTooLow.name, fix, place, jack, cause, figures };
      if (short > 0)
        return [
          {
            ...common,
            severity: 'fault',
            message:
              `${jackName(jack)} ${verb} ${gets} from ${drivers(net)} and fires ` +
              `${trigger.type === 'voltage' ? 'at' : 'under'} ${needs}: ${isAtLimit(short) ? 'right at its limit, it may not fire' : `it never fires; ${inVolts(short)} is missing`}.${asRackSays(net, 'high', patch)}`,
          },
        ];
      return [
        {
          ...common,
          severity: 'caution',
          message:
            `${jackName(jack)} ${verb} ${gets} and fires at ${needs}, but ` +
            `${atWorst(tolerance)} ${isAtLimit(margin) ? 'it is right at its limit and may not fire' : `it may be ${inVolts(-margin)} short and not fire`}.${asRackSays(net, 'high', patch)}`,
        },
      ];
    });
  },

  mend: raiseLevel,
};
