/** A trigger whose level passes the threshold with little to spare. */

import { jackName } from '../../patch/patch.ts';
import { asRackSays } from '../by-rack.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { levelCause, raiseLevel } from '../mend/raise-level.ts';
import { asAdvice, drivenTriggers, ROOM_ENOUGH } from '../mend/what-helps.ts';
import { distinct, drivers, inPercent, inVolts, isAtLimit, placeAtJack } from '../words.ts';

export const levelMarginal: Rule = {
  name: 'level-marginal',
  headline: ['jack', 'fires with little to spare'],
  explanation: {
    what: 'The level at a trigger input passes its threshold by less than a fifth of it.',
    why:
      'Resistors are 1 to 5 % off, thresholds more, and an output sags when it grows warm or when ' +
      'one more cable is plugged in. What just fires on the bench may not fire in the lesson.',
    sum: 'V = sum(Vi / Ri) / sum(1 / Ri), by Millman; (V - threshold) / threshold under 20 %.',
    mend:
      'Whichever of these is enough, worked out for the net at hand: a higher level setting, fewer ' +
      'inputs on the net, a buffer or a comparator in front of them.',
  },

  find(context: Context): readonly Finding[] {
    const { patch } = context;
    return drivenTriggers(context).flatMap(({ net, jack, trigger, waysOut }): Finding[] => {
      const { on, driven, margin, share, type } = trigger;
      if (share < 0 || share >= ROOM_ENOUGH) return [];
      const [gets, needs] = distinct(driven, on, inVolts);
      return [
        {
          rule: levelMarginal.name,
          severity: 'caution',
          message:
            `${jackName(jack)} gets ${gets} from ${drivers(net)} and fires ` +
            `${type === 'voltage' ? 'at' : 'under'} ${needs}: ${isAtLimit(margin) ? 'right at its limit, with nothing' : `only ${inVolts(margin)} (${inPercent(share)})`} to spare.${asRackSays(net, 'high', patch)}`,
          fix: asAdvice(
            waysOut(),
            'No setting or module of this patch helps: use an output with a higher level or a lower resistance.',
          ),
          place: placeAtJack(net, jack, patch),
          jack,
          cause: levelCause(net),
          figures: {
            [type === 'voltage' ? 'highVolts' : 'lowVolts']: driven,
            onVolts: on,
            marginVolts: margin,
            marginShare: share,
          },
        },
      ];
    });
  },

  mend: raiseLevel,
};
