// A way out of a rack with too few modules, carried out in the files: comments and everything else stay as
// they are, and the files then give the planned patch. Worked out by hand for each cabinet.

import { describe, expect, it } from 'vitest';
import { barredAsData, barredAsText } from '../../../src/cli/reports/barred-mends.ts';
import { check } from '../../../src/findings/check.ts';
import { mended } from '../../../src/findings/mend/mending.ts';
import { patchFrom } from '../../patch-of.ts';

/** A voice behind a converter, which an envelope that takes voltage triggers does without. */
const HAT = `title: Hat
modules:
  wire: { kind: multiple, jacks: 3 }   # only lengthens a cable
  adapt: { kind: trigger-converter }
  # The shape.
  shape:
    kind: envelope
    trigger: switch   # the old one
    release: 30 ms
  hiss: { kind: noise }
  level: { kind: amplifier }
cables:
  - wire.out-1       -> adapt.voltage-in # in
  - adapt.switch-out -> shape.trigger
  - shape.out        -> level.control
  - hiss.white       -> level.in
`;
const MAIN = `rack: own.yaml
parts: { one: one.yaml, two: two.yaml }
modules:
  drums: { kind: rhythm, channels: [a, b], patterns: { p: { a: "x-x-", b: "-x-x" } } }
  mix: { kind: mixer }
  out: { kind: output }
cables: [drums.a -> one.wire.in, drums.b -> two.wire.in, one.level.out -> mix.in-1, two.level.out -> mix.in-2, mix.out -> out.left]
`;
const rack = (cables: number, more: string): string => `cables: ${cables}
units:
  drums: { kind: rhythm }
  wire: { kind: multiple, count: 2 }
  hiss: { kind: noise, count: 2 }
  level: { kind: amplifier, count: 2 }
  mix: { kind: mixer }
  out: { kind: output }
${more}
`;
const ENOUGH =
  '  adapt: { kind: trigger-converter, count: 2 }\n  old: { kind: envelope, count: 2, fixed: { trigger: switch } }';
const SHORT = `  adapt: { kind: trigger-converter }
  old: { kind: envelope, fixed: { trigger: switch } }
  new: { kind: envelope, fixed: { trigger: voltage } }`;

function mend(files: Readonly<Record<string, string>>) {
  const texts = { 'test.yaml': MAIN, 'one.yaml': HAT, 'two.yaml': HAT, ...files };
  const patch = patchFrom(texts['test.yaml'], texts);
  expect(check(patch).some(({ rule }) => rule.endsWith('-short'))).toBe(true);
  const { texts: after, left, barred } = mended(patch, { main: 'test.yaml', set: [], texts });
  const changed = Object.keys(texts).filter(
    (name) => after.texts[name] !== texts[name as 'test.yaml'],
  );
  return {
    after: after.texts,
    changed,
    barred,
    left: left.filter(({ rule }) => rule.endsWith('-short')),
  };
}

describe('a way out that costs nothing', () => {
  it('takes a converter out of the one part that can do without', () => {
    const { after, changed, left } = mend({ 'own.yaml': rack(13, SHORT) });
    expect(left).toEqual([]);
    expect(changed).toEqual(['one.yaml']);
    expect(after['one.yaml']).toBe(
      HAT.replace('  adapt: { kind: trigger-converter }\n', '')
        .replace('trigger: switch   #', 'trigger: voltage   #')
        .replace('  - wire.out-1       -> adapt.voltage-in # in\n', '  # in\n')
        .replace('  - adapt.switch-out -> shape.trigger', '  - wire.out-1       -> shape.trigger'),
    );
  });

  it('joins two cables of two files into one, in the file that can name both ends', () => {
    const { after, changed, left } = mend({ 'own.yaml': rack(12, ENOUGH) });
    expect(left).toEqual([]);
    expect(changed).toEqual(['test.yaml', 'one.yaml']);
    expect(after['test.yaml']).toContain(
      '[drums.a -> one.adapt.voltage-in, drums.b -> two.wire.in,',
    );
    expect(after['one.yaml']).not.toContain('wire.out-1');
    expect(after['one.yaml']).toContain('# only lengthens a cable');
  });

  it('changes no file that is in the patch twice, and says so', () => {
    const twice = MAIN.replace('two.yaml', 'one.yaml');
    const { changed, barred, left } = mend({ 'test.yaml': twice, 'own.yaml': rack(13, SHORT) });
    expect(changed).toEqual([]);
    expect(left).toHaveLength(2);
    expect(barred.map(({ why }) => why)).toEqual(
      Array(2).fill(expect.stringContaining('one.yaml is in the patch several times')),
    );
  });

  it('takes out the last cables of a list in brackets, and what they led to', () => {
    const dead = MAIN.replace(
      '  out:',
      '  less: { kind: attenuator }\n  more: { kind: attenuator }\n  out:',
    ).replace('out.left]', 'out.left, drums.a-accent -> less.in, drums.b-accent -> more.in]');
    const { after, changed, left } = mend({ 'test.yaml': dead, 'own.yaml': rack(13, ENOUGH) });
    expect(left).toEqual([]);
    expect(changed).toEqual(['test.yaml']);
    expect(after['test.yaml']).toBe(MAIN.replace('out.left]', 'out.left, ]'));
  });

  it('takes nothing out that leads nowhere, as long as an open input may be what it is meant for', () => {
    const open = HAT.replace('  - shape.out        -> level.control\n', '');
    const files = { 'one.yaml': open, 'two.yaml': open, 'own.yaml': rack(8, ENOUGH) };
    const { after, changed } = mend(files);
    expect(changed).toEqual([]);
    expect(after).toMatchObject(files);
  });

  it('takes nothing out that another file has set, and takes the next way', () => {
    const first = 'one: { file: one.yaml, set: { adapt.level: 4 V } }';
    const set = MAIN.replace('one: one.yaml', first);
    const { after, changed, barred, left } = mend({
      'test.yaml': set,
      'own.yaml': rack(13, SHORT),
    });
    expect(barred).toEqual([]);
    expect(left).toEqual([]);
    expect(changed).toEqual(['two.yaml']);
    expect(after['two.yaml']).not.toContain('adapt');
  });

  it('says what is in the way of the best where each has something in its way', () => {
    const both = MAIN.replace(
      'one: one.yaml',
      'one: { file: one.yaml, set: { adapt.level: 4 V } }',
    ).replace('two: two.yaml', 'two: { file: two.yaml, set: { adapt.level: 4 V } }');
    const { changed, barred } = mend({ 'test.yaml': both, 'own.yaml': rack(13, SHORT) });
    expect(changed).toEqual([]);
    expect(barred[0]?.why).toContain('adapt');
  });

  it('is another where a file that is in the patch twice would have to change', () => {
    // The two of one file come first in the patch, and what could be done about them costs as little.
    const third = MAIN.replace('two: two.yaml }', 'two: one.yaml, own: two.yaml }')
      .replace('[a, b]', '[a, b, c]')
      .replace('b: "-x-x"', 'b: "-x-x", c: "x--x"')
      .replace('drums.b ->', 'drums.c -> own.wire.in, own.level.out -> mix.in-3, drums.b ->');
    const owned = rack(99, SHORT.replace('converter }', 'converter, count: 2 }'))
      .replace('switch }', 'switch } }\n  more: { kind: envelope, fixed: { trigger: switch }')
      .replaceAll('count: 2', 'count: 3')
      .replace('converter, count: 3', 'converter, count: 2');
    const { after, changed, left } = mend({ 'test.yaml': third, 'own.yaml': owned });
    expect(left).toEqual([]);
    expect(changed).toEqual(['two.yaml']);
    expect(after['two.yaml']).toContain('trigger: voltage');
  });
});

describe('a way out that costs something', () => {
  it('is told, and the files stay', () => {
    const { changed, barred } = mend({
      'own.yaml': rack(
        13,
        '  adapt: { kind: trigger-converter }\n  old: { kind: envelope, count: 2, fixed: { trigger: switch } }',
      ),
    });
    expect(changed).toEqual([]);
    const [text, ...others] = barredAsText(barred);
    expect(others).toEqual([]);
    expect(text).toContain(
      'two.yaml:4: rack-short is not mended:\n  every way out costs something that is heard',
    );
    expect(text).toMatch(/Or get one more\s+trigger-converter\./);
    expect(barredAsData(barred)).toEqual([
      {
        rule: 'rack-short',
        file: 'two.yaml',
        line: 4,
        column: 3,
        jack: null,
        why: expect.stringContaining('once through the song'),
      },
    ]);
  });
});
