/**
 * Watches a patch: its file, its parts and its rack. Their names, sizes and times are looked at ten
 * times a second rather than asking the system for events: this works alike for editors that write another
 * file and rename it, for network disks, and for folders shared with a container. A change is taken up once
 * nothing has changed between two looks, nor during the reading: many editors empty a file and then write it.
 */

import { statSync } from 'node:fs';
import { resolve } from 'node:path';
import { fileText, haveSameTexts, type LoadedTexts } from '../patch/texts.ts';
import { Stop } from './exit.ts';
import { findPatch } from './read-patch.ts';

const LOOK_MS = 100;
/** Two looks at least this far apart must see the same: a busy machine may bring looks close together. */
const STEADY_MS = LOOK_MS / 2;
/** For this long an empty file is taken to be one that is about to be written. */
const EMPTY_MS = 1000;

/** What the files hold, or why they cannot be read. */
export type Seen = LoadedTexts | Stop;

export interface WatchOptions {
  readonly set: readonly string[];
  readonly rack?: string | undefined;
  /** Called whenever a text has changed, or a file has appeared or gone. */
  readonly onChange: (seen: Seen) => void;
}

export class PatchWatch {
  private readonly file: string;
  private readonly options: WatchOptions;
  private readonly timer: NodeJS.Timeout;
  /** Standard input can be read once. */
  private stdin: string | undefined;
  private paths: readonly string[] = [];
  private stamp: Stamp = { text: '', hasEmpty: false };
  private moving = false;
  /** When the stamp was first seen, in ms. */
  private since = 0;
  private now: Seen;
  /** What the files held at the start. */
  readonly first: LoadedTexts;

  /**
   * Reads the patch and watches it until closed.
   * @throws Stop if the file cannot be read at the start.
   */
  constructor(file: string, options: WatchOptions) {
    this.file = file;
    this.options = options;
    const { seen, paths } = this.read();
    if (seen instanceof Stop) throw seen;
    this.first = seen;
    this.now = seen;
    this.follow(paths);
    this.timer = setInterval(() => this.look(), LOOK_MS);
  }

  close(): void {
    clearInterval(this.timer);
  }

  private look(): void {
    const stamp = stampOf(this.paths);
    const time = performance.now();
    if (stamp.text !== this.stamp.text) {
      this.stamp = stamp;
      this.since = time;
      this.moving = true;
      return;
    }
    if (!this.moving || time - this.since < (stamp.hasEmpty ? EMPTY_MS : STEADY_MS)) return;
    const { seen, paths } = this.read();
    // It was written while it was read: the next look sees that.
    if (stampOf(this.paths).text !== stamp.text) return;
    this.moving = false;
    this.follow(paths);
    const before = this.now;
    this.now = seen;
    if (!isSame(before, seen)) this.options.onChange(seen);
  }

  private read(): { seen: Seen; paths: readonly string[] } {
    const { set, rack } = this.options;
    try {
      const seen = findPatch(this.file, set, rack, this.stdin);
      const { texts, missing } = seen;
      if (this.file === '-') this.stdin = fileText(texts, '-');
      return { seen, paths: [...Object.keys(texts.texts), ...missing] };
    } catch (error) {
      if (!(error instanceof Stop)) throw error;
      const named = [this.file, ...(rack === undefined ? [] : [rack])];
      return { seen: error, paths: [...new Set([...named, ...this.paths])] };
    }
  }

  /** Files that were not followed before may have changed since they were read: they are read again. */
  private follow(read: readonly string[]): void {
    const paths = read.filter((name) => name !== '-');
    if (paths.join('\n') === this.paths.join('\n')) return;
    this.paths = paths;
    this.stamp = stampOf(paths);
    this.since = performance.now();
    this.moving = true;
  }
}

/** What distinguishes one state of files from another. */
interface Stamp {
  readonly text: string;
  readonly hasEmpty: boolean;
}

function stampOf(paths: readonly string[]): Stamp {
  const stamps = paths.map(stampOfFile);
  return {
    text: stamps.map(({ text }) => text).join(' '),
    hasEmpty: stamps.some(({ hasEmpty }) => hasEmpty),
  };
}

function stampOfFile(path: string): Stamp {
  try {
    const { ino, size, mtimeMs, ctimeMs } = statSync(resolve('.', path));
    return { text: `${ino}:${size}:${mtimeMs}:${ctimeMs}`, hasEmpty: size === 0 };
  } catch {
    return { text: 'none', hasEmpty: false };
  }
}

function isSame(one: Seen, other: Seen): boolean {
  if (one instanceof Stop || other instanceof Stop)
    return one instanceof Stop && other instanceof Stop && one.message === other.message;
  return haveSameTexts(one.texts, other.texts);
}
