/** Mends a patch's files: one finding after another, each change checked before it is kept. */

import { KINDS } from '../../modules/kinds.ts';
import { applyEdits, type Edit, fileOf } from '../../patch/edit/edit.ts';
import { jackName, type Patch } from '../../patch/patch.ts';
import { type PatchTexts, readTexts } from '../../patch/texts.ts';
import { findingsApart, together } from '../check.ts';
import { contextOf } from '../context.ts';
import type { Context, Finding } from '../finding.ts';
import { ruleNamed } from '../rules/rules.ts';
import { isAnyWorse } from '../worse.ts';

export interface Mended {
  readonly texts: PatchTexts;
  /** What is still to be found. */
  readonly left: readonly Finding[];
}

/** Each round tries one finding. */
const ROUNDS = 200;

export interface MendingOptions {
  /** Which findings are to be mended. */
  readonly wanted: (finding: Finding) => boolean;
}

/**
 * Makes the changes that the rules propose, as long as nothing is worse for them.
 * @param patch as read from `texts`.
 */
export function mended(patch: Patch, texts: PatchTexts, tolerance = 0): Mended {
  const steps = mending(patch, texts, { wanted: () => true });
  let step = steps.next();
  while (step.done !== true) step = steps.next(contextOf(step.value, tolerance));
  return step.value;
}

/**
 * The same step by step, for who must not be kept waiting: yields each patch that the rules are to look
 * at, and takes its context, for which it may be played meanwhile.
 */
export function* mending(
  patch: Patch,
  texts: PatchTexts,
  { wanted }: MendingOptions,
): Generator<Patch, Mended, Context> {
  let context = yield patch;
  let now: Mended = { texts, left: findingsApart(context) };
  const tried = new Set<string>();
  for (let round = 0; round < ROUNDS; round++) {
    const chosen = nextEdits(now.left.filter(wanted), context, tried);
    if (chosen === undefined) break;
    const edited = withEdits(now.texts, chosen.edits);
    const changed = edited && readTexts(edited, { kinds: KINDS }).patch;
    if (edited === undefined || changed === undefined) continue;
    const after = yield changed;
    const left = findingsApart(after);
    if (!isBetter(chosen.finding, now.left, left)) continue;
    now = { texts: edited, left };
    context = after;
  }
  return { ...now, left: together(now.left, context) };
}

function nextEdits(
  findings: readonly Finding[],
  context: Context,
  tried: Set<string>,
): { readonly finding: Finding; readonly edits: readonly Edit[] } | undefined {
  for (const finding of findings) {
    const key = keyOf(finding);
    if (tried.has(key)) continue;
    tried.add(key);
    const edits = ruleNamed(finding.rule)?.mend?.(finding, context);
    if (edits !== undefined && edits.length > 0) return { finding, edits };
  }
  return undefined;
}

function keyOf({ rule, jack, message }: Finding): string {
  return JSON.stringify([rule, jack === undefined ? '' : jackName(jack), message]);
}

/** The finding is gone, and nothing else is worse for it: not by what the rack has or fixes either. */
function isBetter(gone: Finding, before: readonly Finding[], after: readonly Finding[]): boolean {
  return !after.some((finding) => keyOf(finding) === keyOf(gone)) && !isAnyWorse(before, after);
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
