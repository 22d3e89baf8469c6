/** Kept versions of the patch: what differs between them, and how they are made equally loud. */

import { smallest } from '../../../modules/dsp/extremes.ts';
import type { PatchTexts } from '../../../patch/texts.ts';
import type { PatchView } from '../../protocol.ts';
import type { AssembledLoop } from '../strip/assembly.ts';

export interface Version {
  readonly id: number;
  readonly name: string;
  readonly files: PatchTexts;
  readonly view: PatchView | undefined;
  /** What it sounds like, once rendered to the end. */
  readonly loop: AssembledLoop | undefined;
}

/** Versions that the number keys reach. */
export const MOST_VERSIONS = 9;

/** What another version has that differs, in words. Both have been read without a problem. */
export function differences(first: PatchView, other: PatchView): readonly string[] {
  const settings = new Map(
    first.modules.flatMap(({ name, settings: all }) =>
      all.map(({ name: setting, text }): [string, string] => [`${name}.${setting}`, text]),
    ),
  );
  const steps = new Map(linesOf(first));
  const moved = other.modules.flatMap(({ name, settings: all }) =>
    all.flatMap(({ name: setting, text }) => {
      const place = `${name}.${setting}`;
      const before = settings.get(place);
      if (before === undefined) return [`${place} ${text} (new)`];
      return before === text ? [] : [`${place} ${text} (first ${before})`];
    }),
  );
  const played = linesOf(other).flatMap(([place, line]) =>
    steps.get(place) === line ? [] : [`${place} ${line}`],
  );
  return [...moved, ...played];
}

function linesOf({ rhythms }: PatchView): readonly [string, string][] {
  return rhythms.flatMap(({ patterns }) =>
    patterns.flatMap(({ name, channels }) =>
      channels.map(({ name: channel, steps }) => [`${name} ${channel}`, steps] as [string, string]),
    ),
  );
}

/**
 * Finds by how much a sound is turned down so that it is no louder than the quietest kept version.
 * @param loudness of the sound, LUFS. @returns dB, never above 0; silence is left alone.
 */
export function equalGain(loudness: number | undefined, versions: readonly Version[]): number {
  const all = versions
    .map(({ loop }) => loop?.loudnessLufs)
    .filter((one) => one !== undefined && Number.isFinite(one));
  if (loudness === undefined || !Number.isFinite(loudness) || all.length === 0) return 0;
  return Math.min(0, smallest(all as number[]) - loudness);
}
