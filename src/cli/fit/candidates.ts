/** The voices that a fit is given, in files and folders: each channel that is heard is one. */

import { readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { limited, movable } from '../../fit/limits.ts';
import { voiceChannels, voicePath } from '../../fit/path.ts';
import type { Candidate } from '../../fit/ranking.ts';
import { usualKnobs } from '../../fit/settings.ts';
import { unplayable } from '../../patch/texts.ts';
import { wrongRequest } from '../exit.ts';
import { findPatch, readWithTexts, requireOutput } from '../read-patch.ts';

export interface CandidatesOptions {
  readonly channel: string | undefined;
  readonly rack: string | undefined;
  /** The recording's longest hit, s. */
  readonly longest: number;
}

const PATCH = /\.ya?ml$/i;

/** Whether a fit is asked to choose: there are several files, or a folder of them. */
export function isChoice(files: readonly string[]): boolean {
  return files.length > 1 || files.some(isFolder);
}

/**
 * Reads the voices. In a folder, files that are not patches that can be heard by themselves are left out.
 * @throws Stop if a named file cannot be read, or none has a voice.
 */
export function candidatesOf(
  files: readonly string[],
  options: CandidatesOptions,
): readonly Candidate[] {
  const found = files.flatMap((file) =>
    isFolder(file)
      ? patchesIn(file).flatMap((one) => voicesIn(one, options))
      : namedVoices(file, options),
  );
  if (found.length > 0) return found;
  throw wrongRequest(
    options.channel === undefined
      ? `There is no voice to choose from in ${files.join(', ')}: patches with an output, such as those of "forehear new".`
      : `--channel ${options.channel}: none of the patches has a channel of that name that is heard.`,
  );
}

function isFolder(path: string): boolean {
  return statSync(path, { throwIfNoEntry: false })?.isDirectory() === true;
}

function patchesIn(folder: string): readonly string[] {
  return readdirSync(folder)
    .filter((name) => PATCH.test(name))
    .sort()
    .map((name) => join(folder, name));
}

function namedVoices(file: string, options: CandidatesOptions): readonly Candidate[] {
  const { patch } = readWithTexts(file, [], options.rack);
  requireOutput(patch, file);
  return voicesIn(file, options);
}

function voicesIn(
  file: string,
  { channel, rack, longest }: CandidatesOptions,
): readonly Candidate[] {
  const { patch, texts } = findPatch(file, [], rack);
  if (patch === undefined || unplayable(patch).length > 0) return [];
  const all = voiceChannels(patch);
  const asked = all.filter(({ name }) => channel === undefined || name === channel);
  const heard = all.length === 0 && channel === undefined ? [undefined] : asked;
  return heard.flatMap((one) => {
    const knobs = limited(movable(usualKnobs(patch, voicePath(patch, one)), patch), patch, longest);
    const name = one === undefined || all.length === 1 ? file : `${file} ${one.name}`;
    return knobs.length === 0 ? [] : [{ name, written: texts, channel: one, knobs }];
  });
}
