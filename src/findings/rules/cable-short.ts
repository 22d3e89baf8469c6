/** More cables than the rack has. */

import { counted } from '../../patch/text/counted.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { carriedOut } from '../plan/planned-edits.ts';
import { CABLES } from '../plan/shortage.ts';
import { saidWays, waysOut } from '../plan/ways-out.ts';

export const cableShort: Rule = {
  name: 'cable-short',
  headline: ['patch', 'the rack has too few cables'],
  explanation: {
    what: 'The patch has more cables than the rack.',
    why: 'They are counted; how long they must be, only the cabinet tells.',
    sum: 'Cables of the patch - cables of the rack.',
    mend: 'Take out what is not heard, plug a multiple with two plugs past it, or get more.',
  },

  find(context: Context): readonly Finding[] {
    const { patch } = context;
    const { owned, cables } = patch;
    if (owned?.cables === undefined || cables.length <= owned.cables) return [];
    const short = cables.length - owned.cables;
    const place = cables[owned.cables]?.place ?? {
      file: patch.file,
      line: 1,
      column: 1,
      length: 1,
    };
    const ways = waysOut(CABLES, context);
    return [
      {
        rule: cableShort.name,
        severity: 'fault',
        message: `the patch has ${counted(cables.length, 'cable')} and the rack ${owned.cables}: this one and all after it, ${short} in all, are missing.`,
        fix: [
          ...saidWays(ways, context),
          `${ways.length > 0 ? 'Or get' : 'Do without a part of the patch, or get'} ${short} more.`,
        ].join(' '),
        ways,
        place,
        figures: {
          neededCables: cables.length,
          ownedCables: owned.cables,
          shortCables: short,
        },
      },
    ];
  },

  /** What costs nothing that is heard is done; what costs something is told. */
  mend: carriedOut,
};
