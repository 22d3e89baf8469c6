/**
 * A grid too large for one machine, worked out in shares: each plays and measures some of the variants
 * and keeps their samples; joined, they give the same clips, names and bytes as one run.
 * The loudness that all clips are brought to depends on each of them, so clips are written when joining.
 *
 * A share is a folder, `share-3-of-8`, in the comparison's own: a WAV file a variant, in double
 * precision, and a list with the measures. Its mark identifies the patch, grid and length, so that shares of
 * another patch, grid, length or version are not joined.
 */

import { createHash } from 'node:crypto';
import { closeSync, existsSync, readdirSync, readSync } from 'node:fs';
import { join } from 'node:path';
import { InputError, openInput, readInput } from '../files/inputs.ts';
import { type ComparisonRequest, soundsOf, type VariantSound } from './comparison.ts';
import { type Crew, runAll } from './crew.ts';
import type { Variant } from './grid.ts';
import type { MeasuredVariant, VariantSource } from './task.ts';
import { ComparisonError } from './vary.ts';

/** Which of how many, counted from 1. */
export interface Share {
  readonly number: number;
  readonly of: number;
}

/** The most shares: with more than a grid's variants, some would be empty. */
export const MOST_SHARES = 1024;
export const SHARE_LIST = 'share.json';

interface Listed {
  readonly file: string;
  /** Of the clip's bytes. */
  readonly digest: string;
  readonly measured: MeasuredVariant;
}

interface ShareList {
  readonly mark: string;
  /** A digest of the variants, by which a list that is not as it was written is told. */
  readonly seal: string;
  readonly variants: readonly Listed[];
}

/** 1024 variants with all their bands take some 2 MiB. */
const MOST_LIST = { bytes: 64 * 1024 * 1024, what: 'no list of a share is' };
const FOLDER = /^share-(\d+)-of-(\d+)$/;

export function shareFolder({ number, of }: Share): string {
  return `share-${number}-of-${of}`;
}

/** The variants of a share: one out of every `of`, so that long and short ones are spread evenly. */
export function variantsOfShare(
  variants: readonly Variant[],
  { number, of }: Share,
): readonly Variant[] {
  return variants.filter((_, index) => index % of === number - 1);
}

/**
 * Plays and measures the variants of one share, and keeps their samples in `request.folder`.
 * @param request with the variants of the share alone.
 * @param mark of the whole grid, see {@link markOf}.
 * @returns the share's list, to be written beside them; undefined if it was stopped before its end.
 * @throws what a task throws.
 */
export async function storeShare(
  request: Omit<ComparisonRequest, 'pairs' | 'memory'>,
  mark: string,
  crew: Crew,
): Promise<string | undefined> {
  const { play, variants, folder, title, isStopped, onProgress } = request;
  let done = 0;
  const measured = await runAll(
    crew,
    variants,
    ({ heard, file, name }) => ({
      type: 'store' as const,
      play,
      heard,
      path: join(folder, file),
      title: `${title}: ${name}`,
    }),
    { isStopped, onDone: () => onProgress(++done, variants.length) },
  );
  const sounds = soundsOf(variants, measured);
  if (sounds.length < variants.length) return undefined;
  const listed = sounds.map(({ variant: { file }, measured }) => ({
    file,
    digest: fileDigest(join(folder, file)),
    measured,
  }));
  const list: ShareList = { mark, seal: sealOf(listed), variants: listed };
  return JSON.stringify(list);
}

/**
 * The mark of a grid: a hash of everything that its clips follow from.
 * @param version of Forehear.
 * @throws what reading a recording throws.
 */
export function markOf(
  { play, variants }: Pick<ComparisonRequest, 'play' | 'variants'>,
  version: string,
): string {
  const hash = createHash('sha256');
  const { sampleRate, length } = play;
  hash.update(JSON.stringify({ version, sampleRate, length }));
  const told = new Map<object | string, string>();
  for (const { heard, file } of variants) {
    const key = heard.type === 'patch' ? heard.written : heard.path;
    const source = told.get(key) ?? sourceMark(heard);
    told.set(key, source);
    hash.update(JSON.stringify({ file, source, set: heard.type === 'patch' ? heard.set : [] }));
  }
  return hash.digest('hex');
}

function sourceMark(heard: VariantSource): string {
  return heard.type === 'patch'
    ? createHash('sha256').update(JSON.stringify(heard.written)).digest('hex')
    : fileDigest(heard.path);
}

function sealOf(variants: readonly Listed[]): string {
  return createHash('sha256').update(JSON.stringify(variants)).digest('hex');
}

function fileDigest(path: string): string {
  const hash = createHash('sha256');
  const { descriptor } = openInput(path);
  try {
    const piece = new Uint8Array(65_536);
    for (let got = readSync(descriptor, piece); got > 0; got = readSync(descriptor, piece))
      hash.update(piece.subarray(0, got));
    return hash.digest('hex');
  } finally {
    closeSync(descriptor);
  }
}

/**
 * Reads the shares that lie in a comparison's folder.
 * @returns every variant with its measures; its samples are to be read from its share.
 * @throws ComparisonError if a share is missing or belongs to another comparison.
 */
export function readShares(
  { variants, folder }: Pick<ComparisonRequest, 'variants' | 'folder'>,
  mark: string,
): readonly VariantSound[] {
  const shares = sharesIn(folder);
  const of = shares[0]?.of;
  if (of === undefined)
    throw new ComparisonError(
      `${folder}: there is no share to join. Make them with --share 1/8 to 8/8 in place of --join.`,
    );
  const other = shares.find((share) => share.of !== of);
  if (other !== undefined)
    throw new ComparisonError(
      `${folder}: there are shares of ${of} and of ${other.of}. Remove those that should not be joined.`,
    );
  const numbers = new Set(shares.map(({ number }) => number));
  const missing = Array.from({ length: of }, (_, index) => index + 1).filter(
    (number) => !numbers.has(number),
  );
  if (missing.length > 0)
    throw new ComparisonError(
      `${folder}: of ${of} shares, ${missing.length === 1 ? 'one is' : `${missing.length} are`} missing: ${missing.map((number) => `--share ${number}/${of}`).join(', ')}.`,
    );
  const found = new Map(
    shares.flatMap((share) => listedIn(join(folder, shareFolder(share)), mark)),
  );
  return variants.map((variant) => {
    const sound = found.get(variant.file);
    if (sound === undefined)
      throw new ComparisonError(`${folder}: no share has ${variant.file}. Make the shares again.`);
    return {
      variant: { ...variant, heard: { type: 'recording', path: sound.path } },
      measured: sound.measured,
    };
  });
}

function sharesIn(folder: string): readonly Share[] {
  if (!existsSync(folder)) return [];
  return readdirSync(folder)
    .flatMap((name) => {
      const [, number, of] = FOLDER.exec(name) ?? [];
      return number === undefined ? [] : [{ number: Number(number), of: Number(of) }];
    })
    .toSorted((a, b) => a.of - b.of || a.number - b.number);
}

type ListedVariant = readonly [
  file: string,
  { readonly path: string; readonly measured: MeasuredVariant },
];

function listedIn(folder: string, mark: string): readonly ListedVariant[] {
  const path = join(folder, SHARE_LIST);
  const list = readList(path);
  if (list.mark !== mark)
    throw new ComparisonError(
      `${path}: this share is of another patch, grid or length, or was made by another version. Make it again with the same options, --share in place of --join.`,
    );
  return list.variants.map(({ file, digest, measured }) => {
    const clip = join(folder, file);
    const wrong = !existsSync(clip)
      ? 'is missing'
      : fileDigest(clip) !== digest
        ? 'is not as it was made'
        : undefined;
    if (wrong !== undefined)
      throw new ComparisonError(`${clip}: this clip of the share ${wrong}. Make the share again.`);
    return [file, { path: clip, measured }];
  });
}

function readList(path: string): ShareList {
  try {
    const list = JSON.parse(
      new TextDecoder().decode(readInput(path, MOST_LIST)),
    ) as Partial<ShareList>;
    if (
      typeof list.mark === 'string' &&
      Array.isArray(list.variants) &&
      list.seal === sealOf(list.variants)
    )
      return list as ShareList;
    throw new SyntaxError('another file');
  } catch (error) {
    const why = error instanceof InputError ? `it ${error.reason}` : 'it is missing or broken';
    throw new ComparisonError(
      `${path}: the list of this share cannot be read: ${why}. Make the share again.`,
    );
  }
}
