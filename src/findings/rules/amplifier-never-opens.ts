/** An amplifier, or a low-pass gate, whose control voltage never gets high enough for anything to be heard. */

import { dbOfGain } from '../../modules/dsp/math.ts';
import type { JackRef } from '../../patch/patch.ts';
import { drivenOpenings, gainAt, inDb, orUnity, reachedVolts, unityText } from '../amplifiers.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { foundAtVolts } from '../triggers/sound-corners.ts';
import { drivers, inVolts, placeAtJack, wire } from '../words.ts';

/** dB; what is softer than this under the input is not a voice. Source: common practice, no source. */
const SILENT = -40;

export const amplifierNeverOpens: Rule = {
  name: 'amplifier-never-opens',
  headline: ['module', 'hardly opens'],
  explanation: {
    what: 'The control voltage never rises far enough for the amplifier to let anything through.',
    why:
      'An amplifier is as loud as its input at unity volts, and shut at and below 0 V. An envelope ' +
      'with a low peak, turned down on its way or turned upside down, or one whose attack never gets ' +
      'far, leaves it nearly shut. An exponential one is half its range down at half of unity: 40 dB. ' +
      'A low-pass gate opens to anything above 0 V, and to nothing at or below.',
    sum:
      'linear: gain = V / unity. exponential: gain = range (V / unity - 1) dB, bent to silence near 0 V. ' +
      'low-pass gate: gain^2 + 0.05 gain = 1.05 V / unity.',
    mend: 'Raise the envelope’s peak or the level on its way, or lower the amplifier’s unity.',
  },

  find(context: Context): readonly Finding[] {
    return drivenOpenings(context).flatMap(({ control }) =>
      foundAtVolts(control, 'narrow', context, hardlyOpened),
    );
  },
};

function hardlyOpened(of: JackRef, context: Context): readonly Finding[] {
  return drivenOpenings(context, of.module).flatMap((driven): Finding[] => {
    const { module, control, net, levels } = driven;
    const volts = Math.min(levels.high, reachedVolts(driven, context) ?? levels.high);
    const { gain, unity } = gainAt(module, volts);
    if (gain > 0 && dbOfGain(gain) > SILENT) return [];
    const how = gain === 0 ? 'and stays shut' : `and is never above ${inDb(gain)}`;
    return [
      {
        rule: amplifierNeverOpens.name,
        severity: 'fault',
        message:
          `${module.name} gets ${inVolts(volts)} at most from ${drivers(net)}, against ` +
          `${unityText(module, unity)} for unity, ${how}.`,
        fix: `Let ${drivers(net)} rise to ${unityText(module, unity)}${orUnity('lower', module)}.`,
        place: placeAtJack(net, control, context.patch),
        jack: control,
        cause: wire(net),
        figures: {
          highVolts: volts,
          unityVolts: unity,
          gainDb: gain === 0 ? 'shut' : dbOfGain(gain),
        },
      },
    ];
  });
}
