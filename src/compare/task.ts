/** The tasks that run in parallel. Tasks and results are plain data, so that they can go to a worker. */

import type { LoudnessStep } from '../measure/loudness/gates.ts';
import type { PatchTexts } from '../patch/texts.ts';
import type { Length } from '../timing/length.ts';
import type { Depth } from '../wav/wav-pack.ts';
import type { VariantMeasures } from './measures.ts';
import type { Picture } from './picture.ts';
import type { Kept } from './played.ts';

/** The source of a variant: a patch with values set, or a recording. */
export type VariantSource =
  | { readonly type: 'patch'; readonly written: PatchTexts; readonly set: readonly string[] }
  | { readonly type: 'recording'; readonly path: string };

/** How all variants are played. */
export interface VariantPlay {
  /** Hz. */
  readonly sampleRate: number;
  readonly depth: Depth;
  readonly length: Length;
}

/** A stretch of the clip, s: the hit that the pictures show. */
export interface Window {
  readonly start: number;
  readonly length: number;
}

export type Task = MeasureTask | StoreTask | WriteTask | NullTask;
export type Result = {
  measure: MeasuredVariant;
  store: MeasuredVariant;
  write: WrittenVariant;
  null: Nulled;
};

export interface MeasureTask {
  readonly type: 'measure';
  readonly play: VariantPlay;
  readonly heard: VariantSource;
  /** How many bytes of samples may be kept for the task that writes them. */
  readonly mostKept: number;
}

/** Measures a variant and writes its samples unchanged, for another run to continue with. */
export interface StoreTask {
  readonly type: 'store';
  readonly play: VariantPlay;
  readonly heard: VariantSource;
  readonly path: string;
  readonly title: string;
}

export interface MeasuredVariant {
  readonly measures: VariantMeasures;
  /** Its loudness at other gains. */
  readonly loudnessSteps: readonly LoudnessStep[];
  readonly window: Window;
  /** Whether the tail did not die away. */
  readonly cut: boolean;
  /** Hz. */
  readonly sampleRate: number;
  /** The samples, if they were few enough to keep. */
  readonly kept?: Kept;
}

export interface WriteTask {
  readonly type: 'write';
  readonly play: VariantPlay;
  readonly heard: VariantSource;
  readonly path: string;
  readonly title: string;
  readonly gainDb: number;
  readonly window: Window;
  /** Whether a spectrogram is wanted. */
  readonly pictured: boolean;
  /** Hz. */
  readonly sampleRate: number;
  /** The samples; without them the variant is played, or read, again. */
  readonly kept?: Kept;
}

export interface WrittenVariant {
  /** Loudness of the samples written; null for silence. */
  readonly loudnessLufs: number | null;
  readonly truePeakDbtp: number | null;
  readonly picture: Picture;
}

export interface NullTask {
  readonly type: 'null';
  /** The first is nulled against each of the others. */
  readonly files: readonly string[];
}

export interface Nulled {
  /** Level of the difference, dB under the level of the two; null where they are the same. */
  readonly differencesDb: readonly (number | null)[];
}
