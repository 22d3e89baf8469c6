/**
 * V8's compiled form of the bundle, kept beside it. V8 trusts what it is given: a form of another
 * build of V8, or one with a bit flipped, can crash the process. So the file starts with a digest of
 * all that it depends on, and what does not agree with it is never shown to V8.
 *
 * It lies beside the bundle, since whoever can write there could change the bundle itself. Where it
 * cannot be written, the text is compiled at every start.
 */

import { createHash } from 'node:crypto';
import { readFileSync, renameSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

const DIGEST_BYTES = 32;

export class CompiledForm {
  private readonly path: string;
  private readonly source: Uint8Array;

  /** @param source the text that is compiled. */
  constructor(folder: string, source: Uint8Array) {
    this.path = join(
      folder,
      `command-${process.version}-${process.platform}-${process.arch}.cache`,
    );
    this.source = source;
  }

  /** Reads the form; undefined if there is none for this text and this Node. */
  read(): Buffer | undefined {
    try {
      const file = readFileSync(this.path);
      const form = file.subarray(DIGEST_BYTES);
      return this.digest(form).equals(file.subarray(0, DIGEST_BYTES)) ? form : undefined;
    } catch {
      return undefined;
    }
  }

  /** Keeps the form for the next start, if it can. Readers find the old file or the new one, whole. */
  keep(form: Uint8Array): void {
    const part = `${this.path}.${process.pid}`;
    try {
      writeFileSync(part, Buffer.concat([this.digest(form), form]), { flag: 'wx' });
      renameSync(part, this.path);
    } catch {
      rmSync(part, { force: true });
    }
  }

  /** Two builds of one version of Node can differ in what V8 relies on, so the program file counts. */
  private digest(form: Uint8Array): Buffer {
    const { size, mtimeMs } = statSync(process.execPath);
    const { v8 } = process.versions;
    const node = [process.version, v8, process.platform, process.arch, size, mtimeMs].join(' ');
    return createHash('sha256').update(node).update(this.source).update(form).digest();
  }
}
