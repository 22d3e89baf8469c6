/** A control voltage above an amplifier's unity. */

import { dbOfGain } from '../../modules/dsp/math.ts';
import { type JackRef, jackName } from '../../patch/patch.ts';
import { drivenAmplifiers, gainAt, inDb, orUnity, reachedVolts, unityText } from '../amplifiers.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { foundAtVolts } from '../triggers/sound-corners.ts';
import { drivers, inVolts, placeAtJack, wire } from '../words.ts';

/** dB above the input that nobody hears. Source: common practice, no source. */
const SLIGHT = 0.5;

export const amplifierOverdriven: Rule = {
  name: 'amplifier-overdriven',
  headline: ['module', 'is overdriven'],
  explanation: {
    what: 'The control voltage goes above unity, so the amplifier makes its input louder.',
    why:
      'At unity volts it is as loud as its input; above, louder, up to max-gain. Beyond max-gain more ' +
      'volts change nothing: the top of an envelope is cut flat there, and its first decay is not heard.',
    sum: 'linear: 20 log10(V / unity) dB. exponential: range (V / unity - 1) dB. Never above max-gain.',
    mend: 'Lower the envelope’s peak, turn it down on its way, or raise the amplifier’s unity.',
  },

  find(context: Context): readonly Finding[] {
    return drivenAmplifiers(context).flatMap(({ control }) =>
      foundAtVolts(control, 'wide', context, overdriven),
    );
  },
};

function overdriven(of: JackRef, context: Context): readonly Finding[] {
  const amplifiers = drivenAmplifiers(context, of.module).filter(({ module, levels }) =>
    isLoud(gainAt(module, levels.high).law),
  );
  return amplifiers.flatMap((driven): Finding[] => {
    const { module, control, net, levels } = driven;
    const heard =
      reachedVolts(driven, context) ?? context.rehearsal()?.volts.get(jackName(control))?.high;
    const volts = Math.min(levels.high, heard ?? levels.high);
    const { law, gain, unity } = gainAt(module, volts);
    if (!isLoud(law)) return [];
    const flat = dbOfGain(law / gain) > SLIGHT;
    return [
      {
        rule: amplifierOverdriven.name,
        severity: 'note',
        message:
          `${module.name} gets ${inVolts(volts)} from ${drivers(net)}, above its unity of ${unityText(module, unity)}: ` +
          (flat
            ? `its law asks for ${inDb(law)}, and it stops at its max-gain of ${inDb(gain)}, so the top is cut flat.`
            : `its output is ${inDb(gain)} louder than its input.`),
        fix: `Turn ${drivers(net)} down to ${unityText(module, unity)}${orUnity('raise', module)}.`,
        place: placeAtJack(net, control, context.patch),
        jack: control,
        cause: wire(net),
        figures: {
          highVolts: volts,
          unityVolts: unity,
          lawDb: dbOfGain(law),
          gainDb: dbOfGain(gain),
        },
      },
    ];
  });
}

function isLoud(gain: number): boolean {
  return gain > 0 && dbOfGain(gain) > SLIGHT;
}
