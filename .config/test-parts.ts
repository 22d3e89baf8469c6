/**
 * Which part of the tests a file is in: decided by the modules that it can reach, so that a new file is sorted
 * automatically.
 */

import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join, relative } from 'node:path';

/** In the order in which they run: long parts first and the many short files last, so that no core waits at the end. */
export const PARTS = ['pages', 'commands', 'long', 'spying', 'core', 'alone'] as const;
export type Part = (typeof PARTS)[number];

/** Files that take a minute or more, which begin before the others of their part. */
export const FIRST: readonly string[] = [
  'test/page/controls-served.test.ts',
  'test/page/controls.test.ts',
  'test/page/sheet.test.ts',
  'test/cli/controls.test.ts',
  'test/cli/files.test.ts',
];

/** These record the browser's output in real time, which a busy machine cannot do. */
export const ALONE: readonly string[] = ['test/page/long-song.test.ts', 'test/page/play.test.ts'];
/**
 * Files that would be in the core, but take about four seconds or more of a worker that has nothing else to
 * do, since they play much, or try a property often; or that are long by what they do: they go through hours, or
 * through all that there is to choose from. Without these the core is fast.
 */
export const LONG: readonly string[] = [
  'test/circuits/kinds.test.ts',
  'test/cli/render-thread.test.ts',
  'test/compare/comparison.test.ts',
  'test/engine/recording.test.ts',
  'test/engine/resting.test.ts',
  'test/engine/trace.test.ts',
  'test/findings/mend/barred-mends.test.ts',
  'test/findings/mending-racks.test.ts',
  'test/findings/plan-sound.test.ts',
  'test/findings/plan.test.ts',
  'test/findings/suite.test.ts',
  'test/findings/survey-times.test.ts',
  'test/findings/triggers/behind-comparators.test.ts',
  'test/findings/triggers/chains.test.ts',
  'test/findings/triggers/corners.test.ts',
  'test/findings/triggers/envelope-corners.test.ts',
  'test/findings/triggers/moved-corners.test.ts',
  'test/findings/triggers/sound-corners.test.ts',
  'test/findings/triggers/swing-corners.test.ts',
  'test/fit/built/built.test.ts',
  'test/fit/fit.test.ts',
  'test/fit/harmless.test.ts',
  'test/fit/made-up-kinds.test.ts',
  'test/fit/recorded.test.ts',
  'test/hazards.test.ts',
  'test/measure/dials/dials.test.ts',
  'test/measure/dials/stated-errors.test.ts',
  'test/measure/hits/flams/drags.test.ts',
  'test/measure/hits/hits.test.ts',
  'test/measure/hits/onsets.test.ts',
  'test/measure/hits/reliability.test.ts',
  'test/measure/hits/stroke-evidence.test.ts',
  'test/measure/hits/tempo-claims.test.ts',
  'test/measure/hits/tempo.test.ts',
  'test/measure/pulses/pulses.test.ts',
  'test/measure/pulses/settling.test.ts',
  'test/measure/signal.test.ts',
  'test/modules/oscillator.test.ts',
  'test/output/diagram/block-diagram.test.ts',
  'test/output/score/midi-clock.test.ts',
  'test/output/sheet/rebuild.test.ts',
  'test/output/shown-values.test.ts',
  'test/page/worker/change.test.ts',
  'test/page/worker/engine.test.ts',
  'test/page/worker/told.test.ts',
  'test/page/worker/voice.test.ts',
  'test/patch/fuzz.test.ts',
  'test/patches/voices.test.ts',
  'test/size.test.ts',
  'test/timing/edges.test.ts',
  'test/timing/ten-hours.test.ts',
  'test/wav/read-wav.test.ts',
];

/** What puts a spy in place of a module, which files that share one load of it cannot. */
const SPIES = /^vi\.(?:do)?mock\(/im;

/**
 * Sorts the test files under `root`. A file that reaches a browser belongs to the pages, one that reaches
 * `child_process` and so can run a command to the commands, one that puts spies in place of modules to the
 * spying, and all others to the core, except the long ones that are named here.
 * @param root the folder that `test` is in.
 * @returns for each part its files, relative to `root`, with slashes.
 */
export function testParts(root: string): Readonly<Record<Part, readonly string[]>> {
  const parts: Record<Part, string[]> = {
    pages: [],
    commands: [],
    long: [],
    core: [],
    spying: [],
    alone: [],
  };
  const imports = new Map<string, readonly string[]>();
  const importsOf = (file: string): readonly string[] => {
    const known = imports.get(file);
    if (known !== undefined) return known;
    const found = importsIn(file);
    imports.set(file, found);
    return found;
  };
  for (const file of testFiles(root)) {
    const packages = packagesFrom(join(root, file), importsOf);
    if (ALONE.includes(file)) parts.alone.push(file);
    else if (packages.has('playwright-core')) parts.pages.push(file);
    else if (packages.has('node:child_process')) parts.commands.push(file);
    else if (SPIES.test(readFileSync(join(root, file), 'utf8'))) parts.spying.push(file);
    else if (LONG.includes(file)) parts.long.push(file);
    else parts.core.push(file);
  }
  return parts;
}

/** Every test file under `root`, with slashes. */
export function testFiles(root: string): string[] {
  return readdirSync(join(root, 'test'), { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile() && entry.name.endsWith('.test.ts'))
    .map((entry) => relative(root, join(entry.parentPath, entry.name)).replaceAll('\\', '/'))
    .sort();
}

/** The packages that a file imports, directly or through other files. */
function packagesFrom(
  file: string,
  importsOf: (file: string) => readonly string[],
): ReadonlySet<string> {
  const packages = new Set<string>();
  const seen = new Set([file]);
  for (const here of seen)
    for (const name of importsOf(here))
      if (name.startsWith('.')) seen.add(join(here, '..', name));
      else packages.add(name);
  return packages;
}

/** What a file imports at run time: imports of types are not included. */
function importsIn(file: string): readonly string[] {
  if (!existsSync(file)) return [];
  const text = readFileSync(file, 'utf8').replace(/\bimport type\b[^;]*;/g, '');
  return [...text.matchAll(/(?:\bfrom|\bimport)\s*\(?\s*'([^']+)'/g)].map(
    ([, name]) => name as string,
  );
}
