/** What has to be removed should this process end before it is finished: files and folders in the making. */

import { mkdirSync, rmdirSync } from 'node:fs';
import { dirname, resolve } from 'node:path';

export interface Unfinished {
  /** Removes it at once, without waiting for anything. */
  abandon(): void;
}

const unfinished = new Set<Unfinished>();
let onChange: (some: boolean) => void = () => {};

/** Notes that something is in the making. */
export function begin(one: Unfinished): void {
  unfinished.add(one);
  if (unfinished.size === 1) onChange(true);
}

/** Notes that it is finished or gone. */
export function end(one: Unfinished): void {
  if (unfinished.delete(one) && unfinished.size === 0) onChange(false);
}

/** Folders that this process has made, each with the highest that was made for it. */
const folders: (readonly [folder: string, highest: string])[] = [];

/** Makes a folder, and those above it, where there is none; goes with the process if nothing comes into it. */
export function makeFolder(folder: string): void {
  const highest = mkdirSync(folder, { recursive: true });
  if (highest !== undefined) folders.push([resolve(folder), resolve(highest)]);
}

function removeEmpty([folder, highest]: readonly [string, string]): void {
  for (let at = folder; at.startsWith(highest); at = dirname(at)) rmdirSync(at);
}

/** Removes all that is in the making, and the folders that were made for it. */
export function abandonUnfinished(): void {
  const made = folders.map((one) => ({ abandon: () => removeEmpty(one) }));
  for (const one of [...unfinished, ...made]) {
    try {
      one.abandon();
    } catch {
      // The others still have to be removed.
    }
  }
}

/** @param listener is told whenever there begins to be something, or nothing any more. */
export function watchUnfinished(listener: (some: boolean) => void): void {
  onChange = listener;
  listener(unfinished.size > 0);
}
