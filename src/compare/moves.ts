/** The steps that turn one patch into another by hand: modules, cables and dials, in the order of patching. */

import { localName } from '../findings/words.ts';
import type { Score } from '../modules/score.ts';
import { cableList } from '../output/sheet/cables.ts';
import {
  type Cable,
  type JackRef,
  jackName,
  type Patch,
  type PatchModule,
} from '../patch/patch.ts';
import { settingText } from '../patch/setting-text.ts';
import { isScoreSpec } from '../patch/settings.ts';
import type { Words } from '../patch/words.ts';

export interface Move {
  /**
   * `reuse` a module under the name that the other patch has for it; `turn` a dial or switch; `write` the
   * patterns of a rhythm, or the seed.
   */
  readonly type: 'pull' | 'take-out' | 'reuse' | 'bring' | 'turn' | 'plug' | 'write';
  /** A cable, a module, a setting, or a line of a pattern. */
  readonly what: string;
  /** Absent where there was nothing; for a module its kind. */
  readonly from?: string;
  /** Absent where it is taken out. */
  readonly to?: string;
}

/**
 * Lists the moves from one patch to another; none if both are patched and set alike, and so sound the same.
 * A module is the same if it has the same name and kind. Of those left, one of the same kind is used
 * again: the one of the same name within its part, otherwise the first.
 */
export function movesBetween(before: Patch, after: Patch): readonly Move[] {
  const was = reused(before.modules, after.modules);
  const pairs = after.modules.map((is) => ({ was: was.get(is), is }));
  const used = new Set(was.values());
  const gone = before.modules.filter((module) => !used.has(module));
  const nowCalled = new Map([...was].map(([is, { name }]) => [name, is.name]));
  const renamed = (cable: Cable): Cable => {
    const end = (ref: JackRef): JackRef => ({
      ...ref,
      module: nowCalled.get(ref.module) ?? `(${ref.module})`,
    });
    return { ...cable, from: end(cable.from), to: end(cable.to) };
  };
  const there = new Set(before.cables.map((cable) => nameOf(renamed(cable))));
  const wanted = new Set(after.cables.map(nameOf));
  return [
    ...inOrder(before)
      .filter((cable) => !wanted.has(nameOf(renamed(cable))))
      .map((cable): Move => ({ type: 'pull', what: nameOf(cable) })),
    ...gone.map(
      (module): Move => ({
        type: 'take-out',
        what: module.name,
        from: module.definition.kind,
      }),
    ),
    ...pairs.flatMap(({ was, is }): Move[] => {
      if (was === undefined) return [{ type: 'bring', what: is.name, to: is.definition.kind }];
      return was.name === is.name ? [] : [{ type: 'reuse', what: is.name, from: was.name }];
    }),
    ...pairs.flatMap(({ was, is }) => (was === undefined ? setByHand(is) : turned(was, is))),
    ...inOrder(after)
      .filter((cable) => !there.has(nameOf(cable)))
      .map((cable): Move => ({ type: 'plug', what: nameOf(cable) })),
    ...pairs.flatMap(({ was, is }) => changes(played(was), played(is), is.name)),
    ...(before.seed === after.seed
      ? []
      : [{ type: 'write', what: 'seed', from: before.seed, to: after.seed } as const]),
  ];
}

/** For each module of `after`, the one of `before` that is used for it. */
function reused(
  before: readonly PatchModule[],
  after: readonly PatchModule[],
): ReadonlyMap<PatchModule, PatchModule> {
  const found = new Map<PatchModule, PatchModule>();
  const free = new Set(before);
  const like: readonly ((is: PatchModule, was: PatchModule) => boolean)[] = [
    (is, was) => is.name === was.name,
    (is, was) => localName(is.name) === localName(was.name),
    () => true,
  ];
  for (const isLike of like)
    for (const is of after) {
      if (found.has(is)) continue;
      const was = [...free].find(
        (one) => one.definition.kind === is.definition.kind && isLike(is, one),
      );
      if (was === undefined) continue;
      free.delete(was);
      found.set(is, was);
    }
  return found;
}

function nameOf({ from, to }: Cable): string {
  return `${jackName(from)} -> ${jackName(to)}`;
}

function inOrder(patch: Patch): readonly Cable[] {
  return cableList(patch).flatMap(({ cables }) => cables);
}

/** The settings that the file gives to a new module. */
function setByHand(module: PatchModule): Move[] {
  return dialsOf(module)
    .filter((name) => module.settingPlaces.has(name))
    .map((name) => ({
      type: 'turn',
      what: `${module.name}.${name}`,
      to: settingText(module, name),
    }));
}

function turned(was: PatchModule, is: PatchModule): Move[] {
  return dialsOf(is)
    .filter((name) => JSON.stringify(was.settings[name]) !== JSON.stringify(is.settings[name]))
    .map((name) => ({
      type: 'turn',
      what: `${is.name}.${name}`,
      from: settingText(was, name),
      to: settingText(is, name),
    }));
}

function dialsOf({ definition }: PatchModule): readonly string[] {
  return Object.entries(definition.settings)
    .filter(([, spec]) => !isScoreSpec(spec))
    .map(([name]) => name);
}

/** The patterns of a rhythm, line by line, in the file's words. */
function played(module: PatchModule | undefined): ReadonlyMap<string, string> {
  const lines = new Map<string, string>();
  const { written, settings } = module ?? {};
  const { patterns = [], song = [], channels = [] } = (settings ?? {}) as Partial<Score>;
  patterns.forEach((pattern, index) => {
    const own = written?.patterns[index];
    const of = `patterns.${pattern.name}`;
    const words = wordsText(own?.words);
    if (words !== '') lines.set(of, words);
    pattern.lines.forEach((line, at) => {
      const said = own?.lines[at];
      const steps = [...(said?.at ?? [])].map(([step, its]) => `at ${step}: ${wordsText(its)}`);
      const all = [`"${said?.tab ?? ''}"`, wordsText(said?.words), ...steps].filter(Boolean);
      lines.set(`${of}.${channels[line.channel]?.name}`, all.join(', '));
    });
  });
  const entries = song.map(({ pattern, repeats }, index) => {
    const own = wordsText(written?.song[index]);
    return `${patterns[pattern]?.name}${repeats === 1 ? '' : ` x ${repeats}`}${own && ` (${own})`}`;
  });
  if (entries.length > 0) lines.set('song', entries.join(', '));
  return lines;
}

function wordsText(words: Words = new Map()): string {
  return [...words].map(([key, value]) => `${key}: ${value}`).join(', ');
}

function changes(
  was: ReadonlyMap<string, string>,
  is: ReadonlyMap<string, string>,
  module: string,
): Move[] {
  const keys = new Set([...was.keys(), ...is.keys()]);
  return [...keys].flatMap((key): Move[] => {
    const [from, to] = [was.get(key), is.get(key)];
    if (from === to) return [];
    return [
      {
        type: 'write',
        what: `${module}.${key}`,
        ...(from !== undefined && { from }),
        ...(to !== undefined && { to }),
      },
    ];
  });
}
