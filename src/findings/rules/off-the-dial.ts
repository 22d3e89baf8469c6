/** A setting that the patch asks for and the knob in the rack cannot be turned to. */

import type { Quantity } from '../../modules/definition.ts';
import { type DialTable, positionOf } from '../../patch/rack/dial.ts';
import { formatBriefly, isInRatios } from '../../patch/units.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { pastTheEnd, rangeOf, unitOf } from '../mend/off-the-dial.ts';
import { onDial } from '../mend/set-to.ts';

/** By so small a share of the value, or of all that a linear dial covers, nobody hears that it stops short. */
const SLIGHT = 0.05;
/** s; nor that a time is longer or shorter by so little: common practice, no source. */
const SLIGHT_SECONDS = 0.001;
/** What the name of a figure ends in. */
const UNIT_NAMES: Readonly<Record<Quantity, string>> = {
  time: 'Seconds',
  frequency: 'Hertz',
  voltage: 'Volts',
  percent: 'Share',
  decibel: 'Db',
  tempo: 'Bpm',
  interval: 'Semitones',
  resistance: 'Ohms',
  number: 'Number',
  count: 'Count',
};

export const offTheDial: Rule = {
  name: 'off-the-dial',
  headline: ['patch', 'a dial does not go that far'],
  explanation: {
    what: 'The patch asks for a value that lies outside all that the rack has measured on the dial of its module.',
    why:
      'A knob ends where its maker let it end. The patch is rendered with the value that it asks for, so the ' +
      'cabinet will sound different, and the sheet has no position to print.',
    sum: 'The value against the lowest and the highest of the dial in the rack; told from 5 % and, of a time, from 1 ms beyond.',
    mend:
      'Set the value to the end of the dial and hear whether that is enough, take another module for it, or ' +
      'measure the dial further if it turns further.',
  },

  find({ patch }: Context): readonly Finding[] {
    return patch.modules.flatMap((module) => {
      const unit = unitOf(module, patch);
      return [...(unit?.dials ?? [])].flatMap(([setting, table]): Finding[] => {
        const value = module.settings[setting];
        const place = module.settingPlaces.get(setting);
        // A value that nobody asked for is not missed.
        if (unit === undefined || place === undefined || typeof value !== 'number') return [];
        const end = endFor(table, value);
        if (end === undefined) return [];
        const most = formatBriefly(end, table.quantity);
        return [
          {
            rule: offTheDial.name,
            severity: 'caution',
            message: `${pastTheEnd(module, setting, unit, value)}: the cabinet will not sound like the render.`,
            fix: `Set ${setting} of ${module.name} to ${most}${onDial(module, setting, end, patch)}, or take another module for it.`,
            place,
            figures: {
              module: module.name,
              setting,
              [`wanted${UNIT_NAMES[table.quantity]}`]: value,
              [`end${UNIT_NAMES[table.quantity]}`]: end,
            },
          },
        ];
      });
    });
  },
};

/** The end of a dial that a value lies beyond, so far that it is heard. */
function endFor(table: DialTable, value: number): number | undefined {
  if (positionOf(table, value) !== undefined) return undefined;
  const { low, high } = rangeOf(table);
  const end = value > high ? high : low;
  const far = Math.abs(value - end);
  const whole = isInRatios(table.quantity) ? Math.max(Math.abs(value), Math.abs(end)) : high - low;
  const isSlight = far <= SLIGHT * whole || (table.quantity === 'time' && far <= SLIGHT_SECONDS);
  return isSlight ? undefined : end;
}
