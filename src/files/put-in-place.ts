/**
 * Puts a finished file in the place of another, whose mode, owner and hard links it keeps.
 *
 * As a rule the new file is renamed over the old, which no one ever sees half done. A file that has
 * several names, or an owner that we may not give ours to, has its bytes replaced instead.
 *
 * Deviation: that is not one step, so a power failure, or a kill that nothing can catch, within the
 * milliseconds that it takes can leave such a file half written; its old bytes are then beside it in
 * a file that ends in `.part`. Access lists and extended attributes are not carried over by a rename.
 */

import {
  chmodSync,
  chownSync,
  closeSync,
  copyFileSync,
  ftruncateSync,
  linkSync,
  openSync,
  readSync,
  renameSync,
  rmSync,
  type Stats,
  statSync,
  utimesSync,
  writeSync,
} from 'node:fs';
import { errorCode } from './inputs.ts';
import { thereAlready } from './output-place.ts';
import { freePartName, removeLeftovers, takePartName } from './part-name.ts';

/**
 * Moves a file to a place.
 * @param part is gone afterwards.
 * @param there what is at the place, if it is to be replaced.
 * @throws what the system says; what was at the place is then still there.
 */
export function putInPlace(part: string, place: string, there: Stats | undefined): void {
  if (there === undefined) {
    renameSync(part, place);
    return;
  }
  if (there.nlink > 1 || !hasOwner(part, there)) {
    replaceBytes(part, place);
    rmSync(part);
    return;
  }
  chmodSync(part, there.mode & 0o7777);
  renameSync(part, place);
}

/**
 * Moves a file to a place where there must be nothing.
 * @throws ChangedError if there is something by now; what the system says otherwise.
 */
export function putInNewPlace(part: string, place: string): void {
  try {
    // Unlike a rename it fails where there is a file.
    linkSync(part, place);
  } catch (error) {
    if (errorCode(error) === 'EEXIST') throw thereAlready(place);
    // A file system without hard links, such as FAT.
    reserve(place);
    renameSync(part, place);
    return;
  }
  rmSync(part);
}

function reserve(place: string): void {
  try {
    closeSync(openSync(place, 'wx'));
  } catch (error) {
    throw errorCode(error) === 'EEXIST' ? thereAlready(place) : error;
  }
}

/** Gives a file the owner of another; false if we may not. */
function hasOwner(part: string, { uid, gid }: Stats): boolean {
  const own = statSync(part);
  if (own.uid === uid && own.gid === gid) return true;
  try {
    chownSync(part, uid, gid);
    return true;
  } catch {
    return false;
  }
}

/** Should it fail midway, such as on a full disk, the old bytes are put back. */
function replaceBytes(part: string, place: string): void {
  const old = takePartName(place);
  try {
    copyFileSync(place, old);
    try {
      copyBytes(part, place);
      // Old bytes that a run left which was killed here.
      removeLeftovers(place);
      const { atime, mtime } = statSync(part);
      utimesSync(place, atime, mtime);
    } catch (error) {
      copyBytes(old, place);
      throw error;
    }
  } finally {
    rmSync(old, { force: true });
    freePartName(old);
  }
}

const PIECE = 1024 * 1024;

function copyBytes(from: string, to: string): void {
  const source = openSync(from, 'r');
  try {
    const target = openSync(to, 'r+');
    try {
      const bytes = new Uint8Array(PIECE);
      let length = 0;
      for (let got = readSync(source, bytes); got > 0; got = readSync(source, bytes)) {
        for (let done = 0; done < got; )
          done += writeSync(target, bytes, done, got - done, length + done);
        length += got;
      }
      ftruncateSync(target, length);
    } finally {
      closeSync(target);
    }
  } finally {
    closeSync(source);
  }
}
