/**
 * Watches a patch: its file, its parts and its rack. Their names, sizes and times are looked at ten
 * times a second rather than asking the system to tell: editors that write another file and rename it,
 * network disks, and folders shared with a container are then all the same. A change is taken up once
 * nothing has moved between two looks.
 */

import { statSync } from 'node:fs';
import { resolve } from 'node:path';
import { fileText, haveSameTexts, type LoadedTexts } from '../patch/texts.ts';
import { Stop } from './exit.ts';
import { findPatch } from './read-patch.ts';

const LOOK_MS = 100;

/** What the files hold, or why they cannot be read. */
export type Seen = LoadedTexts | Stop;

export interface WatchOptions {
  readonly set: readonly string[];
  readonly rack?: string | undefined;
  /** Called whenever a text has changed, a file has come or gone. */
  readonly onChange: (seen: Seen) => void;
}

export class PatchWatch {
  private readonly file: string;
  private readonly options: WatchOptions;
  private readonly timer: NodeJS.Timeout;
  /** Standard input can be read once. */
  private stdin: string | undefined;
  private paths: readonly string[] = [];
  private stamp = '';
  private moving = false;
  private now: Seen;
  /** What the files held at the start. */
  readonly first: LoadedTexts;

  /**
   * Reads the patch and goes on watching until closed.
   * @throws Stop if the file cannot be read at the start.
   */
  constructor(file: string, options: WatchOptions) {
    this.file = file;
    this.options = options;
    const first = this.read();
    if (first instanceof Stop) throw first;
    this.first = first;
    this.now = first;
    this.timer = setInterval(() => this.look(), LOOK_MS);
  }

  close(): void {
    clearInterval(this.timer);
  }

  private look(): void {
    const stamp = stampOf(this.paths);
    if (stamp !== this.stamp) {
      this.stamp = stamp;
      this.moving = true;
      return;
    }
    if (!this.moving) return;
    this.moving = false;
    const before = this.now;
    this.now = this.read();
    if (!isSame(before, this.now)) this.options.onChange(this.now);
  }

  private read(): Seen {
    const { set, rack } = this.options;
    let seen: Seen;
    let paths: readonly string[] = [this.file, ...(rack === undefined ? [] : [rack])];
    try {
      seen = findPatch(this.file, set, rack, this.stdin);
      const { texts, missing } = seen;
      paths = [...Object.keys(texts.texts), ...missing];
      if (this.file === '-') this.stdin = fileText(texts, '-');
    } catch (error) {
      if (!(error instanceof Stop)) throw error;
      seen = error;
      paths = [...new Set([...paths, ...this.paths])];
    }
    this.follow(paths.filter((name) => name !== '-'));
    return seen;
  }

  /** Files that were not followed before may have changed since they were read: they are read again. */
  private follow(paths: readonly string[]): void {
    if (paths.join('\n') === this.paths.join('\n')) return;
    this.paths = paths;
    this.stamp = stampOf(paths);
    this.moving = true;
  }
}

function stampOf(paths: readonly string[]): string {
  return paths.map(stampOfFile).join(' ');
}

function stampOfFile(path: string): string {
  try {
    const { ino, size, mtimeMs, ctimeMs } = statSync(resolve('.', path));
    return `${ino}:${size}:${mtimeMs}:${ctimeMs}`;
  } catch {
    return 'none';
  }
}

function isSame(one: Seen, other: Seen): boolean {
  if (one instanceof Stop || other instanceof Stop)
    return one instanceof Stop && other instanceof Stop && one.message === other.message;
  return haveSameTexts(one.texts, other.texts);
}
