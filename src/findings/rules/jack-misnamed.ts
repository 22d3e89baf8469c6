/** A rack's facts for an output whose name in the patch differs by a slip of the hand. */

import type { PatchModule } from '../../patch/patch.ts';
import { ALL_INPUTS, ALL_OUTPUTS } from '../../patch/rack/jacks.ts';
import { jacksWith, type Unit } from '../../patch/rack/rack.ts';
import { nearest } from '../../patch/text/nearest.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { listed } from '../words.ts';

export const jackMisnamed: Rule = {
  name: 'jack-misnamed',
  headline: ['jack', 'is not what the rack names'],
  explanation: {
    what: 'The rack says what was measured at an output that the patch does not have, and the patch has one of nearly that name.',
    why:
      'Channels of a rhythm and rows of a sequencer are named by the patch, so a rack may speak of ' +
      'any: those of other patches are passed over. One that is misspelt is passed over too, and the ' +
      'patch is checked by what is usual instead of what was measured.',
    sum: 'None: names that differ by three letters at most, of an output for which the rack says nothing. Numbers at their ends tell names apart.',
    mend: 'Write the name in the rack as the patch has it, or that of the channel as the rack has it.',
  },

  find({ patch: { owned, modules } }: Context): readonly Finding[] {
    return (owned?.units ?? []).flatMap((unit) => {
      const played = modules.filter((module) => module.unit?.name === unit.name);
      return played.length === 0 ? [] : misnamed(unit, played);
    });
  },
};

function misnamed({ name, definition, fixed, jacks }: Unit, played: readonly PatchModule[]) {
  const usual = jacksWith(definition, fixed).map((jack) => jack.name);
  const own = new Set(
    played.flatMap((module) =>
      module.jacks.flatMap((one) => (one.direction === 'out' ? one.name : [])),
    ),
  );
  const known = new Set([...usual, ...own, ALL_INPUTS, ALL_OUTPUTS]);
  const unsaid = [...own].filter((one) => !jacks.has(one) && !usual.includes(one));
  return [...jacks].flatMap(([said, { place, values }]): Finding[] => {
    const meant = nearest(
      said,
      unsaid.filter((one) => bare(one) !== bare(said)),
    );
    if (known.has(said) || meant === undefined) return [];
    const module = played.find((one) => one.jacks.some((jack) => jack.name === meant));
    if (module === undefined) return [];
    return [
      {
        rule: jackMisnamed.name,
        severity: 'caution',
        message:
          `the rack says the ${listed(Object.keys(values))} of ${name}.${said}, and ${module.name} has no output ${said}: ` +
          `${module.name}.${meant} is checked and played as its kind usually is.`,
        fix: `Write ${meant} in the rack, if that is what was measured.`,
        place,
        jack: { module: module.name, jack: meant },
        figures: { named: said, nearest: meant },
      },
    ];
  });
}

/** Without its numbers: tom-1 is no slip of tom-2. */
function bare(name: string): string {
  return name.replace(/[0-9]+/g, '#');
}
