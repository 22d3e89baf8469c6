/** Pulses that end before the input that they are meant for has noticed them. */

import { USUAL_RATE } from '../../engine/usual-rate.ts';
import { largest, smallest } from '../../modules/dsp/extremes.ts';
import { jackName } from '../../patch/patch.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { gateCause, setGate } from '../mend/rhythm-gate.ts';
import { byNet, inputsOf, inTime, jacksOfTrains, share, within } from '../spoken.ts';
import { drivers, placeAtJack } from '../words.ts';

export const pulseTooShort: Rule = {
  name: 'pulse-too-short',
  explanation: {
    what: 'A pulse is shorter than what the input notices, so nothing starts.',
    why:
      'A trigger input does not take every spike for a trigger: a small capacitor, or a processor ' +
      'that looks now and then, wants the pulse to last. A gate of half a millisecond is heard by ' +
      'one module and not by its neighbour.',
    sum: `It fires if the pulse lasts at least the shortest pulse that the input notices; both in samples at ${USUAL_RATE / 1000} kHz.`,
    mend: 'Lengthen the gate, or put a pulse module in between, set to some milliseconds.',
  },

  find({ patch, netlist, triggers }: Context): readonly Finding[] {
    return byNet(
      triggers
        .all()
        .filter(({ pulses, needed }) => pulses.some(({ start, end }) => end - start < needed)),
    ).map((trains): Finding => {
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
          `${drivers(net)} gives pulses of ${inTime(width)}, and ${inputsOf(trains)} ` +
          `${trains.length > 1 ? 'notice' : 'notices'} none under ${inTime(needed / USUAL_RATE)}: ` +
          `${all ? 'it never fires' : `${share(short.length, pulses.length, 'pulse')} are missed`}${within(span)}.`,
        fix: `Lengthen the gate to ${inTime((2 * needed) / USUAL_RATE)} or more, or put a pulse module in front of ${jackName(jack)}.`,
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
  },

  mend({ jack, figures }, context) {
    const net = jack && context.netlist.at(jack);
    return net && setGate(net, 2 * Number(figures.neededSeconds), context);
  },
};
