/**
 * Compares variants of a patch: renders and measures each, brings them to one loudness, writes them,
 * and nulls them against one another if that is asked for. The result does not depend on how many
 * workers there are.
 *
 * The gain is known when all are measured. Until then the samples are kept in memory if there is
 * room for them; variants that are too long for that are played again.
 */

import { join } from 'node:path';
import { CEILING_DBTP, equalLoudness } from '../measure/loudness/equal-loudness.ts';
import { type Crew, runAll } from './crew.ts';
import type { Variant } from './grid.ts';
import { amplified, type VariantMeasures } from './measures.ts';
import type { Picture } from './picture.ts';
import type { Kept } from './played.ts';
import type {
  MeasuredVariant,
  Nulled,
  VariantPlay,
  Window,
  WriteTask,
  WrittenVariant,
} from './task.ts';

/** More variants would give too many pairs to read: this many give 2016. */
export const MOST_NULLED = 64;

export interface ComparisonRequest {
  readonly play: VariantPlay;
  readonly title: string;
  readonly variants: readonly Variant[];
  readonly folder: string;
  readonly pairs: boolean;
  /** Bytes that the samples of all variants together may take. */
  readonly memory: number;
  readonly onProgress: (done: number, total: number) => void;
  /** Once true, tasks that have begun are finished, and the rest left out. */
  readonly isStopped: () => boolean;
}

export interface Compared {
  readonly variant: Variant;
  readonly path: string;
  /** Gain of its clip, dB; 0 for a silent one. */
  readonly gainDb: number;
  /** Measures of the clip as written. */
  readonly measures: VariantMeasures;
  /** Before the gain, LUFS; null for silence. */
  readonly ownLufs: number | null;
  readonly picture: Picture;
  /** Sample rate of the clip, Hz. */
  readonly sampleRate: number;
  /** Where in the clip the pictures begin, s. */
  readonly from: number;
  readonly cut: boolean;
}

export interface Pair {
  /** Names of the two. */
  readonly a: string;
  readonly b: string;
  /** Level of their difference against their own; null if they are the same. */
  readonly differenceDb: number | null;
}

export interface Comparison {
  /** Those that were finished, in the order of the grid. */
  readonly variants: readonly Compared[];
  /** The loudness that all audible clips were brought to, LUFS; null if all are silent. */
  readonly targetLufs: number | null;
  readonly ceilingDbtp: number;
  /** Length of the stretch that the pictures show, s. */
  readonly length: number;
  readonly pairs?: readonly Pair[];
}

/** @throws what a task throws; clips that were finished by then stay. */
export async function compare(request: ComparisonRequest, crew: Crew): Promise<Comparison> {
  const { play, variants } = request;
  const control = controlOf(request, 2 * variants.length);
  const mostKept = request.memory / variants.length;
  const measured = await runAll(
    crew,
    variants,
    ({ heard }) => ({ type: 'measure' as const, play, heard, mostKept }),
    control,
  );
  return writtenAlike(request, soundsOf(variants, measured), crew, control);
}

/**
 * Compares variants that were played and measured before, on this machine or another.
 * @param sounds of all variants, in the order of the grid.
 * @throws as {@link compare} does.
 */
export function compareMeasured(
  request: ComparisonRequest,
  sounds: readonly VariantSound[],
  crew: Crew,
): Promise<Comparison> {
  return writtenAlike(request, sounds, crew, controlOf(request, sounds.length));
}

/** A variant, and what was measured of it. */
export interface VariantSound {
  readonly variant: Variant;
  readonly measured: MeasuredVariant;
}

/** Each variant with its measures; those that were left out are missing. */
export function soundsOf(
  variants: readonly Variant[],
  measured: readonly (MeasuredVariant | undefined)[],
): readonly VariantSound[] {
  return variants.flatMap((variant, index) => {
    const found = measured[index];
    return found === undefined ? [] : [{ variant, measured: found }];
  });
}

interface TaskControl {
  readonly isStopped: () => boolean;
  readonly onDone: () => void;
}

function controlOf(
  { variants, pairs, isStopped, onProgress }: ComparisonRequest,
  steps: number,
): TaskControl {
  const total = steps + (pairs ? variants.length - 1 : 0);
  let done = 0;
  return { isStopped, onDone: () => onProgress(++done, total) };
}

/** Writes the clips at one loudness. */
async function writtenAlike(
  request: ComparisonRequest,
  measured: readonly VariantSound[],
  crew: Crew,
  control: TaskControl,
): Promise<Comparison> {
  const { play, isStopped } = request;
  // A variant's samples are released when it is written.
  const keptOf = new Map<Variant, Kept>();
  const sounds = measured.map(({ variant, measured: { kept, ...rest } }) => {
    if (kept !== undefined) keptOf.set(variant, kept);
    return { variant, measured: rest };
  });
  const { targetLufs, gainsDb } = equalLoudness(
    sounds.map(({ measured: { measures, loudnessSteps } }) => ({ ...measures, loudnessSteps })),
  );
  const windowFor = windows(sounds);

  // If it was stopped while measuring, the measured variants are still written, which does not take long.
  const wasStopped = isStopped();
  const pictured = new Set(chosen(sounds, MOST_PICTURES));
  const taskOf = (sound: VariantSound, index: number): WriteTask => {
    const kept = keptOf.get(sound.variant);
    keptOf.delete(sound.variant);
    return {
      type: 'write',
      play,
      heard: sound.variant.heard,
      sampleRate: sound.measured.sampleRate,
      path: join(request.folder, sound.variant.file),
      title: `${request.title}: ${sound.variant.name}`,
      gainDb: gainsDb[index] as number,
      window: windowFor(sound),
      pictured: pictured.has(sound),
      ...(kept && { kept }),
    };
  };
  const written = await runAll(crew, sounds, taskOf, {
    ...control,
    isStopped: () => !wasStopped && isStopped(),
  });
  const finished = sounds.flatMap((sound, index) => {
    const result = written[index];
    if (result === undefined) return [];
    const clip = { ...result, gainDb: gainsDb[index] as number };
    return [comparedOf(sound, clip, { folder: request.folder, from: windowFor(sound).start })];
  });
  return {
    variants: finished,
    targetLufs,
    ceilingDbtp: CEILING_DBTP,
    length: sounds[0] === undefined ? 0 : windowFor(sounds[0]).length,
    ...(request.pairs && !isStopped() && { pairs: await nullPairs(finished, crew, control) }),
  };
}

/**
 * The stretch that the pictures show of each: the same for all variants of one patch, since they have
 * the same timing; of another patch or a recording a hit of its own, of the same length.
 */
function windows(sounds: readonly VariantSound[]): (sound: VariantSound) => Window {
  const first =
    sounds.find(({ measured: { measures } }) => measures.loudnessLufs !== null) ?? sounds[0];
  const firstOf = new Map<string | undefined, Window>();
  for (const sound of first === undefined ? sounds : [first, ...sounds]) {
    const { source } = sound.variant;
    if (!firstOf.has(source)) firstOf.set(source, sound.measured.window);
  }
  const length = first?.measured.window.length ?? 0;
  return ({ variant }) => ({ start: firstOf.get(variant.source)?.start ?? 0, length });
}

function comparedOf(
  { variant, measured }: VariantSound,
  written: WrittenVariant & { readonly gainDb: number },
  { folder, from }: { readonly folder: string; readonly from: number },
): Compared {
  return {
    variant,
    path: join(folder, variant.file),
    gainDb: written.gainDb,
    measures: amplified(measured.measures, written),
    ownLufs: measured.measures.loudnessLufs,
    picture: written.picture,
    sampleRate: measured.sampleRate,
    from,
    cut: measured.cut,
  };
}

async function nullPairs(
  variants: readonly Compared[],
  crew: Crew,
  control: TaskControl,
): Promise<Pair[]> {
  const firsts = variants.slice(0, -1);
  const nulled = await runAll(
    crew,
    firsts,
    (_, index) => ({ type: 'null' as const, files: variants.slice(index).map(({ path }) => path) }),
    control,
  );
  return nulled.flatMap((result, index) =>
    ((result as Nulled | undefined)?.differencesDb ?? []).map((differenceDb, offset) => ({
      a: (variants[index] as Compared).variant.name,
      b: (variants[index + offset + 1] as Compared).variant.name,
      differenceDb,
    })),
  );
}

/** Spectrograms that are shown at most. */
export const MOST_PICTURES = 36;

/** So many of a list, the first, the last, and evenly between. */
export function chosen<T>(all: readonly T[], count: number): T[] {
  if (all.length <= count) return [...all];
  return Array.from(
    { length: count },
    (_, index) => all[Math.round((index * (all.length - 1)) / (count - 1))] as T,
  );
}
