// `survey`: the facts worth knowing as blanks to fill in, and the answers written into a rack.

import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { parse } from 'yaml';
import { type Replaced, replacedText } from '../../../src/cli/reports/replaced-facts.ts';
import { answered, blanksText } from '../../../src/cli/reports/survey-blanks.ts';
import { surveyOf } from '../../../src/findings/survey.ts';
import { type Blank, blanksOf, worthOf } from '../../../src/findings/survey-blanks.ts';
import { surveyPage } from '../../../src/output/sheet/survey-page.ts';
import type { Patch } from '../../../src/patch/patch.ts';
import { formatBriefly } from '../../../src/patch/units.ts';
import { example } from '../../patch-of.ts';
import { forehear, PATCHES, scratch } from '../run.ts';

const CABINET = 'racks/teaching-cabinet.yaml';

function onRack(name: string, rack: string): Patch {
  return example(name, { rack: { file: 'own.yaml', text: rack } });
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

  it('is in one order on paper and in the file, each worth something', () => {
    for (const name of ['closed-hat.yaml', 'two-bar-kit.yaml']) {
      const patch = onRack(name, RACK);
      const blanks = blanksOf(patch);
      expect(blanks.length).toBeGreaterThan(3);
      for (const blank of blanks) expect(worthOf(blank)).toBeGreaterThan(0);
      const page = surveyPage('', [], blanks, []);
      const onPaper = [...page.matchAll(/<th scope="row">([^<]*)<\/th>/g)].map((match) => match[1]);
      const { units } = parse(blanksText('', blanks));
      const inFile = Object.entries<{ jacks: Record<string, object> }>(units).flatMap(
        ([unit, { jacks }]) =>
          Object.entries(jacks).flatMap(([jack, facts]) =>
            Object.keys(facts).map((fact) => `${unit}.${jack}: ${fact}`),
          ),
      );
      expect(onPaper).toEqual(inFile);
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

  // No tolerance of a rack is lost in silence: each way in which an answer can stand to what it replaces.
  it.each([
    ['5.1 V', '5 V +- 0.2 V', 'untold', /tolerance is gone/],
    ['5.1 V +- 0.05 V', '5 V +- 0.2 V', 'surer', /surer/],
    ['5.1 V +- 0.3 V', '5 V +- 0.2 V', 'less sure', /was surer/],
    ['4.1 V +- 0.05 V', '5 V +- 0.2 V', 'contradicts', /not both can be right/],
  ])('say what they take the place of: %s for %s', (answer, before, standing, words) => {
    const { found, own } = files(filledIn({ high: answer }));
    const rack = RACK.replace(
      'outputs: { resistance: 470 ohm } }',
      `outputs: { resistance: 470 ohm }, hat: { high: ${before} } }`,
    );
    expect(rack).not.toBe(RACK);
    writeFileSync(own, rack);
    const { replaced } = answered(found, own);
    const told = replaced.filter(({ fact }) => fact === 'high');
    expect(told.map((one) => one.standing)).toEqual([standing]);
    expect(replacedText(told[0] as Replaced)).toMatch(words);
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

  // The cabinet's new-shape is ready again under 1.2 V, its old-shape takes closures: neither is what a kind has unless
  // a rack says so (1.5 V; 2.5 V from below), which an answer would contradict.
  it.each([
    ['new-shape', '1.4 V', 'trigger: { on: 1.4 V, off: 1.2 V'],
    ['old-shape', '1.1 V', 'rest: 5.1 V, on: 1.1 V, off: 1.9 V'],
  ])('are checked beside what the rack says, whatever is usual: %s', (unit, on, expected) => {
    const { found, own } = files(
      `units:\n  ${unit}: { kind: envelope, jacks: { trigger: { on: ${on} } } }\n`,
    );
    expect(answered(found, own).rack.after).toContain(expected);
  });

  it('that the rack contradicts are told at the answer', () => {
    const { found, own } = files(
      'units:\n  new-shape: { kind: envelope, jacks: { trigger: { on: 1.1 V } } }\n',
    );
    expect(() => answered(found, own)).toThrow(
      /found\.yaml:2:\d+: .*off at 1\.2 V is not under on/,
    );
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

  it('that were made for a rack of another name are taken, and it is said whose they are', () => {
    const made = (rack: string): string =>
      blanksText('Hat', BLANKS, rack).replace(/^( +high:)$/m, '$1 5.1 V +- 0.05 V');
    const taken = (rack: string) => {
      const { found, own } = files(made(rack));
      return answered(found, own).madeFor;
    };
    expect(taken('cabinets/other-room.yaml')).toBe('cabinets/other-room.yaml');
    expect(taken('cabinets/own.yaml')).toBeUndefined();
    const { found, own } = files(made('other-room.yaml'));
    const patch = join(PATCHES, 'closed-hat.yaml');
    const { stdout } = forehear(PATCHES, ['survey', patch, '--answers', found, '--into', own]);
    expect(stdout.replaceAll(own, 'own.yaml')).toContain(
      'The blanks were made for other-room.yaml: if own.yaml is another cabinet',
    );
  });
});

describe('the form', () => {
  it('has every input and every blank, with room to write, and is safe from names', () => {
    const page = surveyPage('A <b>kit</b>', surveyOf(PATCH), BLANKS, []);
    expect(page.match(/class="room"/g)).toHaveLength(2 * surveyOf(PATCH).length + BLANKS.length);
    for (const { unit, jack, fact } of BLANKS) expect(page).toContain(`${unit}.${jack}: ${fact}`);
    expect(page).not.toContain('<b>kit');
    expect(surveyPage('', [], [], ['two.<b>'])).not.toContain('two.<b>');
  });
});

describe('times', () => {
  const OWN = `units:
  drums: { kind: rhythm, jacks: { hat: { width: 1.05 ms, rise: 0.2 ms } } }
  one: { kind: pulse, jacks: { trigger: { shortest: 1 ms } } }
  out: { kind: output }
`;
  const TEXT = `title: A short clock
modules:
  drums: { kind: rhythm, channels: [hat], patterns: { a: { hat: "x-x-" } }, song: [a] }
  one: { kind: pulse }
  out: { kind: output }
cables: [drums.hat -> one.trigger, one.out -> out.left]
`;
  const FACTS = /^ +(width|rise|shortest):$/gm;
  const folder = scratch();
  const at = (name: string): string => join(folder, name);
  const [patch, own, blank, sheet] = ['patch.yaml', 'own.yaml', 'blank.yaml', 'form.html'].map(at);
  const survey = (...args: string[]) =>
    forehear(folder, ['survey', patch as string, '--rack', own as string, ...args]);
  const begin = (): void => {
    writeFileSync(patch as string, TEXT);
    writeFileSync(own as string, OWN);
  };

  it('come first where they are the least certain: listed, on the form, as blanks, and merged', () => {
    begin();
    const run = survey('--sheet', sheet as string, '--blanks', blank as string, '--force');
    expect(run.status, run.stderr).toBe(0);
    // 1.05 ms, less 0.064 ms up to 2.5 of 4.95 V and more 0.109 ms down to 1.5 V (rise / ln 9 each), in samples at 48 kHz.
    expect(run.stdout).toMatch(
      /^at .*\none\.trigger +drums\.hat +width +1\.(?:08|1) ms +from 1 ms +\d+ % off +_____\none\.trigger +drums\.hat +0 V/m,
    );
    const form = readFileSync(sheet as string, 'utf8');
    expect(form).toContain('shortest pulse, from 2.5\u00a0V to 1.5\u00a0V on the way back');
    expect(form).toContain('drums.hat: width');
    const blanks = readFileSync(blank as string, 'utf8');
    expect(blanks.match(FACTS)?.map((one) => one.trim())).toEqual(['width:', 'shortest:']);
    expect(blanks).toMatch(
      /# 1\.05 ms is assumed; time on a scope.*\n +# Worth \d+ %: the width at one\.trigger then holds until \d+ % off; now \d+ % off\.\n +width:/,
    );
    const filled = blanks
      .replace(/^( +width:)$/m, '$1 1.3 ms +- 0.01 ms')
      .replace(/^( +shortest:)$/m, '$1 0.6 ms +- 2 %');
    writeFileSync(blank as string, filled);
    const taken = survey('--answers', blank as string, '--into', own as string);
    expect(taken.status, taken.stderr).toBe(0);
    expect(taken.stdout).toMatch(/one\.trigger, width +\d+ % off +as its volts/);
    expect(readFileSync(own as string, 'utf8')).toBe(
      OWN.replace('1.05 ms', '1.3 ms +- 0.01 ms').replace('1 ms }', '0.6 ms +- 2 % }'),
    );
  });

  it.each([
    ['width', '1.05 V', /"width" is a time, and V is the unit of a voltage/],
    ['width', '0 ms', /"width" is out of range/],
    ['width', '1.05 ms +- 10 V', /found\.yaml:\d+:\d+/],
    ['shortest', '2 s', /"shortest" is out of range/],
    ['shortest', '0.9 .. 1.1 ms', /is a range/],
    ['shortest', '1 ms +- much', /does not say how far it is off/],
  ])('that cannot be are told with their place and not written: %s %s', (fact, words, said) => {
    begin();
    const found = at('found.yaml');
    const jack = fact === 'width' ? 'drums: { kind: rhythm' : 'one: { kind: pulse';
    const name = fact === 'width' ? 'hat' : 'trigger';
    writeFileSync(found, `units:\n  ${jack}, jacks: { ${name}: { ${fact}: ${words} } } }\n`);
    const run = survey('--answers', found, '--into', own as string);
    expect(run.status).toBe(2);
    expect(run.stderr).toMatch(said);
    expect(run.stderr).toMatch(/found\.yaml:2:\d+/);
    expect(readFileSync(own as string, 'utf8')).toBe(OWN);
  });
});
