/** Reads a rack for a command that writes into it. */

import { KINDS } from '../modules/kinds.ts';
import type { Rack } from '../patch/rack/rack.ts';
import { readRack } from '../patch/rack/read-rack.ts';
import { wrongFile } from './exit.ts';
import { problemsStop, readPart } from './read-patch.ts';

/** A rack, and the text that it was read from. */
export interface RackOfFile {
  readonly rack: Rack;
  readonly text: string;
}

/** @throws Stop if the file is not a rack, with every problem in it. */
export function rackOfFile(file: string): RackOfFile {
  const text = readPart(file);
  if (typeof text !== 'string')
    throw wrongFile(
      file,
      text === undefined ? 'there is no such file.' : `this ${text.why}; a rack was expected.`,
    );
  const { rack, problems } = readRack(text, { file, kinds: KINDS });
  if (rack === undefined)
    throw problemsStop(problems, { main: file, set: [], texts: { [file]: text } });
  return { rack, text };
}
