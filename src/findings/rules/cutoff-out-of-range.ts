/** A control voltage that takes a cutoff further up than the filter can follow. */

import { USUAL_RATE } from '../../engine/usual-rate.ts';
import type { Moved } from '../../modules/definition.ts';
import { exp2, log2 } from '../../modules/dsp/math.ts';
import type { PatchModule } from '../../patch/patch.ts';
import { formatBriefly } from '../../patch/units.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { foundAtVolts } from '../triggers/sound-corners.ts';
import { drivers, inVolts, placeAtJack } from '../words.ts';

/** Octaves too high that nobody notices: a semitone. */
const SLIGHT = 1 / 12;

export const cutoffOutOfRange: Rule = {
  name: 'cutoff-out-of-range',
  headline: ['module', 'goes beyond its range'],
  explanation: {
    what: 'The control voltage takes the cutoff above what the filter can hold, and it stops there.',
    why:
      'Each volt is an octave: an envelope of 5 V multiplies the cutoff by 32. From 1 kHz that is ' +
      '32 kHz, above hearing and above the highest cutoff. The top of the sweep does nothing, and the ' +
      'part that is heard is over in a moment.',
    sum: `cutoff x 2^(control-amount x V at control), against 0.45 of the sample rate, here ${USUAL_RATE / 1000} kHz.`,
    mend: 'Turn the control-amount or the control voltage down, or the cutoff.',
  },

  find(context: Context): readonly Finding[] {
    return context.patch.modules.flatMap((module) =>
      Object.entries(module.definition.settings).flatMap(([setting, spec]) => {
        const moved = 'moved' in spec ? spec.moved : undefined;
        if (moved?.highest === undefined) return [];
        const jack = { module: module.name, jack: moved.jack };
        return foundAtVolts(jack, 'wide', context, (_, here) =>
          tooHigh(module, setting, moved, here),
        );
      }),
    );
  },
};

function tooHigh(
  module: PatchModule,
  setting: string,
  { jack: input, amount: turn = '', highest: share = 0 }: Moved,
  { patch, netlist, levels }: Context,
): readonly Finding[] {
  const { name, settings, settingPlaces } = module;
  const jack = { module: name, jack: input };
  const net = netlist.at(jack);
  const driven = net && levels.get(net);
  if (net === undefined || driven === undefined || net.outputs.length === 0) return [];
  const cutoff = settings[setting] as number;
  const amount = settings[turn] as number;
  const highest = share * USUAL_RATE;
  const volts = amount > 0 ? driven.high : driven.low;
  const top = cutoff * exp2(amount * volts);
  const octaves = log2(top / highest);
  if (octaves <= SLIGHT) return [];
  const inHertz = (value: number): string => formatBriefly(value, 'frequency', 3);
  return [
    {
      rule: cutoffOutOfRange.name,
      severity: 'note',
      message:
        `${drivers(net)} takes the ${setting} of ${name} to ${inHertz(top)} at ${inVolts(volts)}, ` +
        `and it goes no higher than ${inHertz(highest)}: the last ${octaves.toFixed(1)} octaves of the sweep do nothing.`,
      fix: `Turn the ${turn} of ${name} down to ${Math.max(0, Math.floor((100 * log2(highest / cutoff)) / Math.abs(volts)))} %.`,
      place: settingPlaces.get(turn) ?? settingPlaces.get(setting) ?? placeAtJack(net, jack, patch),
      jack,
      figures: { topHertz: top, highestHertz: highest, controlVolts: volts },
    },
  ];
}
