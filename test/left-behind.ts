/**
 * What a test could change for those that share its process: the environment, the folder, the exit code, listeners,
 * globals, and what the language and Node themselves offer. Files in the temporary folder go with the run.
 */

import fc from 'fast-check';
import { vi } from 'vitest';

/** By what it is, such as `process.env.HOME`: whatever identifies it. */
export type State = ReadonlyMap<string, unknown>;

/** Objects whose members are looked at one by one: what spies and stubs are put on. */
const WATCHED: Readonly<Record<string, object>> = {
  ...{ globalThis, console, Math, JSON, Date, Object, Array, Promise, Reflect, performance },
  ...{ 'process.stdout': process.stdout, 'process.stderr': process.stderr },
  'Array.prototype': Array.prototype,
  'Float32Array.prototype': Float32Array.prototype,
  'Float64Array.prototype': Float64Array.prototype,
  'Function.prototype': Function.prototype,
  'Map.prototype': Map.prototype,
  'Number.prototype': Number.prototype,
  'Object.prototype': Object.prototype,
  'Promise.prototype': Promise.prototype,
  'Set.prototype': Set.prototype,
  'String.prototype': String.prototype,
  WebAssembly: (globalThis as unknown as { readonly WebAssembly: object }).WebAssembly,
};

/** Members of `process` that are functions or constant; others change by themselves. */
const CHANGING = [
  // Packages wrap these, to remember the folder.
  ...['cwd', 'chdir'],
  'exitCode',
  'env',
  'stdin',
  'stdout',
  'stderr',
  'domain',
  '_exiting',
];
/** What Vitest keeps for itself, and what the package that lays out diagrams makes when it is loaded. */
const OWN = /^(?:__vitest|__vite|VITEST|Symbol\(|goog$)/;
/** What `test/circuits/shim` gives the sources of circuits, the same for all files that run them in JavaScript. */
const OF_CIRCUITS = /^(?:StaticArray|f64|i32|u32|ctz|changetype|memory|f64x2|i64x2|v128)$/;
/** The browser that the files of a worker share is ended by these, whoever opens it. */
const OF_BROWSER = /^(?:exit|sigint|sigterm|sighup)Handler$/;

/** Looks at all that a test could change. */
export function stateNow(): State {
  const state = new Map<string, unknown>([
    ['process.cwd()', process.cwd()],
    ['process.exitCode', process.exitCode],
    ['the configuration of fast-check', JSON.stringify(fc.readConfigureGlobal())],
    ['fake timers', vi.isFakeTimers()],
  ]);
  for (const [name, value] of Object.entries(process.env))
    if (!OWN.test(name)) state.set(`process.env.${name}`, value);
  // The outputs of threads that files share are piped into the process's own, which therefore are left out.
  const emitter: NodeJS.EventEmitter = process;
  for (const event of emitter.eventNames()) {
    const all = emitter.listeners(event).filter(({ name }) => !OF_BROWSER.test(name));
    if (all.length > 0) state.set(`listeners of process for ${String(event)}`, all.length);
  }
  for (const [of, object] of Object.entries(WATCHED)) addMembers(state, of, object);
  addMembers(state, 'process', process, CHANGING);
  return state;
}

function addMembers(
  state: Map<string, unknown>,
  of: string,
  object: object,
  but: readonly string[] = [],
): void {
  for (const key of Reflect.ownKeys(object)) {
    const name = String(key);
    if (but.includes(name) || OWN.test(name) || name.startsWith('_')) continue;
    if (object === globalThis && OF_CIRCUITS.test(name)) continue;
    const { value, get } = Reflect.getOwnPropertyDescriptor(object, key) as PropertyDescriptor;
    // A plain value changes as a program runs; a function changes only if somebody puts another in its place.
    state.set(`${of}.${name}`, get ?? (typeof value === 'function' ? value : typeof value));
  }
}

/** What differs between two states, a phrase each. */
export function leftBehind(before: State, after: State): readonly string[] {
  return [...new Set([...before.keys(), ...after.keys()])]
    .filter(
      (name) => !Object.is(before.get(name), after.get(name)) && !isLoaded(name, before, after),
    )
    .map((name) => `${name}: ${shown(before, name)}, then ${shown(after, name)}`);
}

/** Whether Node has put a global in place of what loads it when it is first used. */
function isLoaded(name: string, before: State, after: State): boolean {
  const [getter, value] = [before.get(name), after.get(name)];
  const isLazy = name.startsWith('globalThis.') && typeof getter === 'function';
  return isLazy && /^(?:get |value$)/.test(getter.name) && !vi.isMockFunction(value);
}

function shown(state: State, name: string): string {
  if (!state.has(name)) return 'absent';
  const value = state.get(name);
  return typeof value === 'function' ? 'a function' : String(value);
}
