/** The check: all rules over a patch, the worst first, each slip told once. */

import type { Net } from '../electrical/nets.ts';
import type { Prepared } from '../engine/prepared.ts';
import { type JackRef, jackName, type Patch } from '../patch/patch.ts';
import { contextOf } from './context.ts';
import {
  type Context,
  type Finding,
  type Rule,
  type RuleName,
  SEVERITIES,
  type Severity,
} from './finding.ts';
import { gatheredFindings } from './gathered.ts';
import { RULES } from './rules/rules.ts';

/** How strictly a patch is checked. */
export interface CheckOptions {
  /** Share by which every resistance, level, threshold and time of a jack may be off, from 0 to 0.5. */
  readonly tolerance?: number;
}

/**
 * Finds what will go wrong with a patch.
 * @param of a checked patch; one that names a rack has it in it already.
 * @returns the findings by severity, then in the order of the file; none for a patch that works.
 */
export function check(
  of: Patch | Prepared,
  { tolerance = 0 }: CheckOptions = {},
): readonly Finding[] {
  return findingsIn(contextOf(of, tolerance));
}

/**
 * The findings of a patch whose context has been worked out.
 * @param rules those to look by; all unless given.
 */
export function findingsIn(context: Context, rules: readonly Rule[] = RULES): readonly Finding[] {
  return together(findingsApart(context, rules), context);
}

/** The same, with the findings of one cause told at each jack. */
export function findingsApart(
  context: Context,
  rules: readonly Rule[] = RULES,
): readonly Finding[] {
  const all = rules.flatMap((rule) => rule.find(context));
  return inOrder(withoutFollowers(distinct(all), context), context.patch.file);
}

/** Tells the findings of one cause once. */
export function together(apart: readonly Finding[], { patch }: Context): readonly Finding[] {
  return inOrder(gatheredFindings(apart), patch.file);
}

/** How many of each severity. */
export function countsOf(findings: readonly Finding[]): Readonly<Record<Severity, number>> {
  const count = (severity: Severity): number =>
    findings.filter((finding) => finding.severity === severity).length;
  return { fault: count('fault'), caution: count('caution'), note: count('note') };
}

/** A part that is used twice has its slip twice, at one place in its file. */
function distinct(findings: readonly Finding[]): readonly Finding[] {
  const seen = new Set<string>();
  return findings.filter(({ rule, message, place, jack }) => {
    const key = JSON.stringify([rule, place, message, jack]);
    if (seen.has(key)) return false;
    seen.add(key);
    return true;
  });
}

/**
 * Rules by what they say goes wrong at a jack. Where one is true, those after it at the same jack only follow
 * from it.
 */
const AT_A_JACK: readonly (readonly RuleName[])[] = [
  ['voltage-into-switch', 'switch-into-voltage'],
  ['signal-mismatch'],
  ['level-too-low', 'stays-on'],
  ['level-marginal', 'level-too-high'],
  ['pulse-too-short', 'dc-on-output'],
  ['slow-rise'],
];
/** The rule that silences all of {@link AT_A_JACK} on its net, and the rule that any of those silences. */
const BEFORE_ALL: RuleName = 'outputs-joined';
const AFTER_ALL: RuleName = 'loaded-down';
/** Rules that say a module gets no trigger, or not as meant; what it would do with one need not be told. */
const NO_TRIGGER: readonly RuleName[] = [
  'input-open',
  'level-too-low',
  'outputs-joined',
  'signal-mismatch',
  'stays-on',
  'switch-into-voltage',
  'voltage-into-switch',
];
/** Rules about what a module does with its triggers. */
const WITH_TRIGGER: readonly RuleName[] = [
  'amplifier-never-opens',
  'clock-mismatch',
  'decay-cut-short',
  'flam-too-tight',
  'gates-merge',
  'lengths-drift',
  'peak-not-reached',
  'pulse-too-short',
  'reset-race',
  'slow-rise',
  'swing-mismatch',
  'tail-cut',
];

/** Rules about how loud it is, which nobody can know before it does what the patch says. */
const OF_LOUDNESS: readonly RuleName[] = ['too-quiet'];

/** Leaves out what only follows from another finding. */
function withoutFollowers(findings: readonly Finding[], context: Context): readonly Finding[] {
  const netOf = (jack: JackRef | undefined): Net | undefined => jack && context.netlist.at(jack);
  const joined = new Set<Net | undefined>();
  const wrong = new Set<Net | undefined>();
  const before = new Map<
    string,
    readonly { readonly rank: number; readonly severity: Severity }[]
  >();
  const untriggered = new Set<string>();
  const isBroken = findings.some(({ severity }) => severity === 'fault');
  for (const { rule, jack, severity } of findings) {
    if (jack === undefined) continue;
    const net = netOf(jack);
    const rank = rankOf(rule);
    if (rule === BEFORE_ALL) joined.add(net);
    if (rule === BEFORE_ALL || rank >= 0) wrong.add(net);
    const name = jackName(jack);
    if (rank >= 0) before.set(name, [...(before.get(name) ?? []), { rank, severity }]);
    if (!NO_TRIGGER.includes(rule)) continue;
    untriggered.add(jack.module);
    if (rule === BEFORE_ALL)
      for (const { module } of net?.inputs ?? []) untriggered.add(module.name);
  }
  /** A caution hides nothing that is worse than itself. */
  const isHidden = (jack: JackRef, rank: number, severity: Severity): boolean =>
    (before.get(jackName(jack)) ?? []).some(
      (one) => one.rank < rank && SEVERITIES.indexOf(one.severity) <= SEVERITIES.indexOf(severity),
    );
  return findings.filter(({ rule, jack, severity }) => {
    if (jack === undefined) return true;
    if (isBroken && OF_LOUDNESS.includes(rule)) return false;
    const net = netOf(jack);
    const rank = rankOf(rule);
    if (net !== undefined && rule === AFTER_ALL && wrong.has(net)) return false;
    if (net !== undefined && rank >= 0 && joined.has(net)) return false;
    if (isHidden(jack, rank, severity)) return false;
    return !WITH_TRIGGER.includes(rule) || !untriggered.has(jack.module);
  });
}

function rankOf(rule: RuleName): number {
  return AT_A_JACK.findIndex((rules) => rules.includes(rule));
}

function inOrder(findings: readonly Finding[], main: string): readonly Finding[] {
  const files = [...new Set([main, ...findings.map(({ place }) => place.file)])];
  const rank = ({ severity }: Finding): number => SEVERITIES.indexOf(severity);
  const name = ({ jack }: Finding): string => (jack === undefined ? '' : jackName(jack));
  return findings.toSorted(
    (a, b) =>
      rank(a) - rank(b) ||
      files.indexOf(a.place.file) - files.indexOf(b.place.file) ||
      a.place.line - b.place.line ||
      a.place.column - b.place.column ||
      compare(a.rule, b.rule) ||
      compare(name(a), name(b)),
  );
}

function compare(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}
