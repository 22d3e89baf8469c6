/** Reads a patch for a command: a file or standard input, its parts, `--set`, and what is wrong. */

import { resolve } from 'node:path';
import { errorCode, InputError, readInput, readStdin } from '../files/inputs.ts';
import { KINDS } from '../modules/kinds.ts';
import type { Unread } from '../patch/load.ts';
import { NO_RACK, SET_FILE } from '../patch/overrides.ts';
import type { Patch } from '../patch/patch.ts';
import { MOST_RECORDING_BYTES, WAV_TEXT } from '../patch/recording/read-recording.ts';
import { counted } from '../patch/text/counted.ts';
import type { Problem } from '../patch/text/problem.ts';
import {
  describeIn,
  type LoadedTexts,
  loadTexts,
  type PatchTexts,
  unplayable,
} from '../patch/texts.ts';
import { EXIT, failedFile, Stop, wrongFile } from './exit.ts';

/** A patch, and the texts that it was read from. */
export interface PatchOfFiles {
  readonly patch: Patch;
  readonly texts: PatchTexts;
}

/**
 * Reads and checks a patch, its parts and its rack.
 * @param file a path, or `-` for standard input, whose parts are looked for in the current folder.
 * @param set `module.setting=value`, each as the command line gave it.
 * @param rack another rack than the patch's own, or {@link NO_RACK}.
 * @throws Stop with every problem in the file described, or why it could not be read.
 */
export function readPatchFile(file: string, set: readonly string[], rack?: string): Patch {
  return readWithTexts(file, set, rack).patch;
}

/**
 * Reads and checks a patch, and keeps the texts that it was read from.
 * @throws Stop as {@link readPatchFile} does.
 */
export function readWithTexts(file: string, set: readonly string[], rack?: string): PatchOfFiles {
  const { patch, problems, texts } = findPatch(file, set, rack);
  if (patch !== undefined) return { patch, texts };
  throw problemsStop(problems, texts);
}

/** The error that ends a command because of problems. */
export function problemsStop(problems: readonly Problem[], texts: PatchTexts): Stop {
  const described = problems.map((problem) => describeIn(texts, problem));
  const count = counted(problems.length, 'problem');
  return new Stop(
    EXIT.request,
    `${described.join('\n\n')}\n\n${count}; nothing was done.${howMended(problems)}`,
    problems.map(({ code, place, message, expected, nearest }) => ({
      code,
      file: place.file,
      line: place.line,
      column: place.column,
      message,
      expected,
      nearest,
    })),
  );
}

/** How to mend problems that can be rewritten; nothing where there are others. */
function howMended(problems: readonly Problem[]): string {
  const isInFile = ({ rewrite }: Problem): boolean =>
    rewrite !== undefined && rewrite.place.file !== SET_FILE;
  if (!problems.every(isInFile)) return '';
  return ' To have the file written so: forehear check PATCH --fix --write.';
}

/** @throws Stop unless the patch has exactly one output module. */
export function requireOutput(patch: Patch, file: string): void {
  const [problem] = unplayable(patch);
  if (problem === undefined) return;
  const { code, place, message } = problem;
  if (code !== 'missing') throw wrongFile(place, `${message}.`);
  throw wrongFile(file, `${message}. Add "out: { kind: output }" and a cable to out.left.`);
}

/**
 * Reads and checks a patch, its parts and its rack, whatever is in them.
 * @param stdin the text of standard input, if that has been read before, since it can be read only once.
 * @throws Stop if a file that has to be there cannot be read, or any is not text.
 */
export function findPatch(
  file: string,
  set: readonly string[],
  rack?: string,
  stdin?: string,
): LoadedTexts {
  const main = file === '-' ? (stdin ?? readStandard()) : readNamed(file);
  const named: [string, string][] = [[file, main]];
  const isNone = rack === NO_RACK;
  if (rack !== undefined && !isNone) named.push([rack, readNamed(rack)]);
  const texts = Object.fromEntries(named);
  const from = {
    main: file,
    ...(rack !== undefined && !isNone && { rack }),
    set: isNone ? [...set, `rack=${NO_RACK}`] : set,
    texts,
  };
  return loadTexts(from, readPart, { kinds: KINDS, loadRecording: readSound });
}

/** Reads a patch again on another rack, whose text is not on the disk yet. */
export function onAnotherRack(texts: PatchTexts, rack: string, text: string): LoadedTexts {
  const from = { ...texts, rack, texts: { ...texts.texts, [rack]: text } };
  return loadTexts(from, readPart, { kinds: KINDS, loadRecording: readSound });
}

function readStandard(): string {
  try {
    return decode(readStdin());
  } catch (error) {
    throw unreadable('standard input', error);
  }
}

function readNamed(file: string): string {
  try {
    return decode(readInput(file));
  } catch (error) {
    throw unreadable(file, error);
  }
}

/** The text of a part or a rack. Why one cannot be read is reported where the patch names it. */
export function readPart(path: string): string | Unread | undefined {
  return readOrNot(() => decode(readInput(resolve('.', path))));
}

/** A recording, as a text that holds its bytes. */
export function readSound(path: string): string | Unread | undefined {
  return readOrNot(() => {
    const bytes = readInput(resolve('.', path), MOST_SOUND);
    return `${WAV_TEXT}${Buffer.from(bytes).toString('base64')}`;
  });
}

const MOST_SOUND = {
  bytes: MOST_RECORDING_BYTES,
  what: 'no recording may be: cut it to what is played',
};

function readOrNot(read: () => string): string | Unread | undefined {
  try {
    return read();
  } catch (error) {
    const code = errorCode(error);
    if (code === 'ENOENT' || code === 'ENOTDIR') return undefined;
    return { why: whyUnread(error) };
  }
}

/** Thrown where a file is not text in UTF-8; the message says what it is instead, if that shows. */
class NoText extends Error {}

const WAV_FILE = 'a WAV file';
const MIDI_FILE = 'a MIDI file';
const UTF_16 = 'text in UTF-16';

/** What a file is by its first bytes, which no patch begins with. */
function strangerOf(bytes: Uint8Array): string | undefined {
  const start = Buffer.from(bytes.subarray(0, 12)).toString('latin1');
  if (/^(RIFF|RF64|BW64)[\s\S]{4}WAVE/.test(start)) return WAV_FILE;
  if (start.startsWith('MThd')) return MIDI_FILE;
  // With the mark of its byte order, or with a zero in the first letter.
  if (/^(\xff\xfe|\xfe\xff|\0[^\0]|[^\0]\0)/.test(start)) return UTF_16;
  return undefined;
}

const REMEDIES: { readonly [what: string]: string } = {
  [WAV_FILE]:
    '; a patch file was expected. "forehear measure" measures recordings, "forehear tab" writes down what they play.',
  [MIDI_FILE]: '; a patch file was expected. "forehear tab" makes drum tab of it.',
  [UTF_16]: '; a patch file must be text in UTF-8. Save it as UTF-8 in your editor.',
};

function decode(bytes: Uint8Array): string {
  const stranger = strangerOf(bytes);
  if (stranger !== undefined) throw new NoText(stranger);
  try {
    return new TextDecoder('utf-8', { fatal: true, ignoreBOM: true }).decode(bytes);
  } catch {
    throw new NoText();
  }
}

/** A clause that follows the file's name. */
function whyUnread(error: unknown): string {
  if (error instanceof InputError) return error.reason;
  if (error instanceof NoText)
    return error.message === '' ? 'is not text in UTF-8' : `is ${error.message}, not text in UTF-8`;
  const { code, message } = error as NodeJS.ErrnoException;
  if (code === 'EACCES' || code === 'EPERM') return 'may not be read: permission is denied';
  if (code === 'ENXIO') return 'is a socket, not a file';
  return `could not be read: ${message}`;
}

function unreadable(file: string, error: unknown): Stop {
  if (error instanceof NoText)
    return wrongFile(
      file,
      error.message === ''
        ? 'this is not text in UTF-8, which a patch file must be. Save it as UTF-8 in your editor.'
        : `this is ${error.message}${REMEDIES[error.message]}`,
    );
  if (error instanceof InputError) {
    const isStdin = file === 'standard input';
    const remedy =
      !isStdin && /pipe|device/.test(error.reason) ? ' Give "-" to read standard input.' : '';
    return wrongFile(file, `this ${error.reason}; a patch file was expected.${remedy}`);
  }
  const { code, message } = error as NodeJS.ErrnoException;
  switch (code) {
    case 'ENOENT':
      return wrongFile(file, 'there is no such file. Check the name and the folder.');
    case 'ENOTDIR':
      return wrongFile(file, 'a part of this path is a file, not a folder.');
    case 'EACCES':
    case 'EPERM':
      return failedFile(file, 'no permission to read it.');
    default:
      return failedFile(file, `could not be read: ${message}`);
  }
}
