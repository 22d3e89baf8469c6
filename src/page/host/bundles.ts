/** The programs of the pages, as the build leaves them, each with the licences of what is in it. */

import { readFileSync } from 'node:fs';

/** The programs of the worksheet: the interface and the engine. */
export interface Bundles {
  readonly interface: string;
  readonly engine: string;
  /** The licences of all that is in the two. */
  readonly notices: string;
}

/** The program of a page that has only one. */
export interface Program {
  readonly script: string;
  readonly notices: string;
}

/** Reads the programs of the worksheet. @param folder of the build's scripts for the page, ending in a slash. */
export function readBundles(folder: URL): Bundles {
  return {
    interface: textIn(folder, 'interface.js'),
    engine: textIn(folder, 'engine.js'),
    notices: textIn(folder, 'notices.txt'),
  };
}

/** Reads the program of a page with clips beside it. @param folder as above. */
export function readProgram(folder: URL, name: 'comparison' | 'lesson'): Program {
  return {
    script: textIn(folder, `${name}.js`),
    notices: textIn(folder, 'clips-notices.txt'),
  };
}

function textIn(folder: URL, name: string): string {
  return readFileSync(new URL(name, folder), 'utf8');
}
