/**
 * A planned way out of a rack that is short, as changes of the files: the difference between the patch as
 * it is and as it is planned.
 */

import { type Edit, fileOf } from '../../patch/edit/edit.ts';
import { type Cable, jackName, type Patch, type PatchModule } from '../../patch/patch.ts';
import { formatValue, type PlainSpec } from '../../patch/units.ts';
import type { BarredMend, Context, Finding, Mend, OneMend } from '../finding.ts';
import { setTo } from '../mend/set-to.ts';
import { localName } from '../words.ts';
import { isFree } from './move.ts';
import { offRack } from './off-rack.ts';
import { planFor, type RackPlan } from './plan.ts';

/** The ways out of a rack that is short that cost nothing that is heard, if the cheapest does. */
export function carriedOut({ fix }: Finding, context: Context): Mend | undefined {
  const { patch } = context;
  const plan = planFor(context);
  if (plan === undefined) return undefined;
  if (plan.cheapest === undefined || !isFree(plan.cheapest.cost)) {
    const ways = fix.replace(/\.$/, '');
    return {
      why: `every way out costs something that is heard, so choose one yourself: ${ways}`,
    };
  }
  return { choice: inFiles(plan, offRack(patch, plan.rack)) };
}

/** Each way that costs nothing as changes of the files, or what of them is in its way. */
function* inFiles({ free }: RackPlan, before: Patch): Generator<OneMend> {
  for (const { patch: becomes } of free()) {
    const edits = editsTo(becomes, before);
    yield 'why' in edits ? edits : { ...edits, becomes };
  }
}

/** Whether a patch, once read, is the planned one. */
export function isAsPlanned(patch: Patch, planned: Patch): boolean {
  const own = patch.owned === undefined ? patch : offRack(patch, patch.owned);
  return factsOf(own) === factsOf(planned);
}

/** Modules, settings and cables, whatever their order. */
function factsOf({ modules, cables }: Patch): string {
  return JSON.stringify([
    modules
      .map(({ name, definition, settings }) => [
        name,
        definition.kind,
        Object.entries(settings).toSorted(),
      ])
      .toSorted(),
    cables.map(keyOf).toSorted(),
  ]);
}

function keyOf({ from, to }: Cable): string {
  return `${jackName(from)} -> ${jackName(to)}`;
}

/** The files of a patch, and what stands before their names in it: `hat.` in the part `hat`. */
class PrefixedFiles {
  private readonly prefixes = new Map<string, Set<string>>();
  private readonly files = new Map<string, string>();

  constructor({ file, modules }: Patch) {
    this.note('', file);
    for (const { name, place } of modules) this.note(prefixOf(name), place.file);
  }

  private note(prefix: string, file: string): void {
    const known = this.prefixes.get(file) ?? new Set();
    this.prefixes.set(file, known.add(prefix));
    this.files.set(prefix, file);
  }

  /** The file of a prefix; undefined where no module has that prefix. */
  at(prefix: string): string | undefined {
    return this.files.get(prefix);
  }

  /** Whether a file is there once only, so that a change of it is a change at one place. */
  isOnce(file: string): boolean {
    return (this.prefixes.get(file)?.size ?? 0) <= 1;
  }
}

/** `hat.` of `hat.shape`; nothing of what the patch's own file has. */
function prefixOf(name: string): string {
  return name.slice(0, name.lastIndexOf('.') + 1);
}

/** What the names of two modules have before them in common: the prefix of the file that can name both. */
function commonPrefix(one: string, other: string): string {
  let prefix = prefixOf(one);
  while (!other.startsWith(prefix)) prefix = prefixOf(prefix.slice(0, -1));
  return prefix;
}

function editsTo(after: Patch, before: Patch): { readonly edits: readonly Edit[] } | BarredMend {
  const files = new PrefixedFiles(before);
  const edits: Edit[] = [];
  const was = new Map(before.modules.map((module) => [module.name, module]));
  const now = new Set(after.modules.map(({ name }) => name));
  for (const { name, place } of before.modules)
    if (!now.has(name))
      edits.push({
        type: 'remove-value',
        file: place.file,
        path: ['modules', localName(name)],
        stays: 1,
      });
  for (const module of after.modules) {
    const old = was.get(module.name);
    const set = old === undefined ? added(module, files) : changedSettings(old, module, before);
    if (set === undefined) return { why: `the settings of ${module.name} are not in the files` };
    for (const edit of set) edits.push(edit);
  }
  for (const edit of cableEdits(before, after, files)) edits.push(edit);
  const several = edits.map(fileOf).find((file) => !files.isOnce(file));
  return several === undefined
    ? { edits }
    : {
        why: `${several} is in the patch several times, and a change of it would change all of them`,
      };
}

function added(module: PatchModule, files: PrefixedFiles): readonly Edit[] | undefined {
  const { name, definition, settings } = module;
  const file = files.at(prefixOf(name));
  if (file === undefined) return undefined;
  const given = Object.entries(definition.settings).flatMap(([setting, spec]) =>
    'fallback' in spec && spec.fallback !== settings[setting]
      ? [`${setting}: ${textOf(module, setting)}`]
      : [],
  );
  const text = `{ ${[`kind: ${definition.kind}`, ...given].join(', ')} }`;
  return [{ type: 'add-module', file, name: localName(name), text }];
}

/** The settings that a plan gives other values, or says where the unit of the rack has said them before. */
function changedSettings(
  old: PatchModule,
  module: PatchModule,
  before: Patch,
): readonly Edit[] | undefined {
  const edits: Edit[] = [];
  for (const setting of Object.keys(module.settings)) {
    const isOther = module.settings[setting] !== old.settings[setting];
    const isSaid = module.settingPlaces.has(setting) && !old.settingPlaces.has(setting);
    if (!isOther && !isSaid) continue;
    const set = setTo(old, setting, module.settings[setting], before);
    if (set === undefined) return undefined;
    for (const edit of set) edits.push(edit);
  }
  return edits;
}

function textOf({ definition, settings }: PatchModule, setting: string): string {
  const spec = definition.settings[setting] as PlainSpec;
  return formatValue(settings[setting], spec.type);
}

/** Cables in place of those that go, in the file that can name both of their ends. */
function cableEdits(before: Patch, after: Patch, files: PrefixedFiles): readonly Edit[] {
  const old = new Set(before.cables.map(keyOf));
  const kept = new Set(after.cables.map(keyOf));
  const gone = before.cables
    .filter((cable) => !kept.has(keyOf(cable)))
    .map(({ place }) => ({ place, texts: [] as string[] }));
  const more: Edit[] = [];
  for (const cable of after.cables.filter((one) => !old.has(keyOf(one)))) {
    const prefix = commonPrefix(cable.from.module, cable.to.module);
    const file = files.at(prefix) ?? before.file;
    const own = files.at(prefix) === undefined ? '' : prefix;
    const text = keyOf(cable)
      .split(' -> ')
      .map((end) => end.slice(own.length))
      .join(' -> ');
    const room = gone.filter(({ place }) => place.file === file);
    const { line, column } = cable.place;
    const host =
      room.find(({ place }) => place.line === line && place.column === column) ?? room.at(-1);
    if (host === undefined) more.push({ type: 'add-cable', file, text });
    else host.texts.push(text);
  }
  return [
    ...gone.map(({ place, texts }): Edit => ({ type: 'replace-cable', place, texts })),
    ...more,
  ];
}
