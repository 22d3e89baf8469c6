/** What counts clocks: step sequencers and dividers. */

import { StepCounter } from '../circuits/dsp/step-counter.ts';
import type { Row } from '../modules/definition.ts';
import type { PatchModule } from '../patch/patch.ts';

/** A counter of clocks. */
export interface Follower {
  /** Takes the edges of a sample; gives where it then stands, from 1, if it moved. */
  take(clock: boolean, reset: boolean): number | undefined;
}

/** Kinds that count the clocks they notice. */
export function isFollower(module: PatchModule): boolean {
  return followerLength(module) !== undefined;
}

/** Gives the clocks after which a follower starts again; undefined for what is no follower. */
export function followerLength({ definition, settings }: PatchModule): number | undefined {
  return definition.counts?.(settings);
}

/** A row of a sequencer: volts, or the gates that go with them. */
export interface SequencerRow {
  /** The row, or the setting that is one. */
  readonly name: string;
  readonly setting: string;
  readonly length: number;
}

/** The rows that a sequencer plays, a step a clock; none for a follower that plays no pitches, or no follower. */
export function sequencerRows({ definition, settings }: PatchModule): readonly SequencerRow[] {
  if (definition.counts === undefined) return [];
  const found = Object.entries(definition.settings).flatMap(([setting, spec]): SequencerRow[] => {
    if (spec.type === 'row')
      return [{ name: setting, setting, length: (settings[setting] as readonly number[]).length }];
    if (spec.type !== 'rows') return [];
    const rows = settings[setting] as readonly Row[];
    return rows.map(({ name, values }) => ({ name, setting, length: values.length }));
  });
  const plays = Object.values(definition.settings).some(
    (spec) =>
      (spec.type === 'row' && spec.unit === 'pitch') ||
      (spec.type === 'rows' && spec.row.unit === 'pitch'),
  );
  return plays ? found : [];
}

/** Gives a counter set as the module's; undefined for what is no follower. */
export function followerOf(module: PatchModule): Follower | undefined {
  const length = followerLength(module);
  if (length === undefined) return undefined;
  // A divider's first clock after a reset is number one, as an armed sequencer's is step 1.
  const { reset = 'armed' } = module.settings as { reset?: 'armed' | 'now' };
  const counter = new StepCounter(length, reset === 'now');
  return {
    take: (clock, resets) => (counter.take(clock, resets) ? counter.step + 1 : undefined),
  };
}
