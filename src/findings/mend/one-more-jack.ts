/** A jack for one more plug in what joins its jacks: a free one, or one that it has when it grows. */

import { type Cable, jackName, type PatchModule } from '../../patch/patch.ts';

export interface FreeJack {
  readonly jack: string;
  /** What must be set for it. */
  readonly grown?: { readonly setting: string; readonly count: number };
}

/** Finds it. @returns undefined if all jacks have plugs, and there can be no more of them. */
export function oneMoreJack(
  { name, jacks, settings, definition }: PatchModule,
  cables: readonly Cable[],
): FreeJack | undefined {
  const used = new Set(cables.flatMap(({ from, to }) => [jackName(from), jackName(to)]));
  const free = jacks.find((jack) => !used.has(`${name}.${jack.name}`));
  if (free !== undefined) return { jack: free.name };
  const { grows: setting } = definition;
  const spec = setting === undefined ? undefined : definition.settings[setting];
  if (setting === undefined || spec?.type !== 'count') return undefined;
  const count = (settings[setting] as number) + 1;
  const last = definition.jacks({ ...settings, [setting]: count }).at(-1);
  if (count > spec.max || last === undefined) return undefined;
  return { jack: last.name, grown: { setting, count } };
}
