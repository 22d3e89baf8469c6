/** A trigger whose level passes the threshold with little to spare. */

import { jackName } from '../../patch/patch.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { raiseLevel } from '../mend/raise-level.ts';
import { drivenAsMeant } from '../triggers/driven-as-meant.ts';
import { drivers, inPercent, inVolts, placeAtJack } from '../words.ts';

/** Share of the threshold. Source: the design's figure; common practice, no source. */
const LITTLE = 0.2;

export const levelMarginal: Rule = {
  name: 'level-marginal',
  explanation: {
    what: 'The level at a trigger input passes its threshold by less than a fifth of it.',
    why:
      'Resistors are 1 to 5 % off, thresholds more, and an output sags when it grows warm or when ' +
      'one more cable is plugged in. What just fires on the bench may not fire in the lesson.',
    sum: 'V = sum(Vi / Ri) / sum(1 / Ri), by Millman; (V - threshold) / threshold under 20 %.',
    mend: 'Raise the level of the output, or take inputs off the net.',
  },

  find({ patch, levels }: Context): readonly Finding[] {
    return [...levels.values()].flatMap(({ net, inputs }) =>
      inputs.flatMap(({ terminal, trigger }): Finding[] => {
        if (trigger === undefined || !drivenAsMeant(net, trigger.type)) return [];
        const { on, driven, margin, share, type } = trigger;
        if (share < 0 || share >= LITTLE) return [];
        const jack = { module: terminal.module.name, jack: terminal.jack.name };
        return [
          {
            rule: levelMarginal.name,
            severity: 'caution',
            message:
              `${jackName(jack)} gets ${inVolts(driven)} from ${drivers(net)} and fires ` +
              `${type === 'voltage' ? 'at' : 'under'} ${inVolts(on)}: only ${inVolts(margin)} (${inPercent(share)}) to spare.`,
            fix: `Raise the level of ${drivers(net)}, or take other inputs off the net.`,
            place: placeAtJack(net, jack, patch),
            jack,
            figures: {
              [type === 'voltage' ? 'highVolts' : 'lowVolts']: driven,
              onVolts: on,
              marginVolts: margin,
              marginShare: share,
            },
          },
        ];
      }),
    );
  },

  mend: raiseLevel,
};
