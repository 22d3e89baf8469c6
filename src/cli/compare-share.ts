/** `compare --share K/N`: one share of a grid, kept for `--join`. */

import { join } from 'node:path';
import { InvalidArgumentError } from 'commander';
import type { ComparisonRequest } from '../compare/comparison.ts';
import type { Crew } from '../compare/crew.ts';
import {
  MOST_SHARES,
  markOf,
  SHARE_LIST,
  type Share,
  shareFolder,
  storeShare,
  variantsOfShare,
} from '../compare/share.ts';
import { FileSet } from '../files/file-set.ts';
import { writeWhole } from '../files/whole-file.ts';
import { counted } from '../patch/text/counted.ts';
import { interruptible } from './interrupt.ts';
import { VERSION } from './options.ts';
import { requireFolder } from './outputs.ts';
import { Progress } from './progress.ts';
import { say, sayJson } from './standard-output.ts';

/** Reads which share of how many, such as `3/8`. */
export function shareArgument(text: string): Share {
  const [, number, of] = /^(\d+)\/(\d+)$/.exec(text) ?? [];
  const share = { number: Number(number), of: Number(of) };
  if (!(share.of >= 1 && share.of <= MOST_SHARES && share.number >= 1 && share.number <= share.of))
    throw new InvalidArgumentError(
      `One of at most ${MOST_SHARES} shares was expected, counted from 1, such as 3/8.`,
    );
  return share;
}

interface Options {
  readonly share: Share;
  readonly json?: true;
  readonly quiet?: true;
}

/** Plays and measures a share, and writes its folder completely or not at all. */
export async function writeShare(
  asked: Omit<ComparisonRequest, 'onProgress' | 'isStopped'>,
  { share, json, quiet }: Options,
  crew: Crew,
): Promise<void> {
  const variants = variantsOfShare(asked.variants, share);
  const folder = join(asked.folder, shareFolder(share));
  requireFolder('-o', folder);
  const members = [...variants.map(({ file }) => file), SHARE_LIST].map((name) => ({ name }));
  const set = new FileSet(folder, 'share');
  const progress = new Progress('Playing', quiet === true, 'variants');
  try {
    set.plan(members);
    await interruptible(async (signal) => {
      const list = await storeShare(
        {
          ...asked,
          variants,
          folder: set.stage,
          onProgress: (done, total) => progress.show(done, total),
          isStopped: () => signal.aborted,
        },
        markOf(asked, VERSION),
        crew,
      );
      if (list === undefined) throw signal.reason;
      writeWhole(join(set.stage, SHARE_LIST), new TextEncoder().encode(list));
      set.commit(members);
    });
  } catch (error) {
    throw set.told(error);
  } finally {
    progress.end();
    set.abandon();
  }
  if (json)
    sayJson({
      share,
      folder,
      variants: variants.map(({ name, settings, file }) => ({
        name,
        settings,
        file: join(folder, file),
      })),
    });
  else if (!quiet)
    say(
      `${counted(variants.length, 'variant')} of ${asked.variants.length} in ${folder}. When all ${share.of} shares are there: the same with --join in place of --share.`,
    );
}
