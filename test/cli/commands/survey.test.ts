// `survey`: the facts worth knowing as blanks to fill in, and the answers written into a rack.

import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { answered, blanksText } from '../../../src/cli/reports/survey-blanks.ts';
import { surveyOf } from '../../../src/findings/survey.ts';
import { type Blank, blanksOf, worthOf } from '../../../src/findings/survey-blanks.ts';
import { KINDS } from '../../../src/modules/kinds.ts';
import { surveyPage } from '../../../src/output/sheet/survey-page.ts';
import type { Patch } from '../../../src/patch/patch.ts';
import { readPatch } from '../../../src/patch/read.ts';
import { formatBriefly } from '../../../src/patch/units.ts';
import { forehear, PATCHES, scratch } from '../run.ts';

const CABINET = 'racks/teaching-cabinet.yaml';

function onRack(name: string, rack: string): Patch {
  const load = (path: string): string => readFileSync(join(PATCHES, path), 'utf8');
  const { patch, problems } = readPatch(load(name), {
    file: name,
    kinds: KINDS,
    load,
    rack: { file: 'own.yaml', text: rack },
  });
  if (patch === undefined) throw new Error(JSON.stringify(problems));
  return patch;
}

const RACK = readFileSync(join(PATCHES, CABINET), 'utf8');
const PATCH = onRack('closed-hat.yaml', RACK);
const BLANKS = blanksOf(PATCH);

function files(filled: string): { readonly found: string; readonly own: string } {
  const folder = scratch();
  const [found, own] = [join(folder, 'found.yaml'), join(folder, 'own.yaml')];
  writeFileSync(found, filled);
  writeFileSync(own, RACK);
  return { found, own };
}

function filledIn(answers: Readonly<Record<string, string>>): string {
  let text = blanksText('Hat', BLANKS);
  for (const [fact, words] of Object.entries(answers))
    text = text.replace(new RegExp(`^( +${fact}:)$`, 'm'), `$1 ${words}`);
  return text;
}

function holdsAt(patch: Patch, jack: string): number {
  return surveyOf(patch).find((point) => point.jack === jack)?.holds ?? 0.5;
}

describe('a blank', () => {
  it('is worth what a divider by hand says', () => {
    // 5 V known to 1 % behind 470 ohm into 100 kohm, which fires over 2.5 V: all else off by a share t.
    const stays = (t: number): boolean => {
      const load = 100 * (1 - t);
      const source = 0.47 * (1 + t);
      return (5 * 0.99 * load) / (load + source) >= 2.5 * (1 + t);
    };
    const high = BLANKS.find(({ jack, fact }) => jack === 'hat' && fact === 'high') as Blank;
    expect(stays(0.5)).toBe(true);
    expect(high.then).toBeUndefined();
    const on = BLANKS.find(({ jack, fact }) => jack === 'voltage-in' && fact === 'on') as Blank;
    const fires = (t: number): boolean => {
      const load = 100 * (1 - t);
      return (5 * (1 - t) * load) / (load + 0.47 * (1 + t)) >= 2.5 * 1.01;
    };
    let most = 0;
    while (fires((most + 1) / 100)) most += 1;
    expect(Math.round(100 * (on.then as number))).toBe(most);
    expect(high.holds).toBe(holdsAt(PATCH, high.at));
  });

  it('comes the most worth first, and only where it is worth something', () => {
    for (const name of ['closed-hat.yaml', 'open-hat.yaml']) {
      const worth = blanksOf(onRack(name, RACK)).map(worthOf);
      expect(worth.length).toBeGreaterThan(3);
      expect(worth).toEqual(worth.toSorted((a, b) => b - a));
      expect(worth.at(-1)).toBeGreaterThan(0);
    }
  });

  it('filled in as expected makes the check as sure as it says, each by itself', () => {
    for (const blank of BLANKS) {
      const value = formatBriefly(blank.expected, blank.quantity);
      const lines = blanksText('Hat', [blank]).replace(/:\n$/, `: ${value} +- 1 %\n`);
      const { found, own } = files(lines);
      const { rack } = answered(found, own);
      expect(holdsAt(onRack('closed-hat.yaml', rack.after), blank.at)).toBe(blank.then ?? 0.5);
    }
  });

  it('is gone once it is filled in with how far it may be off', () => {
    const { found, own } = files(filledIn({ high: '5.1 V +- 0.05 V' }));
    const left = blanksOf(onRack('closed-hat.yaml', answered(found, own).rack.after));
    expect(left.some(({ jack, fact }) => jack === 'hat' && fact === 'high')).toBe(false);
  });
});

describe('answers', () => {
  it('go into the rack and change nothing else; blanks change nothing', () => {
    const { found, own } = files(filledIn({ high: '5.1 V +- 0.05 V', rest: '5 V' }));
    const { answers, rack } = answered(found, own);
    expect(answers.map(({ unit, jack, fact, text }) => [unit, jack, fact, text])).toEqual([
      ['drums', 'hat', 'high', '5.1 V +- 0.05 V'],
      ['old-shape', 'trigger', 'rest', '5 V'],
    ]);
    const expected = RACK.replace(
      'outputs: { resistance: 470 ohm } }',
      'outputs: { resistance: 470 ohm }, hat: { high: 5.1 V +- 0.05 V } }',
    ).replace('rest: 5.1 V', 'rest: 5 V');
    expect(rack.after).toBe(expected);
  });

  it.each([
    [
      'a wrong unit',
      { high: '5.1 ohm' },
      /"high" is a voltage, and ohm is the unit of a resistance/,
    ],
    ['out of range', { high: '51 V' }, /"high" is out of range/],
    ['no doubt', { high: '5 V +- much' }, /does not say how far it is off/],
    ['a comma in the doubt', { high: '5 V +- 0,1 V' }, /a point, not a comma/],
    ['a range', { high: '5.0 .. 5.2 V' }, /is a range\n.*\n.*\n.*5\.1 V \+- 0\.1 V/],
    ['a list', { high: '[5 V]' }, /"high" cannot be a list/],
    [
      'a contradiction',
      { on: '0.2 V' },
      /contradicts itself: off at 1.5 V is not under on at 0.2 V/,
    ],
    ['nothing', {}, /nothing is filled in/],
  ])('that cannot be are told with their place and not written: %s', (_, answers, words) => {
    const { found, own } = files(filledIn(answers));
    expect(() => answered(found, own)).toThrow(words);
    expect(readFileSync(own, 'utf8')).toBe(RACK);
  });

  it.each([
    [
      'a unit that is not there',
      'units:\n  drms: { kind: rhythm, jacks: { clock: { high: 5 V } } }\n',
      /has no unit drms/,
    ],
    [
      'another kind',
      'units:\n  drums: { kind: clock, jacks: { out: { high: 5 V } } }\n',
      /of the kind rhythm/,
    ],
    ['a list', '- 1\n', /not a rack/],
    ['no YAML', 'units: {\n', /found\.yaml:\d+:\d+/],
  ])('of %s are refused', (_, text, words) => {
    const { found, own } = files(text);
    expect(() => answered(found, own)).toThrow(words);
  });

  it('are taken with blanks left on one line too', () => {
    const { found, own } = files(
      'units:\n  drums: { kind: rhythm, jacks: { hat: { high: , low: 0.1 V } } }\n',
    );
    expect(answered(found, own).rack.after).toContain('hat: { low: 0.1 V }');
  });

  it.each([
    // Only the patch knows that a channel of this name has a low level of 0 V.
    ['a level under the one at rest', '-3 V', 'hat', /found\.yaml:\d+:\d+: in .*low at 0 V is not/],
    ['a jack that is gone', '5 V', 'hatt', /found\.yaml:\d+:\d+: .*no output hatt/],
  ])(
    'that the patch contradicts are told at the answer, and not written: %s',
    (_, high, jack, words) => {
      const { found, own } = files(filledIn({ high }).replace(/^( +)hat:/m, `$1${jack}:`));
      const answers = ['--rack', own, '--answers', found, '--into', own];
      const run = forehear(PATCHES, ['survey', 'closed-hat.yaml', ...answers]);
      expect(run.status).toBe(2);
      expect(run.stderr).toMatch(words);
      expect(readFileSync(own, 'utf8')).toBe(RACK);
    },
  );

  it('are taken by the command, which leaves a filled-in file alone', () => {
    const { found, own } = files(filledIn({ high: '5.1 V +- 0.05 V' }));
    const patch = join(PATCHES, 'closed-hat.yaml');
    const again = forehear(PATCHES, ['survey', patch, '--blanks', found]);
    expect(again.status, again.stderr).toBe(2);
    expect(again.stderr).toContain('it was left alone');
    const { status, stdout, stderr } = forehear(PATCHES, [
      'survey',
      patch,
      '--rack',
      own,
      '--answers',
      found,
      '--into',
      own,
    ]);
    expect(status, stderr).toBe(0);
    expect(stdout).toMatch(/adapt\.voltage-in +32 % off +over 50 % off/);
    expect(readFileSync(own, 'utf8')).toContain('hat: { high: 5.1 V +- 0.05 V }');
  });
});

describe('the form', () => {
  it('has every input and every blank, with room to write, and is safe from names', () => {
    const page = surveyPage('A <b>kit</b>', surveyOf(PATCH), BLANKS);
    expect(page.match(/class="room"/g)).toHaveLength(2 * surveyOf(PATCH).length + BLANKS.length);
    for (const { unit, jack, fact } of BLANKS) expect(page).toContain(`${unit}.${jack}: ${fact}`);
    expect(page).not.toContain('<b>kit');
  });
});
