/**
 * What to measure before a patch is trusted, the least certain first. The certainty of a trigger input is how
 * far everything may be off until it no longer fires, or no longer lets go; that of a time, how far until the
 * pulse is too short or the edge too slow.
 */

import type { NetLevels } from '../electrical/levels.ts';
import { type Prepared, prepared } from '../engine/prepared.ts';
import { jackName, type Patch } from '../patch/patch.ts';
import {
  areVoltsFine,
  FARTHEST,
  holdsUntil,
  type SurveyPoint,
  type VoltsPoint,
} from './survey-point.ts';
import { timesOf } from './survey-times.ts';

/**
 * Lists the volts at the trigger inputs that something drives, and the times there that fail before these do, the
 * least certain first; those alike in the order of the file. Empty if nothing drives one.
 * @param of a checked patch, with its rack's facts in its jacks if it has one.
 */
export function surveyOf(of: Patch | Prepared): readonly SurveyPoint[] {
  const all = prepared(of);
  const volts = pointsOf(all.levels).map(
    (point): VoltsPoint => ({
      ...point,
      holds: holdsUntil((step) => areVoltsFine(all, point.jack, step), 0),
    }),
  );
  return [...volts, ...timesOf(all, volts)].sort(
    (a, b) => (a.holds ?? FARTHEST) - (b.holds ?? FARTHEST),
  );
}

function pointsOf(levels: readonly NetLevels[]): readonly Omit<VoltsPoint, 'holds'>[] {
  return levels.flatMap(({ net, rest, inputs }) =>
    inputs.flatMap(({ terminal, trigger }) =>
      trigger === undefined
        ? []
        : [
            {
              measure: 'volts',
              jack: jackName({ module: terminal.module.name, jack: terminal.jack.name }),
              drivers: net.outputs.map(({ module, jack }) =>
                jackName({ module: module.name, jack: jack.name }),
              ),
              type: trigger.type,
              idle: rest,
              driven: trigger.driven,
              on: trigger.on,
              off: trigger.off,
            },
          ],
    ),
  );
}
