/** An output above full scale. */

import { fullScaleOf } from '../../engine/take.ts';
import { dbOfGain } from '../../modules/dsp/math.ts';
import { settingText } from '../../patch/setting-text.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { within } from '../spoken.ts';
import { foundOrAt } from '../triggers/at-worst.ts';
import { cornersOfVolts, outputJacks } from '../triggers/sound-corners.ts';
import { distinct, drivers, inVolts, placeAtJack } from '../words.ts';

export const clips: Rule = {
  name: 'clips',
  headline: ['jack', 'clips'],
  explanation: {
    what: 'The sum of all voices is louder than the file can hold, and its tops are cut off.',
    why:
      'Voices that are each well within their volts add up when they meet on one beat. A file has a ' +
      'highest number; a converter likewise. What is above it comes out flat, and sounds broken.',
    sum: 'Peak in dBFS = 20 log10(peak volts / full scale), from the render itself.',
    mend: 'Turn down the mixer in front of the output, or an attenuator, by a little more than the excess.',
  },

  find(context: Context): readonly Finding[] {
    return foundOrAt(
      context,
      () => cornersOfVolts(outputJacks(context.patch), 'wide', context),
      above,
    );
  },
};

/** What is above full scale in what is heard. */
function above({ patch, netlist, rehearsal }: Context): readonly Finding[] {
  const heard = rehearsal();
  const output = patch.modules.find(({ definition }) => definition.role === 'output');
  if (heard === undefined || output === undefined) return [];
  return heard.channels.flatMap(({ peak, peakAt, over, firstOver }, index): Finding[] => {
    const jack = { module: output.name, jack: index === 0 ? 'left' : 'right' };
    const net = netlist.at(jack);
    if (over === 0 || net === undefined) return [];
    const fullScale = fullScaleOf(patch);
    const excess = dbOfGain(peak);
    const [gets] = distinct(peak * fullScale, fullScale, inVolts);
    return [
      {
        rule: clips.name,
        severity: 'caution',
        message:
          `${output.name}.${jack.jack} gets ${gets} at ${peakAt.toFixed(3)} s, ` +
          `${excess < 0.05 ? 'a little' : `${excess.toFixed(1)} dB`} above full scale (${settingText(output, 'full-scale')}); ${over} ` +
          `${over === 1 ? 'sample is' : 'samples are'} cut off${within(heard)}, the first at ${firstOver.toFixed(3)} s.`,
        fix: `Turn ${drivers(net)} down by ${(Math.ceil(10 * excess + 1e-9) / 10 + 0.5).toFixed(1)} dB.`,
        place: placeAtJack(net, jack, patch),
        jack,
        cause: output.name,
        figures: {
          peakVolts: peak * fullScale,
          peakDbfs: excess,
          peakSeconds: peakAt,
          overSamples: over,
          firstSeconds: firstOver,
          heardSeconds: heard.seconds,
        },
      },
    ];
  });
}
