// The shipped patches, changed in ways that make them wrong, or not, by construction: every planted
// fault must be named, where it was planted, and nothing else may be.

import { describe, expect, it } from 'vitest';
import { stringify } from 'yaml';
import { findingsIn } from '../../src/findings/check.ts';
import { contextOf } from '../../src/findings/context.ts';
import { findingJacks } from '../../src/findings/gathered.ts';
import { RULES } from '../../src/findings/rules/rules.ts';
import type { Patch } from '../../src/patch/patch.ts';
import { patchFrom } from '../patch-of.ts';
import { type Case, cases, heard } from './planted.ts';

/** The rules that this suite plants or looks out for. */
const ELECTRICAL = [
  'cable-short',
  'input-open',
  'jack-doubled',
  'level-marginal',
  'level-too-high',
  'level-too-low',
  'loaded-down',
  'nothing-reaches-output',
  'outputs-joined',
  'rack-short',
  'signal-mismatch',
  'stays-on',
  'switch-into-voltage',
  'voltage-into-switch',
];

/** Those that an ear or a score tells. */
const HEARD = ['accent-unheard', 'time-out-of-range', 'too-quiet'];
const RULES_HEARD = RULES.filter(({ name }) => HEARD.includes(name));

const RULES_HERE = RULES.filter(({ name }) => ELECTRICAL.includes(name));

describe('what was planted is named, and nothing else', () => {
  it('is tried in 150 patches or more, right ones among them', () => {
    expect(cases.length).toBeGreaterThanOrEqual(150);
    expect(cases.filter(({ expected }) => expected.length === 0).length).toBeGreaterThan(40);
    // Every rule is planted at least once, but for two that need facts no shipped patch comes near.
    const planted = new Set(
      cases.flatMap(({ expected }) => expected.map((one) => one.split(' ')[0])),
    );
    expect(ELECTRICAL.filter((rule) => !planted.has(rule))).toEqual([
      'level-too-high',
      'loaded-down',
    ]);
  });

  it.each(cases.map((one) => [one.name, one] as const))(
    '%s',
    (_, { whole: patch, expected, rack }) => {
      const found = findingsIn(
        contextOf(readCase({ whole: patch, ...(rack !== undefined && { rack }) })),
        RULES_HERE,
      )
        .filter(({ severity }) => severity !== 'note')
        .flatMap((finding) => {
          const modules = new Set(findingJacks(finding).map(({ module }) => module));
          const { rule } = finding;
          return rule.endsWith('-short')
            ? [`${rule} -`]
            : [...modules].map((one) => `${rule} ${one}`);
        });
      // `input-open a|b` is met by either.
      const meets = (want: string, got: string): boolean => {
        const [rule, modules = ''] = want.split(' ');
        return modules.split('|').some((module) => `${rule} ${module}` === got);
      };
      expect(expected.filter((want) => !found.some((got) => meets(want, got)))).toEqual([]);
      expect(found.filter((got) => !expected.some((want) => meets(want, got)))).toEqual([]);
    },
  );
});

/** The patch of a case, with its parts and its rack. */
function readCase({ whole, rack }: Pick<Case, 'whole' | 'rack'>): Patch {
  const files = Object.fromEntries(
    Object.entries(whole.files).map(([path, text]) => [path, stringify(text)]),
  );
  return patchFrom(stringify(whole.main), {
    ...files,
    ...(rack !== undefined && { 'suite.yaml': rack }),
  });
}

describe('what only an ear or a score tells is named, and nothing else', () => {
  it('is tried in right patches, and in ones that have each of it', () => {
    const planted = new Set(
      heard.flatMap(({ expected }) => expected.map((one) => one.split(' ')[0])),
    );
    expect([...planted].toSorted()).toEqual(HEARD);
    expect(heard.filter(({ expected }) => expected.length === 0).length).toBeGreaterThan(10);
  });

  it.each(heard.map((one) => [one.name, one] as const))('%s', (_, one) => {
    const found = findingsIn(contextOf(readCase(one)), RULES_HEARD).map(
      ({ rule, jack }) => `${rule} ${jack?.module}`,
    );
    // The mix decides which of its modules stands for a voice.
    const told = found.map((finding) =>
      one.expected.includes('too-quiet') ? finding.replace(/ .*/, '') : finding,
    );
    expect([...new Set(told)]).toEqual(one.expected);
  });
});
