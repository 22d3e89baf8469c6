/** Changes of a patch's plugs and modules, each giving another patch. What is left without use goes too. */

import type { AnyValues, Definition } from '../../modules/definition.ts';
import { multiple } from '../../modules/multiple.ts';
import {
  type Cable,
  type JackRef,
  jackName,
  type Patch,
  type PatchModule,
} from '../../patch/patch.ts';
import type { Place } from '../../patch/text/place.ts';
import { oneMoreJack } from '../mend/one-more-jack.ts';
import { freshName, localName } from '../words.ts';

export function moduleNamed({ modules }: Patch, name: string): PatchModule | undefined {
  return modules.find((module) => module.name === name);
}

export function cableFrom({ cables }: Patch, jack: JackRef): Cable | undefined {
  return cables.find(({ from }) => jackName(from) === jackName(jack));
}

export function cableTo({ cables }: Patch, jack: JackRef): Cable | undefined {
  return cables.find(({ to }) => jackName(to) === jackName(jack));
}

/** The patch with other settings of a module. */
export function withSettings(patch: Patch, name: string, changed: AnyValues): Patch {
  return {
    ...patch,
    modules: patch.modules.map((module) => {
      if (module.name !== name) return module;
      const settings = { ...module.settings, ...changed };
      // A changed setting counts as written from now on, wherever its value came from.
      const places = new Map(module.settingPlaces);
      for (const setting of Object.keys(changed))
        if (!places.has(setting)) places.set(setting, module.place);
      return {
        ...module,
        settings,
        settingPlaces: places,
        jacks: module.definition.jacks(settings),
      };
    }),
  };
}

/** The patch with a module more, and its name. */
export function withModule(
  patch: Patch,
  definition: Definition,
  wanted: string,
  changed: AnyValues,
): readonly [patch: Patch, name: string] {
  const name = freshName(wanted, patch);
  const usual = Object.entries(definition.settings).map(([setting, spec]) => [
    setting,
    'fallback' in spec ? spec.fallback : undefined,
  ]);
  const settings = { ...Object.fromEntries(usual), ...changed };
  const module: PatchModule = {
    name,
    definition,
    settings,
    jacks: definition.jacks(settings),
    place: { file: patch.file, line: 1, column: 1, length: 1 },
    settingPlaces: new Map(),
  };
  return [{ ...patch, modules: [...patch.modules, module] }, name];
}

/** The patch with other cables in place of one. */
export function withCables(
  patch: Patch,
  old: Cable | undefined,
  ends: readonly (readonly [from: JackRef, to: JackRef])[],
  place: Place | undefined = old?.place,
): Patch {
  const put = ends.map(
    ([from, to]): Cable => ({
      from,
      to,
      place: place ?? { file: patch.file, line: 1, column: 1, length: 1 },
    }),
  );
  const at = old === undefined ? -1 : patch.cables.indexOf(old);
  const cables =
    at < 0
      ? [...patch.cables, ...put]
      : [...patch.cables.slice(0, at), ...put, ...patch.cables.slice(at + 1)];
  return { ...patch, cables };
}

function isMultiple(module: PatchModule | undefined): boolean {
  return module?.definition.role === 'passive';
}

/** A jack of a multiple that no plug is in; the multiple grows if it must. */
function freeJack(patch: Patch, name: string): readonly [Patch, JackRef] | undefined {
  const module = moduleNamed(patch, name);
  if (module === undefined) return undefined;
  const free = oneMoreJack(module, patch.cables);
  if (free === undefined) return undefined;
  const { grown, jack } = free;
  const larger =
    grown === undefined ? patch : withSettings(patch, name, { [grown.setting]: grown.count });
  return [larger, { module: name, jack }];
}

/**
 * Plugs what an output drives into one more input or multiple, with a multiple where one is needed.
 * @param place where the cable stood that it is plugged in place of.
 * @returns undefined if a multiple would need more jacks than there are.
 */
export function alsoInto(
  patch: Patch,
  source: JackRef,
  target: JackRef,
  place: Place,
): Patch | undefined {
  if (isMultiple(moduleNamed(patch, source.module))) {
    const found = freeJack(patch, source.module);
    return found && withCables(found[0], undefined, [[found[1], target]], place);
  }
  const cable = cableFrom(patch, source);
  if (cable === undefined) return withCables(patch, undefined, [[source, target]], place);
  const through = moduleNamed(patch, cable.to.module);
  if (isMultiple(through) && through !== undefined) {
    const found = freeJack(patch, through.name);
    return found && withCables(found[0], undefined, [[found[1], target]], place);
  }
  if (isMultiple(moduleNamed(patch, target.module))) {
    const found = freeJack(patch, target.module);
    if (found === undefined) return undefined;
    const moved = withCables(found[0], cable, [[found[1], cable.to]]);
    return withCables(moved, undefined, [[source, target]], place);
  }
  const [more, name] = withModule(patch, multiple, `${localName(source.module)}-split`, {
    jacks: 3,
  });
  const split = withCables(more, cable, [
    [source, { module: name, jack: 'in' }],
    [{ module: name, jack: 'out-1' }, cable.to],
  ]);
  return withCables(split, undefined, [[{ module: name, jack: 'out-2' }, target]], place);
}

/** The patch without some cables, and without what then leads nowhere or gets nothing. */
export function without(patch: Patch, cables: readonly Cable[]): Patch {
  const gone = new Set(cables);
  return pruned(
    { ...patch, cables: patch.cables.filter((cable) => !gone.has(cable)) },
    cables.map(({ from }) => from.module),
    cables.map(({ to }) => to.module),
  );
}

/**
 * Takes out what a change has left without use.
 * @param before modules that lost a plug from an output, @param after those that lost one at an input.
 */
function pruned(patch: Patch, before: readonly string[], after: readonly string[]): Patch {
  let now = patch;
  const left = [...new Set([...before, ...after])];
  for (let name = left.pop(); name !== undefined; name = left.pop()) {
    const module = moduleNamed(now, name);
    if (module === undefined) continue;
    const own = now.cables.filter(({ from, to }) => from.module === name || to.module === name);
    if (isMultiple(module) && own.length === 2) {
      const past = pastMultiple(now, name);
      if (past !== undefined) now = past;
      continue;
    }
    if (!isUseless(module, own)) continue;
    const gone = new Set(own);
    now = {
      ...now,
      modules: now.modules.filter((one) => one !== module),
      cables: now.cables.filter((cable) => !gone.has(cable)),
    };
    for (const { from, to } of own) left.push(from.module === name ? to.module : from.module);
  }
  return now;
}

function isUseless({ name, definition, settings }: PatchModule, own: readonly Cable[]): boolean {
  if (definition.role === 'output' || definition.role === 'score') return false;
  if (definition.role === 'passive') return own.length < 2;
  if (own.every(({ from }) => from.module !== name)) return true;
  // What only adds up has nothing left to add.
  return (
    definition.sums !== undefined &&
    definition.sums(settings).length > 0 &&
    own.every(({ to }) => to.module !== name)
  );
}

/** One cable in place of a multiple with two plugs; undefined if it has more, or leads from nothing. */
export function pastMultiple(patch: Patch, name: string): Patch | undefined {
  const into = patch.cables.filter(({ to }) => to.module === name);
  const outOf = patch.cables.filter(({ from }) => from.module === name);
  const [first, last] = [into[0], outOf[0]];
  if (first === undefined || last === undefined || into.length + outOf.length > 2) return undefined;
  const joined = withCables(patch, first, [[first.from, last.to]]);
  return {
    ...joined,
    cables: joined.cables.filter((cable) => cable !== last),
    modules: joined.modules.filter((one) => one.name !== name),
  };
}

/** The patch without a module that one cable goes past: from what drives `input` to where `output` leads. */
export function past(patch: Patch, name: string, input: string, output: string): Patch | undefined {
  const into = cableTo(patch, { module: name, jack: input });
  const outOf = cableFrom(patch, { module: name, jack: output });
  if (into === undefined || outOf === undefined) return undefined;
  const joined = withCables(patch, outOf, [[into.from, outOf.to]]);
  const others = joined.cables.filter(
    (cable) => cable !== into && (cable.to.module === name || cable.from.module === name),
  );
  const bare = {
    ...joined,
    cables: joined.cables.filter((cable) => cable !== into && !others.includes(cable)),
    modules: joined.modules.filter((one) => one.name !== name),
  };
  return pruned(
    bare,
    others.map(({ from }) => from.module),
    [],
  );
}
