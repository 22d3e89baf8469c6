// Mending makes nothing worse: every planted fault, on every sort of rack. After it there is no finding
// that was not there before and none that has grown, the files still read, and everything
// else is unchanged. What is worse is decided here by the figures of the findings.

import { describe, expect, it } from 'vitest';
import { parse, stringify } from 'yaml';
import { check, findingsIn } from '../../src/findings/check.ts';
import { contextOf } from '../../src/findings/context.ts';
import type { Context, Finding } from '../../src/findings/finding.ts';
import { findingJacks } from '../../src/findings/gathered.ts';
import { mending } from '../../src/findings/mend/mending.ts';
import { jackName } from '../../src/patch/patch.ts';
import type { PatchTexts } from '../../src/patch/texts.ts';
import { patchFrom, shipped } from '../patch-of.ts';
import { runs } from '../runs.ts';
import { allCables, type Case, cases, texts, type Whole } from './planted.ts';

const MAIN = 'test.yaml';
const RACK = 'suite.yaml';

/** The text of a rack for a patch; undefined is none. */
type RackFor = (patch: Whole, given: Case) => string | undefined;

/** So many units of each kind that the patch uses, with what is fixed on them. */
function rackOf(
  patch: Whole,
  spare: Record<string, number>,
  cables: number | undefined,
  fixed: (kind: string, settings: Record<string, unknown>) => Record<string, unknown> = () => ({}),
  /** The one way that the spare converters have, if they have only one. */
  way?: string,
): string {
  const units: Record<string, unknown> = {};
  for (const [prefix, text] of texts(patch))
    for (const [name, { kind, ...settings }] of Object.entries(text.modules)) {
      const own =
        kind === 'multiple' ? { jacks: 16 } : fixed(kind, settings as Record<string, unknown>);
      units[`u-${prefix.replace('.', '-')}${name}`] = { kind, fixed: own };
    }
  for (const [kind, count] of Object.entries(spare))
    units[`spare-${kind}`] = {
      kind,
      count,
      ...(kind === 'multiple' && { fixed: { jacks: 16 } }),
      ...(kind === 'trigger-converter' && way !== undefined && { fixed: { way } }),
    };
  return stringify({ ...(cables !== undefined && { cables }), units });
}

const PLENTY = { 'trigger-converter': 9, multiple: 9, mixer: 9, logic: 9, delay: 9, attenuator: 9 };
/** What raises a level or changes what an envelope does, by kind, and what it is unless the patch says. */
const KNOBLESS: Record<string, Record<string, string>> = {
  rhythm: { level: '5 V', gate: '8 ms', 'accent-level': '5 V' },
  clock: { level: '5 V' },
  envelope: { peak: '5 V', mode: 'gate', trigger: 'voltage' },
  attenuator: { level: '100 %', offset: '0 V' },
};

const RACKS: readonly [name: string, rack: RackFor][] = [
  ['no rack but its own', (_, { rack }) => rack],
  ['the teaching cabinet', () => shipped('racks/teaching-cabinet.yaml')],
  [
    'a rack without knobs for levels',
    (patch) =>
      rackOf(patch, PLENTY, undefined, (kind, settings) =>
        Object.fromEntries(
          Object.entries(KNOBLESS[kind] ?? {}).map(([name, usual]) => [
            name,
            settings[name] ?? usual,
          ]),
        ),
      ),
  ],
  [
    'a rack whose spare converters go from voltage to switch alone',
    (patch) => rackOf(patch, PLENTY, undefined, undefined, 'voltage-to-switch'),
  ],
  [
    'a rack whose spare converters go from switch to voltage alone',
    (patch) => rackOf(patch, PLENTY, undefined, undefined, 'switch-to-voltage'),
  ],
  ['a rack with nothing to spare', (patch) => rackOf(patch, {}, undefined)],
  ['a rack with no cable to spare', (patch) => rackOf(patch, PLENTY, allCables(patch).length)],
];

/** Text with a remark on every line that can bear one. */
function remarked(value: unknown): string {
  return stringify(value, { lineWidth: 0 })
    .split('\n')
    .map((line, index) =>
      /(: |- )\S/.test(line) && !/[|>][+-]?$/.test(line) ? `${line} # ${index}` : line,
    )
    .join('\n');
}

/** Figures of which more is worse, and those of which less is. */
const GROWS = /^(short|amperes|lossShare|missed|late|cutHits|lowHits|racing|overSamples|plugs$)/;
const SHRINKS = /^(marginVolts|topVolts)/;

function keyOf({ rule, jack, figures }: Finding): string {
  return `${rule} ${jack === undefined ? (figures.kind ?? '') : jackName(jack)}`;
}

function isWorse(now: Finding, before: Finding): boolean {
  const rank = ['note', 'caution', 'fault'];
  if (rank.indexOf(now.severity) > rank.indexOf(before.severity)) return true;
  return Object.entries(now.figures).some(([name, value]) => {
    const was = before.figures[name];
    if (typeof value !== 'number' || typeof was !== 'number') return false;
    if (GROWS.test(name)) return value > was + 1e-9;
    return SHRINKS.test(name) && value < was - 1e-9;
  });
}

/** A finding for each of the jacks that it is about. */
function apart(findings: readonly Finding[]): Finding[] {
  return findings.flatMap((finding) => {
    const jacks = findingJacks(finding);
    return jacks.length === 0 ? [finding] : jacks.map((jack) => ({ ...finding, jack }));
  });
}

/** Findings after a mend that are new, or worse than before. */
function worsened(before: readonly Finding[], after: readonly Finding[]): string[] {
  const left = apart(before);
  return apart(after).flatMap((finding) => {
    const at = left.findIndex((one) => keyOf(one) === keyOf(finding));
    const [was] = at < 0 ? [] : left.splice(at, 1);
    if (was === undefined)
      return [`new: ${finding.severity} ${keyOf(finding)}: ${finding.message}`];
    return isWorse(finding, was)
      ? [`worse: ${keyOf(finding)}: ${was.message} -> ${finding.message}`]
      : [];
  });
}

interface Outcome {
  readonly worse: readonly string[];
  readonly lost: readonly string[];
  readonly mended: number;
}

function mend(given: Case, rackFor: RackFor): Outcome {
  const rack = rackFor(given.whole, given);
  const { rack: _, ...main } = given.whole.main;
  const originals: PatchTexts['texts'] = {
    [MAIN]: remarked({ ...(rack !== undefined && { rack: RACK }), ...main }),
    ...Object.fromEntries(
      Object.entries(given.whole.files).map(([path, text]) => [path, remarked(text)]),
    ),
    ...(rack !== undefined && { [RACK]: rack }),
  };
  const patch = patchFrom(originals[MAIN] as string, originals);
  // As `mended` does, but that what is heard of the patch before any mend is kept for the comparison.
  const steps = mending(patch, { main: MAIN, set: [], texts: originals }, { wanted: () => true });
  let step = steps.next();
  let first: Context | undefined;
  while (step.done !== true) {
    const context = contextOf(step.value);
    first ??= context;
    step = steps.next(context);
  }
  const mend = step.value;
  const [after, left] = [mend.texts.texts, mend.left];
  if (
    first === undefined ||
    Object.entries(after).every(([name, text]) => text === originals[name])
  )
    return { worse: [], lost: [], mended: 0 };
  const before = findingsIn(first);
  // What it says is left is what a check of the mended files finds.
  const found = check(patchFrom(after[MAIN] as string, after));
  expect(found.map(keyOf)).toEqual(left.map(keyOf));
  return {
    worse: worsened(before, found),
    lost: Object.entries(originals).flatMap(([file, text]) => lostLines(text, after[file] ?? '')),
    mended: before.length - found.length,
  };
}

/**
 * Lines that are gone though no cable or setting in them was changed and no module of theirs was taken out, and
 * remarks that are gone.
 */
function lostLines(before: string, after: string): string[] {
  const now = after.split('\n');
  const out = takenOut(before, after);
  let next = 0;
  return before.split('\n').filter((line) => {
    const at = now.indexOf(line, next);
    if (at >= 0) {
      next = at + 1;
      return false;
    }
    if (out.has(line)) return false;
    const [remark = ''] = /#.*$/.exec(line) ?? [];
    const isChangeable = /^\s*- \S+ +-> +\S+|^\s+[a-z-]+: \S/.test(line);
    return !isChangeable || !now.some((one) => one.endsWith(remark));
  });
}

/** The first lines of modules that are gone: a planned way out of a rack may do without one. */
function takenOut(before: string, after: string): ReadonlySet<string> {
  const named = (text: string): string[] => Object.keys((parse(text) as Named).modules ?? {});
  const left = new Set(named(after));
  return new Set(named(before).flatMap((name) => (left.has(name) ? [] : [`  ${name}:`])));
}

interface Named {
  readonly modules?: Record<string, unknown>;
}

/** What has a fault in it. An ordinary run mends each on one of the racks, in turn; a search on all of them. */
const planted = cases.filter(({ expected }) => expected.length > 0);
const SHARE = runs(1).numRuns > 1 ? 1 : RACKS.length;
/** ms; on a loaded machine. */
const LONGEST = SHARE === 1 ? 3_600_000 : 120_000;

describe.each(RACKS.map(([name, rackFor], index) => [name, rackFor, index] as const))(
  'on %s',
  (_, rackFor, index) => {
    it(
      'nothing planted is worse for being mended',
      () => {
        let count = 0;
        const bad = planted
          .filter((_, i) => i % SHARE === index % SHARE)
          .flatMap((given) => {
            const { worse, lost, mended: gone } = mend(given, rackFor);
            count += gone;
            return [...worse, ...lost.map((line) => `lost: ${line}`)].map(
              (one) => `${given.name}: ${one}`,
            );
          });
        expect(bad).toEqual([]);
        // Something was mended, or nothing was tried.
        expect(count).toBeGreaterThan(0);
      },
      LONGEST,
    );
  },
);
