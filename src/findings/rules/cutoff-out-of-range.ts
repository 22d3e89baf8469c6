/** A control voltage that takes a cutoff further up than the filter can follow. */

import { USUAL_RATE } from '../../engine/usual-rate.ts';
import { exp2, log2 } from '../../modules/dsp/math.ts';
import { HIGHEST_CUTOFF } from '../../modules/filter.ts';
import { HIGHEST_LADDER_CUTOFF } from '../../modules/ladder.ts';
import { formatBriefly } from '../../patch/units.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { drivers, inVolts, placeAtJack } from '../words.ts';

/** By kind, the highest cutoff in use, Hz. The ladder runs at twice the sample rate. */
const HIGHEST: { readonly [kind: string]: number | undefined } = {
  filter: HIGHEST_CUTOFF * USUAL_RATE,
  ladder: HIGHEST_LADDER_CUTOFF * 2 * USUAL_RATE,
};
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

  find({ patch, netlist, levels }: Context): readonly Finding[] {
    return patch.modules.flatMap((module): Finding[] => {
      const highest = HIGHEST[module.definition.kind];
      const jack = { module: module.name, jack: 'control' };
      const net = netlist.at(jack);
      const driven = net && levels.get(net);
      if (highest === undefined || net === undefined || driven === undefined) return [];
      if (net.outputs.length === 0) return [];
      const { cutoff, 'control-amount': amount } = module.settings as {
        cutoff: number;
        'control-amount': number;
      };
      const volts = amount > 0 ? driven.high : driven.low;
      const top = cutoff * exp2(amount * volts);
      const octaves = log2(top / highest);
      if (octaves <= SLIGHT) return [];
      const inHertz = (value: number): string =>
        formatBriefly(Number(value.toPrecision(3)), 'frequency');
      return [
        {
          rule: cutoffOutOfRange.name,
          severity: 'note',
          message:
            `${drivers(net)} takes the cutoff of ${module.name} to ${inHertz(top)} at ${inVolts(volts)}, ` +
            `and it goes no higher than ${inHertz(highest)}: the last ${octaves.toFixed(1)} octaves of the sweep do nothing.`,
          fix: `Turn the control-amount of ${module.name} down to ${Math.max(0, Math.floor((100 * log2(highest / cutoff)) / Math.abs(volts)))} %.`,
          place:
            module.settingPlaces.get('control-amount') ??
            module.settingPlaces.get('cutoff') ??
            placeAtJack(net, jack, patch),
          jack,
          figures: { topHertz: top, highestHertz: highest, controlVolts: volts },
        },
      ];
    });
  },
};
