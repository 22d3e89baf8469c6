/** The lanes of a score: which jacks and modules get one, and what is marked on it. */

import type { TriggerJack } from '../../engine/control-path.ts';
import { isFollower } from '../../engine/followers.ts';
import type { Happening } from '../../engine/happening.ts';
import type { Phase } from '../../engine/phases.ts';
import { jackName, type Patch, type PatchModule } from '../../patch/patch.ts';
import { rhythmSettings } from '../../timing/rhythm.ts';
import type { GateMark, Lane } from './time-score.ts';

/** What happened, by `module.jack`. */
export type ByJack = ReadonlyMap<string, readonly Happening[]>;

/** Gives the lanes: the rhythm's first, then those of what follows it, then what these play. */
export function lanesOf(
  patch: Patch,
  triggers: readonly TriggerJack[],
  byJack: ByJack,
  curves: ReadonlyMap<string, readonly number[]>,
  seconds: number,
): Lane[] {
  const plugged = new Set(patch.cables.map(({ from }) => jackName(from)));
  const followed = new Set(triggers.flatMap(({ drivers }) => drivers.map(({ module }) => module)));
  const driverOf = ({ drivers }: TriggerJack): string => drivers.map(jackName).join();
  const shown = new Set(
    triggers
      .filter(({ module }) => module.definition.course !== undefined || isFollower(module))
      .map(driverOf),
  );
  const happened = (jack: string): readonly Happening[] => byJack.get(jack) ?? [];
  const order = patch.modules.toSorted((a, b) => rank(a) - rank(b));
  return order.flatMap((module): Lane[] => {
    const { name, definition } = module;
    const inputs = triggers.filter((trigger) => trigger.module === module);
    const gate = (jack: string): Lane => ({
      type: 'gate',
      name: `${name}.${jack}`,
      marks: gateMarks(happened(`${name}.${jack}`), seconds),
    });
    if (definition.role === 'score') {
      const { channels } = rhythmSettings(module.settings);
      return [
        ...channels.map(({ name: channel }): Lane => {
          const own = happened(`${name}.${channel}`);
          const accents = happened(`${name}.${channel}-accent`);
          const marks = withAccents(gateMarks(own, seconds), accents);
          return { type: 'gate', name: `${name}.${channel}`, marks };
        }),
        gate('clock'),
        ...['run', 'start'].filter((jack) => plugged.has(`${name}.${jack}`)).map(gate),
      ];
    }
    if (isFollower(module)) {
      const steps = happened(`${name}.clock`).flatMap(({ edge, time, position }) =>
        edge === 'step' && position !== undefined ? [{ start: time, position }] : [],
      );
      const resets = inputs.some(({ jack }) => jack.name === 'reset') ? [gate('reset')] : [];
      return inputs.length === 0
        ? []
        : [...resets, { type: 'steps', name: `${name} step`, marks: steps }];
    }
    const course = definition.course?.(module.settings);
    if (course !== undefined) {
      if (inputs.length === 0) return [];
      const marks = happened(`${name}.out`).map(({ time, edge }) => ({
        start: time,
        phase: edge as Phase,
      }));
      const { peak } = course;
      return [{ type: 'phases', name, marks, peak, curve: curves.get(name) ?? [] }];
    }
    // Of the other modules, those whose effect no other lane shows: not one that drives a module with a lane,
    // nor one that fires together with it.
    if (followed.has(name)) return [];
    return inputs.filter((input) => !shown.has(driverOf(input))).map(({ jack }) => gate(jack.name));
  });
}

/** The rhythm first, then what follows it, then what these play. */
function rank(module: PatchModule): number {
  if (module.definition.role === 'score') return 0;
  return isFollower(module) ? 1 : 2;
}

/** Pairs what rises with what falls; what is high at the end lasts to it. */
function gateMarks(happenings: readonly Happening[], seconds: number): GateMark[] {
  const marks: GateMark[] = [];
  for (const { edge, time, cause } of happenings) {
    const last = marks.at(-1);
    if (edge === 'rise' || edge === 'on')
      marks.push({ start: time, end: seconds, accent: false, cause });
    else if ((edge === 'fall' || edge === 'off') && last !== undefined) last.end = time;
  }
  return marks;
}

/** Marks the strokes at which the channel's accent is up. */
function withAccents(marks: GateMark[], accents: readonly Happening[]): GateMark[] {
  let next = 0;
  let volts = 0;
  for (const mark of marks) {
    for (; next < accents.length && (accents[next] as Happening).time <= mark.start; next++)
      volts = (accents[next] as Happening).volts;
    mark.accent = volts > 0 && mark.cause !== 'grace' && mark.cause !== 'ghost';
  }
  return marks;
}
