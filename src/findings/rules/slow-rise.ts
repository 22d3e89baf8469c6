/** A trigger that comes late because the output that drives it rises slowly. */

import { type JackRef, jackName } from '../../patch/patch.ts';
import { asRackSays } from '../by-rack.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { byNet, inputsOf, inTime, jacksOfTrains } from '../spoken.ts';
import {
  crossedAt,
  type EdgeAtInput,
  type Lateness,
  latenessAt,
  latestAt,
} from '../triggers/lateness.ts';
import { comparatorFor, type SlowEdge, slowEdgeAt } from '../triggers/slow-edge.ts';
import { APART } from '../triggers/swing-apart.ts';
import type { Train } from '../triggers/triggers.ts';
import { atWorst, distinct, drivers, inVolts, placeAtJack, wire } from '../words.ts';

/** Triggers that come late, or may. */
interface LateTrain extends Train {
  readonly late: Lateness;
  /** The same at the worst of all that may be off. */
  readonly latest: Lateness;
}

/** s that a further edge adds where what comes before it is told already. Common practice, no source. */
const ADDS = 0.001;

export const slowRise: Rule = {
  name: 'slow-rise',
  headline: ['jack', 'goes on late'],
  explanation: {
    what: 'An output rises so slowly that what it triggers comes 5 ms late or more.',
    why:
      'A trigger input goes on when the volts pass its threshold. On a slow edge (a ' +
      'weak output, a long cable, a capacitor against clicks) that is some way up, and what is ' +
      'triggered comes after what a quick edge triggers at the same time: two hits are heard where one is written.',
    sum: 'late = rise / ln 9 x ln(1 / (1 - share)), the share being (threshold - low) / (high - low), of each slow edge on the way, added up; 5 ms is common practice.',
    mend: 'Put a comparator in front, its threshold low on the edge: it goes on early and gives an edge of its own.',
  },

  find(context: Context): readonly Finding[] {
    const { triggers } = context;
    const lateOnes = triggers.all().flatMap((train): LateTrain[] => {
      const { module, jack } = train.terminal;
      // A module that passes the trigger on passes its lateness on as well.
      if (jack.rise === 'ends') return [];
      const ref = { module: module.name, jack: jack.name };
      const late = latenessAt(ref, context);
      const worst = late && latestAt(ref, context);
      if (late === undefined || worst === undefined || late.sum === Number.POSITIVE_INFINITY)
        return [];
      const isTold = worst.sum >= APART && isNew(worst, context);
      return isTold ? [{ ...train, late, latest: worst }] : [];
    });
    const isSure = ({ late }: LateTrain): boolean => late.sum >= APART;
    const apart = [
      ...byNet(lateOnes.filter(isSure)),
      ...byNet(lateOnes.filter((one) => !isSure(one))),
    ];
    return apart.map((trains) => told(trains, context));
  },
};

/** Whether what comes late here is not told at an input before it, or much less. */
function isNew({ sum, before }: Lateness, context: Context): boolean {
  let last = before;
  // What compares is no trigger input, at which it could be told.
  while (last !== undefined && isCompared(last, context)) last = last.before;
  return last === undefined || last.sum < APART || sum - last.sum >= ADDS;
}

function isCompared({ jack }: Lateness, { patch }: Context): boolean {
  const module = patch.modules.find(({ name }) => name === jack.module);
  return module !== undefined && crossedAt(module, jack.jack) !== undefined;
}

function told(trains: readonly [LateTrain, ...LateTrain[]], context: Context): Finding {
  const { patch } = context;
  const [{ net, late, latest }] = trains;
  const { jack, sum } = late;
  const way = edgesOn(late);
  const [first] = way;
  const [comes, most] = distinct(sum, latest.sum, inTime);
  const many = way.length > 1;
  const steps = way.map(({ edge, own, jack: at }) => {
    const inputs = at === jack ? inputsOf(trains) : jackName(at);
    const go = at === jack && trains.length > 1 ? 'go' : 'goes';
    const begins = at === first?.jack ? 'the edge begins' : 'that';
    return `${drivers(edge.net)} rises in ${inTime(edge.rise)}, and ${inputs} ${go} on at ${inVolts(edge.on)}, ${many ? inTime(own) : comes} after ${begins}`;
  });
  const inAll = many ? `, ${comes} in all` : '';
  const atMost = sum < APART ? `, and ${most} ${atWorst(context.tolerance)}` : '';
  const slowest = edgesOn(latest).toSorted((a, b) => b.own - a.own) as [SlowStep];
  const [{ edge }] = slowest;
  const cures = curesFor(slowest, latest.sum, context);
  const [cure] = cures;
  const advice = cures.map(({ jack, slow }) => comparatorFor(slow, jack, context)).join('. ');
  const rack = way.map(({ edge }) => asRackSays(edge.net, 'rise', patch)).join('');
  return {
    rule: slowRise.name,
    severity: 'note',
    message: `${steps.join('; ')}${inAll}${atMost}: each hit comes that much late.${rack}`,
    fix:
      cure === undefined
        ? `Take a quicker output for it: a comparator in front of ${jackName(slowest[0].jack)} that goes on sooner runs hits into each other, since ${drivers(edge.net)} falls as slowly.`
        : `${advice}.`,
    place: placeAtJack(net, jack, patch),
    jack,
    jacks: jacksOfTrains(trains),
    cause: wire(net),
    figures: {
      riseSeconds: edge.rise,
      lateSeconds: sum,
      latestSeconds: latest.sum,
      ...(cure && { thresholdVolts: cure.slow.threshold, earlySeconds: cure.slow.early }),
    },
  };
}

type SlowStep = Lateness & { readonly edge: EdgeAtInput };

/** The slow edges on the way, the first one first. */
function edgesOn(late: Lateness): readonly SlowStep[] {
  const way: SlowStep[] = [];
  for (let one: Lateness | undefined = late; one !== undefined; one = one.before)
    if (one.edge !== undefined) way.push({ ...one, edge: one.edge });
  return way.reverse();
}

/** What brings a sum of edges below what is heard: as few comparators as do, where they are worth most. */
function curesFor(
  slowest: readonly SlowStep[],
  sum: number,
  context: Context,
): readonly { readonly jack: JackRef; readonly slow: SlowEdge }[] {
  let left = sum;
  return slowest.flatMap(({ own, jack }) => {
    const slow = left < APART ? undefined : slowEdgeAt(jack, context);
    if (slow === undefined || !slow.isApart || slow.early >= own) return [];
    left -= own - slow.early;
    return [{ jack, slow }];
  });
}
