/**
 * V8's compiled form of a text, kept beside the bundle that runs it. V8 trusts what it is given: a form of another
 * build of V8, or one with a bit flipped, can crash the process. So the file starts with a checksum of
 * all that it depends on, and a form that does not agree with it is never given to V8. It guards only
 * against accidents; a cryptographic digest takes ten times as long, with the code that it loads.
 *
 * It lies beside the bundle, since whoever can write there could change the bundle itself. Where it
 * cannot be written, the text is compiled at every start.
 */

import { readFileSync, renameSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { crc32 } from 'node:zlib';
import { freePartName, removeLeftovers, takePartName } from '../files/part-name.ts';

/** The checksum, and the length of the bytes that it covers. */
const MARK_BYTES = 8;

export class CompiledForm {
  private readonly path: string;
  private readonly source: Uint8Array;

  /**
   * @param folder of the bundle.
   * @param source the text that is compiled.
   * @param name what the file's name begins with.
   */
  constructor(folder: string, source: Uint8Array, name = 'command') {
    this.path = join(
      folder,
      `${name}-${process.version}-${process.platform}-${process.arch}.cache`,
    );
    this.source = source;
  }

  /** Reads the form; undefined if there is none for this text and this Node. */
  read(): Buffer | undefined {
    try {
      const file = readFileSync(this.path);
      const form = file.subarray(MARK_BYTES);
      return this.mark(form).equals(file.subarray(0, MARK_BYTES)) ? form : undefined;
    } catch {
      return undefined;
    }
  }

  /** Keeps the form for the next start, if it can. Readers find the old file or the new one, whole. */
  keep(form: Uint8Array): void {
    removeLeftovers(this.path);
    const part = takePartName(this.path);
    try {
      writeFileSync(part, Buffer.concat([this.mark(form), form]), { flag: 'wx' });
      renameSync(part, this.path);
    } catch {
      rmSync(part, { force: true });
    } finally {
      freePartName(part);
    }
  }

  /** Two builds of one version of Node can differ in what V8 relies on, so the program file counts. */
  private mark(form: Uint8Array): Buffer {
    const { size, mtimeMs } = statSync(process.execPath);
    const { v8 } = process.versions;
    const node = [process.version, v8, process.platform, process.arch, size, mtimeMs].join(' ');
    const mark = Buffer.alloc(MARK_BYTES);
    mark.writeUInt32LE(crc32(form, crc32(this.source, crc32(node))), 0);
    mark.writeUInt32LE(form.length, 4);
    return mark;
  }
}
