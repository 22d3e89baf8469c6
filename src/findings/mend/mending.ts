/** Mends a patch's files: one finding after another, each change checked before it is kept. */

import { KINDS, type KindsOption } from '../../modules/kinds.ts';
import { applyEdits, type Edit, fileOf } from '../../patch/edit/edit.ts';
import type { KeptTrees } from '../../patch/fragment.ts';
import { jackName, type Patch } from '../../patch/patch.ts';
import { type PatchTexts, readTexts } from '../../patch/texts.ts';
import { findingsApart, together } from '../check.ts';
import { contextOf } from '../context.ts';
import type { BarredMend, Context, Finding, Mend, OneMend } from '../finding.ts';
import { isAsPlanned } from '../plan/planned-edits.ts';
import { ruleNamed } from '../rules/rules.ts';
import { firstWorse } from '../worse.ts';
import { whyOffTheDial } from './off-the-dial.ts';

export interface Mended {
  readonly texts: PatchTexts;
  /** What is still to be found. */
  readonly left: readonly Finding[];
  /** What of that has a mend that cannot be made, and why. */
  readonly barred: readonly Barred[];
}

/** A finding that is left as it is, at one jack, though there is a mend for it. */
export interface Barred extends BarredMend {
  readonly finding: Finding;
}

/** Each round tries one finding. */
const ROUNDS = 200;
/** How many mends of one finding are tried by a check of the whole patch. */
const LOOKS = 4;

export interface MendingOptions extends KindsOption {
  /** Which findings are to be mended. */
  readonly wanted: (finding: Finding) => boolean;
}

/**
 * Makes the changes that the rules propose, as long as nothing is worse for them.
 * @param patch as read from `texts`.
 * @param tolerance of what the check allows for, as `check` takes it; 0 unless given.
 */
export function mended(
  patch: Patch,
  texts: PatchTexts,
  { tolerance = 0, ...of }: KindsOption & { readonly tolerance?: number } = {},
): Mended {
  const steps = mending(patch, texts, { ...of, wanted: () => true });
  let step = steps.next();
  while (step.done !== true) step = steps.next(contextOf(step.value, tolerance));
  return step.value;
}

/**
 * The same step by step, for callers that must not be kept waiting: yields each patch that the rules are to
 * look at, and takes its context, for which the caller may play it meanwhile.
 */
export function* mending(
  patch: Patch,
  texts: PatchTexts,
  { wanted, kinds = KINDS }: MendingOptions,
): Generator<Patch, Mended, Context> {
  let context = yield patch;
  let left = findingsApart(context);
  let now = texts;
  const tried = new Set<string>();
  const barred = new Map<string, Barred>();
  // A mend changes one file or two of all that are read again.
  const kept: KeptTrees = new Map();
  for (let round = 0; round < ROUNDS; round++) {
    const chosen = nextMend(left.filter(wanted), context, tried);
    if (chosen === undefined) break;
    const { finding, mend } = chosen;
    let looks = 0;
    for (const one of 'choice' in mend ? mend.choice : [mend]) {
      if (looks === LOOKS) break;
      // Of several that cannot be made, the first and best is reported.
      const bar = (why: string): unknown =>
        barred.has(keyOf(finding)) || barred.set(keyOf(finding), { finding, why });
      const changed =
        'why' in one ? one : changedBy(one, { texts: now, before: context.patch, kinds, kept });
      if ('why' in changed) {
        bar(changed.why);
        continue;
      }
      looks += 1;
      const after = yield changed.patch;
      const found = findingsApart(after);
      const why = whyNoBetter(finding, left, found);
      if (why !== undefined) {
        bar(why);
        continue;
      }
      [now, context, left] = [changed.texts, after, found];
      // What is free now may mend what could not be mended before.
      if ('becomes' in one) {
        tried.clear();
        barred.clear();
      }
      break;
    }
  }
  const still = new Set(left.map(keyOf));
  return {
    texts: now,
    left: together(left, context),
    barred: [...barred].filter(([key]) => still.has(key)).map(([, one]) => one),
  };
}

function nextMend(
  findings: readonly Finding[],
  context: Context,
  tried: Set<string>,
): { readonly finding: Finding; readonly mend: Mend } | undefined {
  for (const finding of findings) {
    const key = keyOf(finding);
    if (tried.has(key)) continue;
    tried.add(key);
    const mend = ruleNamed(finding.rule).mend?.(finding, context);
    if (mend !== undefined && !isEmpty(mend)) return { finding, mend };
  }
  return undefined;
}

function isEmpty(mend: Mend): boolean {
  return 'length' in mend && mend.length === 0;
}

function keyOf({ rule, jack, message }: Finding): string {
  return JSON.stringify([rule, jack === undefined ? '' : jackName(jack), message]);
}

interface ChangedPatch {
  readonly texts: PatchTexts;
  readonly patch: Patch;
}

/** The files with a mend in them, and the patch that they give; otherwise, why no mend can be made. */
function changedBy(
  mend: Exclude<OneMend, BarredMend>,
  {
    texts,
    before,
    kinds,
    kept,
  }: Required<KindsOption> & {
    readonly texts: PatchTexts;
    readonly before: Patch;
    readonly kept: KeptTrees;
  },
): ChangedPatch | BarredMend {
  const edited = withEdits(texts, 'edits' in mend ? mend.edits : mend);
  if (edited === undefined) return { why: 'the text of the file cannot be changed in place' };
  const { patch, problems } = readTexts(edited, { kinds, kept });
  if (patch === undefined) {
    const [problem] = problems;
    return { why: `with it, ${problem?.message ?? 'the files cannot be read'}` };
  }
  if ('becomes' in mend && !isAsPlanned(patch, mend.becomes))
    return { why: 'the files give no such patch when they are changed in place' };
  const why = whyOffTheDial(before, patch);
  return why === undefined ? { texts: edited, patch } : { why };
}

/**
 * Why a change is not kept: the finding is still there, or something else is worse for it, by what the
 * rack has or fixes too; undefined if it is kept.
 */
function whyNoBetter(
  gone: Finding,
  before: readonly Finding[],
  after: readonly Finding[],
): string | undefined {
  const still = after.some((finding) => keyOf(finding) === keyOf(gone));
  if (still) return 'with the change that there is for it, the same would be found';
  const worse = firstWorse(before, after);
  return worse && `with it, ${worse.rule}: ${worse.message.replace(/\.$/, '')}`;
}

function withEdits(texts: PatchTexts, edits: readonly Edit[]): PatchTexts | undefined {
  const edited = new Map(Object.entries(texts.texts));
  for (const name of new Set(edits.map(fileOf))) {
    const text = edited.get(name);
    if (text === undefined) return undefined;
    const changed = applyEdits(
      name,
      text,
      edits.filter((edit) => fileOf(edit) === name),
    );
    if (changed === undefined) return undefined;
    edited.set(name, changed);
  }
  return { ...texts, texts: Object.fromEntries(edited) };
}
