/** Volts that take a delay line's time beyond what the line can hold. */

import { USUAL_RATE } from '../../engine/usual-rate.ts';
import { exp2 } from '../../modules/dsp/math.ts';
import type { JackRef } from '../../patch/patch.ts';
import { formatBriefly } from '../../patch/units.ts';
import { movedLines } from '../delay-lines.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { within } from '../spoken.ts';
import { foundAtVolts } from '../triggers/sound-corners.ts';
import { drivers, inVolts, placeAtJack } from '../words.ts';

/** How far beyond a limit nobody notices: a semitone. */
const SLIGHT = exp2(1 / 12);

export const timeOutOfRange: Rule = {
  name: 'time-out-of-range',
  headline: ['module', 'is driven beyond its times'],
  explanation: {
    what: 'The volts ask a delay line for a time that it cannot hold, and it stops there.',
    why:
      'A line is as long as it was built: four times the time set, and 10 s at most. Two volts down at ' +
      'pitch are that far. The shortest is four samples. Beyond, a loop no longer follows the notes, ' +
      'and sounds out of tune; a sweep stands still.',
    sum:
      'time x 2^(-tune/12) x 2^(-V at pitch) x (1 + control-amount x V at control / 5 V), against four ' +
      'times the first two, and four samples at 48 kHz. The volts are those of the render.',
    mend: 'Set a longer or a shorter time and move the volts to fit, or turn them down.',
  },

  find(context: Context): readonly Finding[] {
    const all = movedLines(context).map(({ module, input }) => ({
      module: module.name,
      jack: input,
    }));
    return all.flatMap((jack) => foundAtVolts(jack, 'wide', context, beyond));
  },
};

function beyond(of: JackRef, context: Context): readonly Finding[] {
  const moved = movedLines(context).filter(
    ({ module, input }) => module.name === of.module && input === of.jack,
  );
  const heard = context.rehearsal();
  if (heard === undefined) return [];
  return moved.flatMap(({ module, input, net, times, timeAt }): Finding[] => {
    const { longest } = times;
    const shortest = times.shortest / USUAL_RATE;
    const jack = { module: module.name, jack: input };
    const volts = heard.volts.get(`${module.name}.${input}`);
    if (volts === undefined) return [];
    const asked = [volts.low, volts.high].map((at) => ({ at, time: timeAt(at) }));
    const [worst] = asked
      .filter(({ time }) => time > longest * SLIGHT || time < shortest / SLIGHT)
      .toSorted((a, b) => b.time - a.time);
    if (worst === undefined) return [];
    const isLong = worst.time > longest;
    const limit = isLong ? longest : shortest;
    const inTime = (value: number): string => formatBriefly(Number(value.toPrecision(3)), 'time');
    return [
      {
        rule: timeOutOfRange.name,
        severity: 'caution',
        message:
          `${drivers(net)} asks ${module.name} for ${inTime(worst.time)} at ${inVolts(worst.at)}, and it goes no ` +
          `${isLong ? 'higher' : 'lower'} than ${inTime(limit)}${within(heard)}: beyond, the volts do nothing.`,
        fix: isLong
          ? `Set the time of ${module.name} longer, or turn the volts at ${input} down.`
          : `Turn the volts at ${input} down, or set the time of ${module.name} longer.`,
        place: placeAtJack(net, jack, context.patch),
        jack,
        figures: { askedSeconds: worst.time, limitSeconds: limit, volts: worst.at },
      },
    ];
  });
}
