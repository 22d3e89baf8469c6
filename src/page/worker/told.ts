/**
 * Which finding is shown where the person works: the newest, that is one that a change has added, for
 * as long as it stays; if none is new, the worst. It is marked at the setting that was moved last.
 */

import { diffLines } from 'diff';
import { countsOf } from '../../findings/check.ts';
import type { Context, Finding } from '../../findings/finding.ts';
import { findingJacks } from '../../findings/gathered.ts';
import { mending } from '../../findings/mend/mending.ts';
import { ruleNamed } from '../../findings/rules/rules.ts';
import { isSameFinding } from '../../findings/worse.ts';
import { jackName, type Patch } from '../../patch/patch.ts';
import { countedEach } from '../../patch/text/counted.ts';
import type { Place } from '../../patch/text/place.ts';
import type { PatchTexts } from '../../patch/texts.ts';
import type { FindingPlace, FindingView, MendLine, MendView, PatchChange } from '../protocol.ts';
import { type Breath, heardContext } from './pictures.ts';

type MovedSetting = Extract<FindingPlace, { type: 'setting' }>;

interface FoundBy {
  readonly finding: Finding;
  readonly by: MovedSetting | undefined;
}

export class Telling {
  /** The last findings of the check; undefined before there are any. */
  private before: readonly Finding[] | undefined;
  private told: FoundBy | undefined;
  /** The settings that were moved since then, each once, the last at the end. */
  private moved: readonly MovedSetting[] = [];

  /** Notes a change that a person made. */
  changed(change: PatchChange): void {
    if (change.type !== 'setting') return;
    const { module, setting } = change;
    const others = this.moved.filter((one) => one.module !== module || one.setting !== setting);
    this.moved = [...others, { type: 'setting', module, setting }];
  }

  /** Notes that other texts were opened: nothing in them was moved by hand. */
  opened(): void {
    this.moved = [];
  }

  /**
   * Takes the present findings of the check.
   * @param findings the worst first, as `findingsIn` gives them.
   */
  take(findings: readonly Finding[], patch: Patch): FindingView | undefined {
    const grave = findings.filter(({ severity }) => severity !== 'note');
    const { before, told, moved } = this;
    const fresh =
      before === undefined
        ? undefined
        : grave.find((one) => !before.some((other) => isAbout(one, other)));
    const still = told && grave.find((one) => isAbout(one, told.finding));
    const [worst] = grave;
    if (fresh !== undefined) this.told = { finding: fresh, by: causeOf(fresh, moved, patch) };
    else if (still !== undefined) this.told = { finding: still, by: told?.by };
    else this.told = worst && { finding: worst, by: undefined };
    this.before = grave;
    this.moved = [];
    return this.told && viewOf(this.told, findings, patch);
  }

  /**
   * What would mend the shown finding; undefined if only a person can say what was meant.
   * @param context the context of the patch in which it was found.
   */
  async mend(context: Context, files: PatchTexts, breathe: Breath): Promise<MendView | undefined> {
    const { told } = this;
    if (told === undefined) return undefined;
    const steps = mending(context.patch, files, {
      wanted: (finding) => isAbout(finding, told.finding),
    });
    let step = steps.next();
    while (step.done !== true) {
      const { value: patch } = step;
      const known = patch === context.patch ? context : await heardContext(patch, breathe);
      step = steps.next(known);
      await breathe();
    }
    const mended = step.value.texts;
    const lines = Object.keys(files.texts).flatMap((name) =>
      changedLines(files.texts[name] ?? '', mended.texts[name] ?? ''),
    );
    if (lines.length === 0) return undefined;
    // If a cause has findings at several jacks, some may be left: then it does not mend the shown one.
    const left = step.value.left.some((one) => isAbout(one, told.finding));
    return left ? undefined : { files: mended, lines };
  }
}

/** Whether two findings are about the same thing: the same, or gathered at one jack of both. */
function isAbout(one: Finding, other: Finding): boolean {
  if (one.rule !== other.rule || one.severity !== other.severity) return false;
  const names = new Set(findingJacks(other).map(jackName));
  return names.size === 0
    ? isSameFinding(one, other)
    : findingJacks(one).some((jack) => names.has(jackName(jack)));
}

/** The moved setting that has caused a finding: one at its own place, otherwise the last. */
function causeOf(
  finding: Finding,
  moved: readonly MovedSetting[],
  patch: Patch,
): MovedSetting | undefined {
  const own = placeOf(finding, patch);
  return (
    moved.find(
      ({ module, setting }) =>
        own.type === 'setting' && own.module === module && own.setting === setting,
    ) ?? moved.at(-1)
  );
}

function viewOf({ finding, by }: FoundBy, all: readonly Finding[], patch: Patch): FindingView {
  const { fault, caution } = countsOf(all);
  const { severity, message, fix } = finding;
  return {
    severity: severity as FindingView['severity'],
    counts: countedEach([
      [fault, 'fault'],
      [caution, 'caution'],
    ]).join(', '),
    headline: headlineOf(finding),
    message,
    fix,
    at: by ?? placeOf(finding, patch),
    isByHand: by !== undefined,
  };
}

/** The place in the patch that a finding is about. */
function placeOf({ place, jack }: Finding, { modules, cables }: Patch): FindingPlace {
  for (const { name: module, settingPlaces } of modules)
    for (const [setting, own] of settingPlaces)
      if (isAt(own, place)) return { type: 'setting', module, setting };
  const cable = cables.find((one) => isAt(one.place, place));
  if (cable !== undefined)
    return { type: 'cable', from: jackName(cable.from), to: jackName(cable.to) };
  const module =
    modules.find((one) => one.name === jack?.module) ??
    modules.find((one) => isAt(one.place, place));
  return module === undefined ? { type: 'patch' } : { type: 'module', module: module.name };
}

function isAt(one: Place, other: Place): boolean {
  return one.file === other.file && one.line === other.line && one.column === other.column;
}

/** Without the dash of a list: to a reader the line is a cable or a setting. */
function changedLines(before: string, after: string): readonly MendLine[] {
  if (before === after) return [];
  return diffLines(before, after).flatMap(({ added, removed, value }) =>
    added || removed
      ? value
          .trimEnd()
          .split('\n')
          .map((line) => ({ isNew: added, text: line.trim().replace(/^- /, '') }))
      : [],
  );
}

/** A finding in a few words, since there is room for one line: `shape.trigger never fires`, or `shape.trigger never fires, and 2 more`. */
function headlineOf(finding: Finding): string {
  const [of, what] = ruleNamed(finding.rule).headline;
  const [first, ...others] = findingJacks(finding);
  if (first === undefined || of === 'patch') return what;
  const name = of === 'jack' ? jackName(first) : first.module;
  return `${name} ${what}${others.length > 0 ? `, and ${others.length} more` : ''}`;
}
