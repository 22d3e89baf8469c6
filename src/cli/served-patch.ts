/** A patch's worksheet, served on this machine alone and kept up to date with the files on the disk. */

import type { Bundles } from '../page/host/bundles.ts';
import { PageServer } from '../page/host/server.ts';
import { type Draw, ServedWorksheet } from '../page/host/worksheet.ts';
import { EXIT, Stop, wrongRequest } from './exit.ts';
import { PatchWatch } from './watch.ts';

export interface ServeOptions {
  /** 0 for any free port. */
  readonly port?: number | undefined;
  readonly rack?: string | undefined;
  readonly set?: readonly string[];
}

export interface ServedPatch {
  /** The page's address. */
  readonly url: string;
  /** Writes the page and draws its diagrams in advance. */
  readonly prepare: () => void;
  /** Stops following the files, and closes the server. */
  readonly close: () => Promise<void>;
}

/**
 * Serves a patch until it is closed.
 * @param draw its block diagrams.
 * @throws Stop if the file cannot be read, or the port is not free.
 */
export async function servePatch(
  file: string,
  bundles: Bundles,
  draw: Draw,
  { port = 0, rack, set = [] }: ServeOptions = {},
): Promise<ServedPatch> {
  let server: PageServer | undefined;
  const watch = new PatchWatch(file, {
    set,
    rack,
    onChange: (seen) => {
      if (seen instanceof Stop) worksheet.lose(seen.message);
      else worksheet.take(seen.texts, seen.patch);
    },
  });
  const { texts, patch } = watch.first;
  const worksheet = new ServedWorksheet(bundles, texts, patch, draw, (event) =>
    server?.send(event),
  );
  try {
    server = await serve(port, worksheet);
  } catch (error) {
    watch.close();
    throw error;
  }
  const { url } = server;
  return {
    url,
    prepare: () => {
      void worksheet.prepare();
      worksheet.page();
    },
    close: async () => {
      watch.close();
      await server?.close();
    },
  };
}

async function serve(port: number, worksheet: ServedWorksheet): Promise<PageServer> {
  try {
    return await PageServer.start(port, worksheet);
  } catch (error) {
    const { code, message } = error as NodeJS.ErrnoException;
    if (code === 'EADDRINUSE' || code === 'EACCES')
      throw wrongRequest(
        `--port ${port}: another program has this port. Choose another, or leave --port out.`,
      );
    throw new Stop(EXIT.machine, `The page cannot be served: ${message}`);
  }
}
