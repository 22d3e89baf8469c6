/** The steps that turn one patch into another by hand: modules, cables and dials, in the order of patching. */

import { localName } from '../findings/words.ts';
import type { Score } from '../modules/score.ts';
import { cableList } from '../output/sheet/cables.ts';
import { dialWords } from '../output/sheet/settings.ts';
import {
  type Cable,
  type JackRef,
  jackName,
  type Patch,
  type PatchModule,
} from '../patch/patch.ts';
import { settingText } from '../patch/setting-text.ts';
import { isScoreSpec } from '../patch/settings.ts';
import { formatBriefly } from '../patch/units.ts';
import type { Words } from '../patch/words.ts';

/** More digits than a value has that is not rounded. */
const MOST_DIGITS = 12;

export interface Move {
  /**
   * `reuse` a module under the name that the other patch has for it; `turn` a dial or switch; `choose` what no hand
   * turns, the jacks of a multiple and a recording; `write` the channels and patterns of a rhythm, the seed, or what the rack has: its file, and which of its units a module is.
   */
  readonly type: 'pull' | 'take-out' | 'reuse' | 'bring' | 'turn' | 'choose' | 'plug' | 'write';
  /** A cable, a module, a setting, or a line of a pattern. */
  readonly what: string;
  /** Absent where there was nothing; for a module its kind. */
  readonly from?: string;
  /** Absent where it is taken out. */
  readonly to?: string;
  /** Positions of a dial, `dial 3.4`, where a file or a rack tells them. */
  readonly fromDial?: string;
  readonly toDial?: string;
  /** Whether the other patch leaves a setting unset whose value `to` has in four digits, of more. */
  readonly isUnset?: true;
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
    ...pairs.flatMap(({ was, is }) =>
      was === undefined ? setByHand(is, after) : turned({ was, is, before, after }),
    ),
    ...inOrder(after)
      .filter((cable) => !there.has(nameOf(cable)))
      .map((cable): Move => ({ type: 'plug', what: nameOf(cable) })),
    ...pairs.flatMap(({ was, is }) => changes(played(was), played(is), is.name)),
    ...rewritten('rack', before.owned?.file, after.owned?.file),
    ...pairs.flatMap(({ was, is }) =>
      was?.unit?.place || is.unit?.place
        ? rewritten(`${is.name}.unit`, was?.unit?.name, is.unit?.name)
        : [],
    ),
    ...rewritten('seed', before.seed, after.seed),
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

function rewritten(what: string, from: string | undefined, to: string | undefined): Move[] {
  if (from === to) return [];
  const ends = { ...(from !== undefined && { from }), ...(to !== undefined && { to }) };
  return [{ type: 'write', what, ...ends }];
}

/** The settings that the file gives to a new module. */
function setByHand(module: PatchModule, patch: Patch): Move[] {
  return dialsOf(module)
    .filter((name) => module.settingPlaces.has(name))
    .map((name) => ({
      type: handOf(name, module),
      what: `${module.name}.${name}`,
      ...aimed(module, name, patch),
    }));
}

interface Pairing {
  readonly was: PatchModule;
  readonly is: PatchModule;
  readonly before: Patch;
  readonly after: Patch;
}

function turned({ was, is, before, after }: Pairing): Move[] {
  return dialsOf(is)
    .filter((name) => JSON.stringify(was.settings[name]) !== JSON.stringify(is.settings[name]))
    .map((name) => {
      const fromDial = dialWords(name, was, before);
      return {
        type: handOf(name, is),
        what: `${is.name}.${name}`,
        from: settingText(was, name),
        ...aimed(is, name, after),
        ...(fromDial !== undefined && { fromDial }),
      };
    });
}

function handOf(name: string, { definition }: PatchModule): 'turn' | 'choose' {
  const { grows, settings } = definition;
  return name === grows || settings[name]?.type === 'recording' ? 'choose' : 'turn';
}

/** What a setting is to become. */
function aimed(
  module: PatchModule,
  name: string,
  patch: Patch,
): Pick<Move, 'to' | 'toDial' | 'isUnset'> {
  const { definition, settings, settingPlaces } = module;
  const toDial = dialWords(name, module, patch);
  const spec = definition.settings[name];
  const value = settings[name];
  const isRounded =
    !settingPlaces.has(name) &&
    spec !== undefined &&
    'max' in spec &&
    spec.type !== 'row' &&
    formatBriefly(value as number, spec.type) !==
      formatBriefly(value as number, spec.type, MOST_DIGITS);
  return {
    to: settingText(module, name),
    ...(toDial !== undefined && { toDial }),
    ...(isRounded && { isUnset: true }),
  };
}

function dialsOf({ definition }: PatchModule): readonly string[] {
  return Object.entries(definition.settings)
    .filter(([, spec]) => !isScoreSpec(spec))
    .map(([name]) => name);
}

/** The channels and patterns of a rhythm, line by line, in the file's words. */
function played(module: PatchModule | undefined): ReadonlyMap<string, string> {
  const lines = new Map<string, string>();
  const { written, settings } = module ?? {};
  const { patterns = [], song = [], channels = [] } = (settings ?? {}) as Partial<Score>;
  if (channels.length > 0) lines.set('channels', channels.map(({ name }) => name).join(', '));
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
  return [...keys].flatMap((key) => rewritten(`${module}.${key}`, was.get(key), is.get(key)));
}
