/** Steady volts on the output. */

import type { Context, Finding, Rule } from '../finding.ts';
import type { HeardChannel } from '../rehearsal.ts';
import { within } from '../spoken.ts';
import { foundOrAt } from '../triggers/at-worst.ts';
import { cornersOfVolts, outputJacks } from '../triggers/sound-corners.ts';
import { drivers, inVolts, placeAtJack, wire } from '../words.ts';

/** V; a hundredth of full scale. */
const ENOUGH = 0.1;
/** Standard errors of the mean that noise, which wanders, will not be from 0. */
const SURE = 5;
/** s that must have been heard: in less, a low note is not a whole number of waves. */
const LONG_ENOUGH = 1;

export const dcOnOutput: Rule = {
  name: 'dc-on-output',
  headline: ['jack', 'has steady volts on it'],
  explanation: {
    what: 'The output has steady volts on it, which is no sound.',
    why:
      'An offset, an envelope or a lopsided wave leaves volts that never change. They push a ' +
      'loudspeaker’s cone to one side and warm its coil, eat headroom, and click at every cut.',
    sum: 'The mean of the output over the song, and how much the means of sixteen parts of it differ.',
    mend: 'Take the offset away, or put a filter’s high output in front, set to 20 Hz.',
  },

  find(context: Context): readonly Finding[] {
    // Steady volts go up with levels that go up, however far these are apart.
    const jacks = outputJacks(context.patch);
    return foundOrAt(
      context,
      () => (['up', 'down'] as const).flatMap((way) => cornersOfVolts(jacks, way, context)),
      steady,
    );
  },
};

function steady({ patch, netlist, rehearsal }: Context): readonly Finding[] {
  const heard = rehearsal();
  const output = patch.modules.find(({ definition }) => definition.role === 'output');
  if (heard === undefined || output === undefined || heard.seconds < LONG_ENOUGH) return [];
  return heard.channels.flatMap((channel, index): Finding[] => {
    const jack = { module: output.name, jack: index === 0 ? 'left' : 'right' };
    const net = netlist.at(jack);
    const { mean, error } = steadyPart(channel);
    const volts = mean * (output.settings['full-scale'] as number);
    if (net === undefined || Math.abs(volts) < ENOUGH || Math.abs(mean) < SURE * error) return [];
    return [
      {
        rule: dcOnOutput.name,
        severity: 'caution',
        message: `${output.name}.${jack.jack} has ${inVolts(volts)} on it all the time, averaged${heard.complete ? ' over the song' : within(heard)}.`,
        fix: `Look for an offset in front of ${drivers(net)}, or put a filter there: high, 20 Hz.`,
        place: placeAtJack(net, jack, patch),
        jack,
        cause: wire(net),
        figures: { meanVolts: volts, heardSeconds: heard.seconds },
      },
    ];
  });
}

/** The mean, and its standard error: the deviation of the parts' means over the root of their number. */
function steadyPart({ means }: HeardChannel): { readonly mean: number; readonly error: number } {
  const count = means.length;
  const mean = means.reduce((sum, one) => sum + one, 0) / count;
  const squares = means.reduce((sum, one) => sum + (one - mean) * (one - mean), 0);
  return { mean, error: Math.sqrt(squares / (count - 1) / count) };
}
