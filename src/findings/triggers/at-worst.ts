/**
 * What arrives at trigger inputs in the worst case of all tolerances, and what follows.
 *
 * From threshold to threshold a pulse is as long as its output gives it, less the way up and more the way down:
 *
 *   w - rise / ln 9 x ln(1 / (1 - on)) + rise / ln 9 x ln(top / off),  on and off in shares of the step
 */

import type { JackRef } from '../../patch/patch.ts';
import type { Context, Finding } from '../finding.ts';
import { atWorst } from '../words.ts';
import { cornersAt, type Way } from './corners.ts';
import type { PlayedEnvelope } from './envelopes.ts';
import type { Train } from './triggers.ts';

/**
 * The trains at an input, in their worst cases.
 * @returns none where nothing may be off that a time depends on.
 */
export function trainsAtWorst(train: Train, way: Way, context: Context): readonly Train[] {
  const jack = inputOf(train);
  return cornersAt(jack, way, context).flatMap(({ triggers }) => triggers.at(jack) ?? []);
}

/**
 * The trains whose strokes are as they should be, and at their worst are not: each with those strokes.
 * @param isBad what is looked for.
 */
export function perhaps(
  trains: readonly Train[],
  isBad: (train: Train) => boolean,
  way: Way,
  context: Context,
): readonly Train[] {
  return trains.flatMap((train) => {
    if (isBad(train)) return [];
    const worst = trainsAtWorst(train, way, context).find(isBad);
    return worst === undefined ? [] : [{ ...train, strokes: worst.strokes }];
  });
}

/**
 * What is wrong with what something makes of its triggers, or else what is wrong with it at the first corner
 * where anything is.
 * @param find what is wrong in a context, which may be that of a corner.
 */
export function foundOrPerhaps(
  jack: JackRef,
  context: Context,
  find: (context: Context) => readonly Finding[],
): readonly Finding[] {
  return foundOrAt(
    context,
    function* () {
      yield* cornersAt(jack, 'short', context);
      yield* cornersAt(jack, 'long', context);
    },
    find,
  );
}

/** The same at any corners. @param corners gives them, if the context itself has nothing wrong. */
export function foundOrAt(
  context: Context,
  corners: () => Iterable<Context>,
  find: (context: Context) => readonly Finding[],
): readonly Finding[] {
  const sure = find(context);
  if (sure.length > 0) return sure;
  for (const corner of corners()) {
    const found = find(corner);
    if (found.length > 0)
      return found.map((one) => ({
        ...one,
        message: `${one.message.replace(/\.$/, '')}, ${atWorst(context.tolerance)}.`,
      }));
  }
  return [];
}

/** The same of each envelope that is played. */
export function ofEnvelopes(
  context: Context,
  find: (played: PlayedEnvelope, context: Context) => readonly Finding[],
): readonly Finding[] {
  return context.envelopes().flatMap(({ module: { name }, train }) =>
    foundOrPerhaps(inputOf(train), context, (here) => {
      const played = here.envelopes().find(({ module }) => module.name === name);
      return played === undefined ? [] : find(played, here);
    }),
  );
}

function inputOf({ terminal: { module, jack } }: Train): JackRef {
  return { module: module.name, jack: jack.name };
}
