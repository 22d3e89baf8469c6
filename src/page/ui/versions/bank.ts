/** Kept versions of the patch: how they are made equally loud, and what is left when one is subtracted from another. */

import { FIGURES } from '../../../compare/figures.ts';
import { differenceDb } from '../../../measure/difference.ts';
import { equalLoudness, type Loud } from '../../../measure/loudness/equal-loudness.ts';
import type { PatchTexts } from '../../../patch/texts.ts';
import { soundOf, type Trial } from '../../pieces/blind.ts';
import type { LoopLoudness, MoveView, PatchView, VersionFigures } from '../../protocol.ts';
import type { AssembledLoop } from '../strip/assembly.ts';

export interface Version {
  readonly id: number;
  readonly name: string;
  readonly files: PatchTexts;
  readonly view: PatchView | undefined;
  /** Its sound, once rendered to the end. */
  readonly loop: AssembledLoop | undefined;
  /** Its comparison with the first version, once that is worked out. */
  readonly told?: VersionTold;
  /** Its measures, once they are taken. */
  readonly figures?: VersionFigures;
}

export interface VersionTold {
  /** Id of the version that it is compared with. */
  readonly beside: number;
  /** The moves that make that version into this one; undefined where one of them is not a valid patch. */
  readonly moves: readonly MoveView[] | undefined;
}

/** The most versions: those that the number keys reach. */
export const MOST_VERSIONS = 9;

/** A name that no version has: the row's number, or the next that is free. */
export function freeName(versions: readonly Version[]): string {
  const taken = new Set(versions.map(({ name }) => name));
  let number = versions.length + 1;
  while (taken.has(`version ${number}`)) number += 1;
  return `version ${number}`;
}

/**
 * Finds by how much a sound is turned down so that it is no louder than the quietest kept version: the
 * gains of `compare`, at which none is turned up.
 * @returns dB, never above 0; silence is left alone, and what is not rendered.
 */
export function equalGain(loop: LoopLoudness | undefined, versions: readonly Version[]): number {
  const sounds = [loop, ...versions.map((version) => version.loop)].map(loudOf);
  return equalLoudness(sounds, 0).gainsDb[0] as number;
}

/** The peak does not count, since the sound is only turned down. */
function loudOf({ loudnessLufs = -Infinity, loudnessSteps = [] }: LoopLoudness = {}): Loud {
  return Number.isFinite(loudnessLufs)
    ? { loudnessLufs, truePeakDbtp: 0, loudnessSteps }
    : { loudnessLufs: null, truePeakDbtp: null };
}

/**
 * What is left of a version when the first, made as loud, is subtracted, as in `compare --pairs`.
 * @returns dB, null where nothing is left; undefined while one of the two is not rendered.
 */
export function leftOf(first: Version, other: Version): number | null | undefined {
  if (first.loop?.loudnessLufs === undefined || other.loop?.loudnessLufs === undefined)
    return undefined;
  const known = lefts.get(other.loop);
  if (known?.beside === first.loop) return known.db;
  const both = [first, other];
  const gain = (one: Version): number => 10 ** (equalGain(one.loop, both) / 20);
  const db = differenceDb(first.loop.channels, other.loop.channels, gain(other) / gain(first));
  lefts.set(other.loop, { beside: first.loop, db });
  return db;
}

/** Cached: a minute of sound takes some ms, and the page is drawn often. */
const lefts = new WeakMap<AssembledLoop, { beside: AssembledLoop; db: number | null }>();

/** The figures shown side by side; the loudness is in the version's own row. */
export const TOLD_FIGURES = FIGURES.filter(({ name }) => name !== 'loudness');

/** The sound that a blind test plays: one of two versions, as loud as the quieter of them. */
export function blindSound(
  trial: Trial | undefined,
  versions: readonly Version[],
): { readonly loop: AssembledLoop; readonly gainDb: number } | undefined {
  if (trial === undefined) return undefined;
  const pair = versions.filter(({ id }) => trial.pair.includes(id));
  const loop = pair.find(({ id }) => id === soundOf(trial, trial.heard))?.loop;
  return loop && { loop, gainDb: equalGain(loop, pair) };
}
