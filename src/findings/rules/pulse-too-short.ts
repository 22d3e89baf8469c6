/** Pulses that end before the input that they are meant for has noticed them. */

import type { Net } from '../../electrical/nets.ts';
import { USUAL_RATE } from '../../engine/usual-rate.ts';
import { largest, smallest } from '../../modules/dsp/extremes.ts';
import { type JackRef, jackName, type Patch } from '../../patch/patch.ts';
import { asRackSays } from '../by-rack.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { FINE_RATE, FINEST_PLAYED } from '../fine-rate.ts';
import { fixedBehind, gateCause, setGate } from '../mend/rhythm-gate.ts';
import { byNet, inputsOf, inTime, jacksOfTrains, share, within } from '../spoken.ts';
import { trainsAtWorst } from '../triggers/at-worst.ts';
import { comparatorFor, slowEdgeAt } from '../triggers/slow-edge.ts';
import type { Train } from '../triggers/triggers.ts';
import { atWorst, distinct, drivers, placeAtJack } from '../words.ts';

export const pulseTooShort: Rule = {
  name: 'pulse-too-short',
  headline: ['jack', 'gets pulses too short for it'],
  explanation: {
    what: 'A pulse is shorter than what the input notices, so nothing starts.',
    why:
      'A trigger input does not take every spike for a trigger: a small capacitor, or a processor ' +
      'that looks now and then, wants the pulse to last. A gate of half a millisecond is heard by ' +
      'one module and not by its neighbour.',
    sum:
      'It fires if the pulse lasts at least the shortest pulse that the input notices; a render looks at both in whole ' +
      `samples, here at ${USUAL_RATE / 1000} kHz. What lasts in samples alone is a caution.`,
    mend: 'Lengthen the gate, or put a pulse module in between, set to some milliseconds.',
  },

  find(context: Context): readonly Finding[] {
    const { patch, netlist, triggers } = context;
    const isShort = ({ pulses, needed }: Train): boolean =>
      pulses.some(({ start, end }) => end - start < needed);
    const all = triggers.all();
    const short = all.filter(isShort);
    const close = all.filter(
      (train) => !isShort(train) && trainsAtWorst(train, 'short', context).some(isShort),
    );
    const fine = all.flatMap((train) =>
      short.includes(train) || close.includes(train) ? [] : (finelyShort(train, context) ?? []),
    );
    const missed = byNet(short).map((trains): Finding => {
      const [train] = trains;
      const { terminal, net, pulses, span } = train;
      const needed = largest(trains.map((one) => one.needed));
      const short = pulses.filter(({ start, end }) => end - start < needed);
      const width = smallest(short.map(({ start, end }) => end - start)) / USUAL_RATE;
      const jack = { module: terminal.module.name, jack: terminal.jack.name };
      const all = short.length === pulses.length;
      return {
        rule: pulseTooShort.name,
        severity: 'fault',
        message:
          `${width > 0 ? shortAgainst(trains, width, needed / USUAL_RATE) : neverThere(trains)}: ` +
          `${all ? 'it never fires' : `${share(short.length, pulses.length, 'pulse')} are missed`}${within(span)}.${saidOfPulses(net, patch)}`,
        fix: cureFor(net, jack, needed, context),
        place: placeAtJack(net, jack, patch),
        jack,
        jacks: jacksOfTrains(trains),
        cause: gateCause(net, { netlist }),
        figures: {
          widthSeconds: width,
          neededSeconds: needed / USUAL_RATE,
          missedPulses: short.length,
          pulses: pulses.length,
          lookedSeconds: span.seconds,
        },
      };
    });
    return [
      ...missed,
      ...byNet(close).map((trains) =>
        atTheEdge(trains, USUAL_RATE, `${atWorst(context.tolerance)} they may be missed`, context),
      ),
      ...byNet(fine).map((trains) => atTheEdge(trains, FINE_RATE, ROUNDED, context)),
    ];
  },

  mend({ jack, figures }, context) {
    const net = jack && context.netlist.at(jack);
    return net && setGate(net, 2 * Number(figures.neededSeconds), context);
  },
};

/** Samples: both ends of a pulse and what it must last are rounded. */
const ROUNDING = 1.5;

const ROUNDED = `they last only in whole samples at ${USUAL_RATE / 1000} kHz, and a circuit misses them`;

/**
 * What arrives by exact times, where pulses that just last in samples are too short by these.
 * @param train of pulses that last.
 */
function finelyShort({ terminal, pulses, needed }: Train, context: Context): Train | undefined {
  if (smallest(pulses.map(({ start, end }) => end - start)) > needed + ROUNDING) return undefined;
  const jack = { module: terminal.module.name, jack: terminal.jack.name };
  const fine = context.fineTriggers().at(jack);
  if (fine === undefined) return undefined;
  const rounded = ROUNDING * (fine.span.heard ? FINE_RATE / FINEST_PLAYED : 1);
  const isShort = fine.pulses.some(({ start, end }) => end - start < fine.needed - rounded);
  return isShort ? fine : undefined;
}

/**
 * A pulse that is long enough as it is played, and may yet be missed.
 * @param sampleRate Hz, of the trains; @param why they may be.
 */
function atTheEdge(
  trains: readonly [Train, ...Train[]],
  sampleRate: number,
  why: string,
  context: Context,
): Finding {
  const { patch, netlist } = context;
  const [{ terminal, net, pulses, needed, span }] = trains;
  const jack = { module: terminal.module.name, jack: terminal.jack.name };
  const width = smallest(pulses.map(({ start, end }) => end - start)) / sampleRate;
  return {
    rule: pulseTooShort.name,
    severity: 'caution',
    message: `${shortAgainst(trains, width, needed / sampleRate)}: ${why}.${saidOfPulses(net, patch)}`,
    fix: `${putPulse(jack, context)}, or measure both again, more closely.`,
    place: placeAtJack(net, jack, patch),
    jack,
    jacks: jacksOfTrains(trains),
    cause: gateCause(net, { netlist }),
    figures: {
      widthSeconds: width,
      neededSeconds: needed / sampleRate,
      lookedSeconds: span.seconds,
    },
  };
}

/** @param needed samples. */
function cureFor(net: Net, jack: JackRef, needed: number, context: Context): string {
  const put = putPulse(jack, context);
  if (fixedBehind(net, context.netlist) !== undefined) return `${put}.`;
  const gate = inTime((2 * needed) / USUAL_RATE);
  return `Lengthen the gate to ${gate} or more, or ${put.replace(/^P/, 'p')}.`;
}

/** A pulse module, behind a comparator where the rack says that the edge is slow. */
function putPulse(jack: JackRef, context: Context): string {
  const slow = slowEdgeAt(jack, context);
  return slow === undefined
    ? `Put a pulse module in front of ${jackName(jack)}`
    : `${comparatorFor(slow, jack, context)}; if its pulses are still too short, a pulse module behind it`;
}

/** @param width s, the shortest that comes; @param needed s. */
function shortAgainst(trains: readonly [Train, ...Train[]], width: number, needed: number): string {
  const notice = trains.length > 1 ? 'notice' : 'notices';
  const [least, enough] = distinct(width, needed, inTime);
  return `${drivers(trains[0].net)} gives pulses of ${least}, and ${inputsOf(trains)} ${notice} none under ${enough}`;
}

/** A pulse that rises so slowly that it is never high enough for a whole sample. */
function neverThere(trains: readonly [Train, ...Train[]]): string {
  const go = trains.length > 1 ? 'go' : 'goes';
  return `${drivers(trains[0].net)} rises so slowly that its pulses end before ${inputsOf(trains)} ${go} on`;
}

function saidOfPulses(net: Net, patch: Patch): string {
  return asRackSays(net, 'width', patch) + asRackSays(net, 'rise', patch);
}
