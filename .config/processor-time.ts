/** Processor time of a process with all that it starts: commands, a browser and its pages. */

import { readdirSync, readFileSync } from 'node:fs';

/** ms in one of the ticks in which Linux counts: USER_HZ, 100 a second on all that Node runs on. */
const TICK = 10;

/** What `/proc` says of a process, in ticks. Source: proc(5), /proc/pid/stat. */
interface Process {
  readonly parent: number;
  readonly own: number;
  /** What those that it started and waited for have used, and theirs. */
  readonly ended: number;
}

/**
 * @returns ms of processor time so far of this process, of those below it, and of those below it that have ended.
 *   Without `/proc`, only of this process.
 */
export function processorTime(): number {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1000 + TICK * ticksBelow(process.pid, processes());
}

function ticksBelow(pid: number, all: ReadonlyMap<number, Process>): number {
  let ticks = all.get(pid)?.ended ?? 0;
  for (const [child, { parent, own }] of all)
    if (parent === pid) ticks += own + ticksBelow(child, all);
  return ticks;
}

function processes(): ReadonlyMap<number, Process> {
  const all = new Map<number, Process>();
  for (const name of existing('/proc')) {
    if (!/^\d+$/.test(name)) continue;
    // The second field is the program's name in parentheses, in which there may be anything.
    const fields = read(`/proc/${name}/stat`)
      .replace(/^.*\) /s, '')
      .split(' ')
      .map(Number);
    const [, parent = 0] = fields;
    const [user = 0, system = 0, endedUser = 0, endedSystem = 0] = fields.slice(11, 15);
    all.set(Number(name), { parent, own: user + system, ended: endedUser + endedSystem });
  }
  return all;
}

function existing(folder: string): readonly string[] {
  try {
    return readdirSync(folder);
  } catch {
    return [];
  }
}

/** @returns '' where the process has ended meanwhile. */
function read(path: string): string {
  try {
    return readFileSync(path, 'latin1');
  } catch {
    return '';
  }
}
