/** The page's two programs, as the build leaves them, the interface and the engine, with their licences. */

import { readFileSync } from 'node:fs';

export interface Bundles {
  readonly interface: string;
  readonly engine: string;
  /** The licences of all that is in the two. */
  readonly notices: string;
}

/** Reads them. @param folder of the build's scripts for the page, ending in a slash. */
export function readBundles(folder: URL): Bundles {
  const text = (name: string): string => readFileSync(new URL(name, folder), 'utf8');
  return {
    interface: text('interface.js'),
    engine: text('engine.js'),
    notices: text('notices.txt'),
  };
}
