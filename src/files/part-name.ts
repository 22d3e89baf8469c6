/**
 * Names of what is in the making, and whose they are:
 *
 *   NAME.forehear-MACHINE-PROCESS-THREAD-COUNT.part
 *
 * A program that is killed leaves such a name behind. The next one that writes NAME knows it for its
 * own kind by the form, for this machine's by its mark, and for dead by the process; it removes
 * nothing else. Containers that share a folder have numbers of their own for processes, but other
 * names as machines.
 */

import { readdirSync, rmSync } from 'node:fs';
import { hostname } from 'node:os';
import { basename, dirname, join } from 'node:path';

/** Made by this thread and not gone yet. */
const living = new Set<string>();
let count = 0;
let machine: string | undefined;
let thread: number | undefined;

/** A name that nothing has yet, beside `place`; end it with {@link freePartName}. */
export function takePartName(place: string): string {
  const name = `${join(dirname(place), startOf(place))}${machineMark()}-${process.pid}-${threadNumber()}-${count++}.part`;
  living.add(name);
  return name;
}

/** Notes that what had the name is gone. */
export function freePartName(name: string): void {
  living.delete(name);
}

/** What dead processes left behind beside `place` when they were to write it. */
export function leftovers(place: string): readonly string[] {
  const folder = dirname(place);
  const start = startOf(place);
  let names: readonly string[];
  try {
    names = readdirSync(folder);
  } catch {
    return [];
  }
  return names
    .filter(
      (name) => name.startsWith(start) && isDead(join(folder, name), name.slice(start.length)),
    )
    .map((name) => join(folder, name));
}

/** Removes files that dead processes left behind beside `place`. */
export function removeLeftovers(place: string): void {
  for (const path of leftovers(place)) {
    try {
      rmSync(path);
    } catch {
      // Another run may have removed it, or it is not ours to remove.
    }
  }
}

function isDead(path: string, rest: string): boolean {
  const [, mark, pid, number] = /^([0-9a-f]{8})-(\d+)-(\d+)-\d+\.part$/.exec(rest) ?? [];
  if (mark !== machineMark()) return false;
  // Another run may have had this number, as in containers, where it is often the same.
  if (Number(pid) === process.pid) return Number(number) === threadNumber() && !living.has(path);
  return !isRunning(Number(pid));
}

function isRunning(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code !== 'ESRCH';
  }
}

/** Bytes that a file's name may have with the ending behind it; file systems take 255. */
const LONGEST = 180;

function startOf(place: string): string {
  const name = basename(place);
  // A character has at most four bytes.
  const short = Buffer.byteLength(name) > LONGEST ? [...name].slice(0, LONGEST / 4).join('') : name;
  return `${short}.forehear-`;
}

/**
 * This thread's number: 0 for the main one. Node's module of threads takes 2 ms to load, so only a thread
 * asks it: none but the main one may change the folder that the process is in.
 */
function threadNumber(): number {
  thread ??= isMainThread() ? 0 : process.getBuiltinModule('node:worker_threads').threadId;
  return thread;
}

function isMainThread(): boolean {
  try {
    process.chdir('.');
    return true;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code !== 'ERR_WORKER_UNSUPPORTED_OPERATION';
  }
}

/** The machine's name as eight digits (FNV-1a, 32 bits), which any file system takes. */
function machineMark(): string {
  if (machine === undefined) {
    let hash = 0x811c9dc5;
    for (const letter of hostname()) hash = Math.imul(hash ^ letter.charCodeAt(0), 0x01000193);
    machine = (hash >>> 0).toString(16).padStart(8, '0');
  }
  return machine;
}
