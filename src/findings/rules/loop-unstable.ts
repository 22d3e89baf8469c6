/** Feedback that grows until it hits the supply rails, and stays there. */

import { jackName } from '../../patch/patch.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { loopJacks } from '../loops.ts';
import { within } from '../spoken.ts';
import { foundOrAt } from '../triggers/at-worst.ts';
import { cornersOfVolts } from '../triggers/sound-corners.ts';
import { inPercent, inVolts, listed } from '../words.ts';

/** Share of the second half of the rehearsal that is spent at the rails. A loud hit spends less there. */
const OFTEN = 0.1;

export const loopUnstable: Rule = {
  name: 'loop-unstable',
  headline: ['jack', 'grows to the supply rail'],
  explanation: {
    what: 'What comes back round the loop is louder than what went in, and it grows to the supply rails.',
    why:
      'A cable back to an earlier module makes a loop. With a gain under 1 all round it colours the ' +
      'sound; above 1 every turn is louder than the last, until the modules can give no more. Then ' +
      'there is one loud buzz, or steady volts, whatever is played.',
    sum: 'From the render: how long the loop’s outputs are within 1 % of what they give at the 12 V rails.',
    mend: 'Turn down the level at which the signal goes back, with an attenuator or a mixer in the loop.',
  },

  find(context: Context): readonly Finding[] {
    const all = loopJacks(context.patch, context.netlist).map(({ jack }) => jack);
    return all.length === 0
      ? []
      : foundOrAt(context, () => cornersOfVolts(all, 'wide', context), grown);
  },
};

function grown({ patch, netlist, rehearsal }: Context): readonly Finding[] {
  const all = loopJacks(patch, netlist);
  const heard = rehearsal();
  if (heard === undefined) return [];
  return [...new Set(all.map(({ loop }) => loop))].flatMap((loop): Finding[] => {
    const worst = all
      .filter((one) => one.loop === loop)
      .map(({ jack, cables }) => ({ jack, cables, at: heard.volts.get(jackName(jack)) }))
      .toSorted((a, b) => (b.at?.atLimit ?? 0) - (a.at?.atLimit ?? 0))[0];
    if (worst?.at === undefined || worst.at.atLimit < OFTEN) return [];
    const { jack, at, cables } = worst;
    const names = loop.map(({ name }) => name);
    const size = Math.max(-at.low, at.high);
    return [
      {
        rule: loopUnstable.name,
        severity: 'caution',
        message:
          `the loop of ${listed(names)} grows until ${jackName(jack)} is at ${inVolts(size)}, the supply rail, for ` +
          `${inPercent(at.atLimit)} of the second half of what was heard${within(heard)}.`,
        fix: 'Turn down the level at which the signal goes back round.',
        place: cables.find(({ from }) => from.module === jack.module)?.place ??
          loop[0]?.place ?? { file: patch.file, line: 1, column: 1, length: 1 },
        jack,
        figures: { railVolts: size, atRailShare: at.atLimit, heardSeconds: heard.seconds },
      },
    ];
  });
}
