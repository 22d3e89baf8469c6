/**
 * What to measure before a patch is trusted, the least certain first. The certainty of a trigger input is how
 * far everything may be off until it no longer fires, or no longer lets go.
 */

import { type NetLevels, patchLevels } from '../electrical/levels.ts';
import { type Prepared, prepared } from '../engine/prepared.ts';
import { jackName, type Patch } from '../patch/patch.ts';
import { inPercent } from './words.ts';

/** One place to hold a probe to. Volts as computed, with every part as it should be. */
export interface SurveyPoint {
  /** The trigger input. */
  readonly jack: string;
  /** The outputs that drive it; several are joined there. */
  readonly drivers: readonly string[];
  readonly type: 'voltage' | 'switch';
  /** V, idle and when it should fire. */
  readonly idle: number;
  readonly driven: number;
  /** V at which it fires, and at which it is ready again. */
  readonly on: number;
  readonly off: number;
  /**
   * Share by which every resistance, level and threshold may be off before this fails at the worst corner:
   * 0 if it fails as it stands, undefined if it holds at {@link FARTHEST}.
   */
  readonly holds: number | undefined;
}

/** A share that no part is off by. */
export const FARTHEST = 0.5;
/** Steps of a share in which it is looked for. */
export const STEPS = 100;

/**
 * Lists the trigger inputs that something drives, the least certain first; those alike in the order of
 * the file. Empty if nothing drives one.
 * @param of a checked patch, with its rack's facts in its jacks if it has one.
 */
export function surveyOf(of: Patch | Prepared): readonly SurveyPoint[] {
  const { patch, nets, levels: nominal } = prepared(of);
  const points = pointsOf(nominal);
  const holds = new Map<string, number>();
  const open = new Set(points.map(({ jack }) => jack));
  for (let step = 0; step <= Math.round(FARTHEST * STEPS) && open.size > 0; step++) {
    const levels = step === 0 ? nominal : patchLevels(patch, step / STEPS, nets);
    for (const { inputs } of levels)
      for (const { terminal, trigger } of inputs) {
        const jack = jackName({ module: terminal.module.name, jack: terminal.jack.name });
        if (trigger === undefined || !open.has(jack)) continue;
        if (trigger.margin >= 0 && trigger.release >= 0) continue;
        holds.set(jack, Math.max(0, step - 1) / STEPS);
        open.delete(jack);
      }
  }
  return points
    .map((point) => ({ ...point, holds: holds.get(point.jack) }))
    .sort((a, b) => (a.holds ?? FARTHEST) - (b.holds ?? FARTHEST));
}

function pointsOf(levels: readonly NetLevels[]): readonly Omit<SurveyPoint, 'holds'>[] {
  return levels.flatMap(({ net, rest, inputs }) =>
    inputs.flatMap(({ terminal, trigger }) =>
      trigger === undefined
        ? []
        : [
            {
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

/** How far everything may be off, in words that follow "holds until". */
export function holdsText(holds: number | undefined): string {
  if (holds === undefined) return `over ${inPercent(FARTHEST)} off`;
  return holds === 0 ? 'fails as it is' : `${inPercent(holds)} off`;
}
