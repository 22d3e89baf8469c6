/** A trigger that comes late because the output that drives it rises slowly. */

import { jackName } from '../../patch/patch.ts';
import { asRackSays } from '../by-rack.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { byNet, inputsOf, inTime, jacksOfTrains } from '../spoken.ts';
import { comparatorFor, type SlowEdge, slowEdgeAt } from '../triggers/slow-edge.ts';
import { APART } from '../triggers/swing-apart.ts';
import type { Train } from '../triggers/triggers.ts';
import { atWorst, distinct, drivers, inVolts, placeAtJack, wire } from '../words.ts';

/** Triggers that come late, or may. */
interface LateTrain extends Train {
  readonly slow: SlowEdge;
}

export const slowRise: Rule = {
  name: 'slow-rise',
  headline: ['jack', 'goes on late'],
  explanation: {
    what: 'An output rises so slowly that what it triggers comes 5 ms late or more.',
    why:
      'A trigger input goes on when the volts pass its threshold. On a slow edge (a ' +
      'weak output, a long cable, a capacitor against clicks) that is some way up, and what is ' +
      'triggered comes after what a quick edge triggers at the same time: two hits are heard where one is written.',
    sum: 'late = rise / ln 9 x ln(1 / (1 - share)), the share being (threshold - low) / (high - low); 5 ms is common practice.',
    mend: 'Put a comparator in front, its threshold low on the edge: it goes on early and gives an edge of its own.',
  },

  find(context: Context): readonly Finding[] {
    const { patch, triggers, levels } = context;
    const lateOnes = triggers.all().flatMap((train): LateTrain[] => {
      const { module, jack } = train.terminal;
      // A module that passes the trigger on passes its lateness on as well.
      const slow =
        jack.rise === 'ends'
          ? undefined
          : slowEdgeAt({ module: module.name, jack: jack.name }, context);
      const isLate = slow !== undefined && slow.late < Number.POSITIVE_INFINITY;
      return isLate && slow.latest >= APART ? [{ ...train, slow }] : [];
    });
    const isSure = ({ slow }: LateTrain): boolean => slow.late >= APART;
    const apart = [
      ...byNet(lateOnes.filter(isSure)),
      ...byNet(lateOnes.filter((one) => !isSure(one))),
    ];
    return apart.flatMap((late): Finding[] => {
      const [{ net, terminal, slow }] = late;
      const jack = { module: terminal.module.name, jack: terminal.jack.name };
      const trigger = levels
        .get(net)
        ?.inputs.find(({ terminal: one }) => one.jack === terminal.jack)?.trigger;
      if (trigger === undefined) return [];
      const [comes, latest] = distinct(slow.late, slow.latest, inTime);
      const go = late.length > 1 ? 'go' : 'goes';
      return [
        {
          rule: slowRise.name,
          severity: 'note',
          message:
            `${drivers(net)} rises in ${inTime(slow.rise)}, and ${inputsOf(late)} ${go} on at ${inVolts(trigger.on)}, ` +
            `${comes} after the edge begins${slow.late < APART ? `, and ${latest} ${atWorst(context.tolerance)}` : ''}: ` +
            `each hit comes that much late.${asRackSays(net, 'rise', patch)}`,
          fix:
            slow.isApart && slow.early < slow.late
              ? `${comparatorFor(slow, jack, context)}.`
              : `Take a quicker output for it: a comparator in front of ${jackName(jack)} that goes on sooner runs hits into each other, since ${drivers(net)} falls as slowly.`,
          place: placeAtJack(net, jack, patch),
          jack,
          jacks: jacksOfTrains(late),
          cause: wire(net),
          figures: {
            riseSeconds: slow.rise,
            lateSeconds: slow.late,
            latestSeconds: slow.latest,
            thresholdVolts: slow.threshold,
            earlySeconds: slow.early,
          },
        },
      ];
    });
  },
};
