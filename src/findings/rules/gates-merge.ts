/** Hits that come while the gate of the one before is still high: nothing rises, nothing starts. */

import { USUAL_RATE } from '../../engine/usual-rate.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { adviceApart, keptApart } from '../mend/apart.ts';
import { gateCause } from '../mend/rhythm-gate.ts';
import { byNet, inPlace, inputsOf, jacksOfTrains, share, within } from '../spoken.ts';
import { perhaps } from '../triggers/at-worst.ts';
import type { MatchedStroke } from '../triggers/strokes.ts';
import { actsOnRise, type Train } from '../triggers/triggers.ts';
import { atWorst, drivers, placeAtJack } from '../words.ts';

export const gatesMerge: Rule = {
  name: 'gates-merge',
  headline: ['jack', 'misses hits that run together'],
  explanation: {
    what: 'A gate is still high at the next hit, so there is no second trigger.',
    why:
      'A trigger input fires on the rise of its voltage. Where one gate runs into the next the ' +
      'voltage stays up, and what was written as two hits is one long one. Gates of 100 % do this ' +
      'at every pair of neighbouring steps, and two channels through one logic or a stretched pulse ' +
      'do it unnoticed.',
    sum: 'A hit is missed if it comes no later than the end of a gate that began before it.',
    mend:
      'Shorten the gate to less than the time between two hits; even less where its fall is slow. ' +
      'Where two channels are joined, put a short pulse module behind each, in front of where they meet: ' +
      'behind it is too late, since nothing rises there.',
  },

  find(context: Context): readonly Finding[] {
    const { patch, netlist, triggers } = context;
    const all = triggers.all().filter(actsOnRise);
    const isMerging = (train: Train): boolean => train.strokes?.some(isMissed) === true;
    const told = (trains: readonly [Train, ...Train[]], may: boolean): Finding => {
      const [{ terminal, net, noticed, strokes = [], span }] = trains;
      const missed = strokes.filter(isMissed);
      const [first] = missed;
      const spacing = missed.reduce((least, { since }) => Math.min(least, since), USUAL_RATE);
      const jack = { module: terminal.module.name, jack: terminal.jack.name };
      const never = noticed.length <= 1 && !may;
      return {
        rule: gatesMerge.name,
        severity: never ? 'fault' : 'caution',
        message:
          `${drivers(net)} ${may ? 'may still be' : 'is still'} high at ${share(missed.length, strokes.length, 'hit')}${within(span)}` +
          `${first === undefined ? '' : ` (first in ${inPlace(first)})`}: ${inputsOf(trains)} ` +
          `${never ? `${trains.length > 1 ? 'get' : 'gets'} no second trigger at all` : `${trains.length > 1 ? 'miss' : 'misses'} them`}${may ? `, ${atWorst(context.tolerance)}` : ''}.`,
        fix: adviceApart(trains[0], wantedAt(spacing / USUAL_RATE), context),
        place: placeAtJack(net, jack, patch),
        jack,
        jacks: jacksOfTrains(trains),
        cause: gateCause(net, { netlist }),
        figures: {
          missedHits: missed.length,
          hits: strokes.length,
          spacingSeconds: spacing / USUAL_RATE,
          lookedSeconds: span.seconds,
        },
      };
    };
    return [
      ...byNet(all.filter(isMerging)).map((trains) => told(trains, false)),
      ...byNet(perhaps(all, isMerging, 'long', context)).map((trains) => told(trains, true)),
    ];
  },

  mend({ jack, figures }, context) {
    const train = jack && context.triggers.at(jack);
    return train && keptApart(train, wantedAt(Number(figures.spacingSeconds)), context);
  },
};

/** @param spacing s. */
function wantedAt(spacing: number): Parameters<typeof keptApart>[1] {
  return { spacing, share: 0.5, counts: ({ tight }) => !tight };
}

/** A flam or a ratchet that runs together is told by a rule of its own. */
function isMissed({ merged, tight }: MatchedStroke): boolean {
  return merged && !tight;
}
