/** Processor time of a process with all that it starts: commands, a browser and its pages. */

import { existsSync, readdirSync, readFileSync } from 'node:fs';

/** ms in one of the ticks in which Linux counts: USER_HZ, 100 a second on all that Node runs on. */
const TICK = 10;

/** Whether the kernel lists the children of a thread (CONFIG_PROC_CHILDREN): proc(5), /proc/pid/task/tid/children. */
const LISTS = existsSync(`/proc/${process.pid}/task/${process.pid}/children`);

/**
 * @returns ms of processor time so far of this process, of those below it, and of those below it that have ended.
 *   Without `/proc`, only of this process.
 */
export function processorTime(): number {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1000 + TICK * ticksBelow(process.pid, LISTS ? listed : parentage());
}

function ticksBelow(pid: number, childrenOf: (pid: number) => readonly number[]): number {
  let ticks = ticksOf(pid).ended;
  for (const child of childrenOf(pid)) ticks += ticksOf(child).own + ticksBelow(child, childrenOf);
  return ticks;
}

/** Ticks of a process itself, and of those that it started and waited for, and theirs. Source: proc(5), /proc/pid/stat. */
function ticksOf(pid: number): { readonly own: number; readonly ended: number } {
  const [user = 0, system = 0, endedUser = 0, endedSystem = 0] = statOf(pid).slice(11, 15);
  return { own: user + system, ended: endedUser + endedSystem };
}

/** The fields after the program's name, which stands in parentheses and may hold anything. */
function statOf(pid: number | string): readonly number[] {
  const text = read(`/proc/${pid}/stat`);
  return text === ''
    ? []
    : text
        .replace(/^.*\) /s, '')
        .split(' ')
        .map(Number);
}

function listed(pid: number): readonly number[] {
  return existing(`/proc/${pid}/task`)
    .flatMap((thread) => read(`/proc/${pid}/task/${thread}/children`).split(' '))
    .filter((child) => child !== '')
    .map(Number);
}

/** Reads every process of the machine: beside a hundred others, 30 times as long as following the lists. */
function parentage(): (pid: number) => readonly number[] {
  const children = new Map<number, number[]>();
  for (const name of existing('/proc')) {
    const [, parent] = /^\d+$/.test(name) ? statOf(name) : [];
    if (parent !== undefined) children.set(parent, [...(children.get(parent) ?? []), Number(name)]);
  }
  return (pid) => children.get(pid) ?? [];
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
