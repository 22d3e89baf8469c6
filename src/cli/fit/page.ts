/** The page to listen on of a fit: the recording, the patch before and after, and where they differ. */

import { join } from 'node:path';
import { compare } from '../../compare/comparison.ts';
import { ownCrew } from '../../compare/crew.ts';
import { gridOf, type Variant } from '../../compare/grid.ts';
import { FileSet } from '../../files/file-set.ts';
import { TemporaryFolder } from '../../files/temporary-folder.ts';
import { writeWhole } from '../../files/whole-file.ts';
import { fadedCut, type PatchHit, patchHit, recordedClip } from '../../fit/hit-clip.ts';
import type { VoiceChannel } from '../../fit/path.ts';
import type { RecordedHits } from '../../fit/recording.ts';
import { differenceOf } from '../../measure/likeness/likeness.ts';
import { differenceMap } from '../../output/chart/difference-map.ts';
import type { Patch } from '../../patch/patch.ts';
import { wavBytes } from '../../wav/wav-bytes.ts';
import { requireFolder } from '../outputs.ts';
import { CHART, PAGE, writePictures } from '../reports/compare-report.ts';
import { metDefects } from '../reports/met-defects.ts';

export interface FitPageOptions {
  readonly recording: RecordedHits;
  readonly channel: VoiceChannel | undefined;
  readonly before: Patch;
  readonly after: Patch;
  /** The recording's name. */
  readonly name: string;
  /** Whether the distance is that at equal levels. */
  readonly isLevelled: boolean;
}

/** The set of files that a page is. */
const SET = 'fit';
/** Samples of three hits of four seconds at most. */
const MEMORY = 2 ** 28;

/** The names of the clips, in the order in which the comparison numbers them. */
const NAMES = ['recording', 'before', 'after'] as const;
const CLIPS = NAMES.map((name, index) => `0${index + 1}-${name}.wav`);

/**
 * Checks the place of a page and its clips before the work, once everything is read.
 * @throws Stop, or OutputError, if they cannot be written there.
 */
export function requirePagePlace(folder: string): void {
  requireFolder('--page', folder);
  const set = new FileSet(folder, SET);
  try {
    set.plan([...CLIPS, CHART, PAGE].map((name) => ({ name })));
  } finally {
    set.abandon();
  }
}

/** Where the files of a page lie. */
export interface FitPageFiles {
  readonly page: string;
  readonly chart: string;
  readonly clips: readonly string[];
}

/** Writes the page with its clips, at one loudness. */
export async function writeFitPage(
  folder: string,
  { recording, channel, before, after, name, isLevelled }: FitPageOptions,
): Promise<FitPageFiles> {
  const set = new FileSet(folder, SET);
  const { sampleRate } = recording.scope;
  const [first, ...others] = NAMES;
  const hits = [before, after].map((patch) => patchHit(patch, recording, channel, isLevelled));
  const clips = [
    { name: first, samples: recordedClip(recording) },
    ...others.map((of, index) => ({ name: of, samples: hits[index]?.clip })),
  ].flatMap(({ name: of, samples }) => (samples === undefined ? [] : [{ name: of, samples }]));
  const room = new TemporaryFolder();
  try {
    for (const { name: of, samples } of clips)
      writeWhole(
        join(room.path, `${of}.wav`),
        await wavBytes([fadedCut(samples, sampleRate)], { sampleRate, depth: '32f' }),
      );
    const variants = gridOf(
      clips.map(({ name: of }) => ({
        source: { type: 'recording', path: join(room.path, `${of}.wav`) },
        variations: [],
        name: of,
      })),
    );
    const comparison = await compare(
      {
        play: { sampleRate, depth: '24', length: { unit: 'seconds', value: 1 } },
        ...{ title: `${name}, and the fit to it`, variants, folder: set.stage },
        ...{ pairs: false, memory: MEMORY },
        onProgress: () => {},
        isStopped: () => false,
      },
      ownCrew(),
    );
    const maps = others.flatMap((of, index) => mapOf(of, hits[index]));
    writePictures(comparison, {
      title: `${name}, and the fit to it`,
      about: [
        'One hit of each, looped: the recording, the patch before it was fitted, and after.',
        ...metDefects(recording.defects, {
          it: 'The recording',
          file: name,
          mends: recording.mends,
        }),
      ].join(' '),
      folder: set.stage,
      maps,
    });
    set.commit(membersOf(variants));
    return {
      page: join(folder, PAGE),
      chart: join(folder, CHART),
      clips: variants.map(({ file }) => join(folder, file)),
    };
  } catch (error) {
    throw set.told(error);
  } finally {
    room.abandon();
    set.abandon();
  }
}

function membersOf(variants: readonly Variant[]) {
  return [...variants.map(({ file }) => ({ name: file })), { name: CHART }, { name: PAGE }];
}

/** Where a hit differs from the recording's: the same distance as in the report; none if they cannot be compared. */
function mapOf(name: string, hit: PatchHit | undefined): readonly string[] {
  if (hit?.distance == null) return [];
  return [
    differenceMap({ file: name, against: 'recording', likeness: differenceOf(hit.distance) }),
  ];
}
