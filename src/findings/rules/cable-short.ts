/** More cables than the rack has. */

import { pluggedJacks } from '../../patch/rack/assign.ts';
import { counted } from '../../patch/text/counted.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { listed } from '../words.ts';

export const cableShort: Rule = {
  name: 'cable-short',
  explanation: {
    what: 'The patch has more cables than the rack.',
    why: 'They are counted; how long they must be, only the cabinet tells.',
    sum: 'Cables of the patch - cables of the rack.',
    mend: 'Take out what is not heard, plug a multiple with two plugs past it, or get more.',
  },

  find({ patch }: Context): readonly Finding[] {
    const { owned, cables } = patch;
    if (owned?.cables === undefined || cables.length <= owned.cables) return [];
    const short = cables.length - owned.cables;
    const plugs = pluggedJacks(cables);
    const lengtheners = patch.modules.filter(
      ({ name, definition }) => definition.role === 'passive' && plugs.get(name)?.size === 2,
    );
    const place = cables[owned.cables]?.place ?? {
      file: patch.file,
      line: 1,
      column: 1,
      length: 1,
    };
    return [
      {
        rule: cableShort.name,
        severity: 'fault',
        message: `the patch has ${counted(cables.length, 'cable')} and the rack ${owned.cables}: this one and all after it, ${short} in all, are missing.`,
        fix:
          lengtheners.length > 0
            ? `Plug past ${listed(lengtheners.map(({ name }) => name))}, which only lengthen${lengtheners.length === 1 ? 's' : ''} a cable, and ${lengtheners.length === 1 ? 'one is' : `${lengtheners.length} are`} free.`
            : `Do without a part of the patch, or get ${short} more.`,
        place,
        figures: { needed: cables.length, owned: owned.cables, short },
      },
    ];
  },
};
