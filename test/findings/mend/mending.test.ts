// What can be mended: the mended patch has no findings left, and its comments and its layout are
// unchanged, except for the lines that had to change.

import { describe, expect, it } from 'vitest';
import { check } from '../../../src/findings/check.ts';
import { mended } from '../../../src/findings/mend/mending.ts';
import { fileText, type PatchTexts } from '../../../src/patch/texts.ts';
import { patchFrom, SHIPPED, shipped } from '../../patch-of.ts';
import { told } from '../read.ts';

const MAIN = 'test.yaml';

/** Mends the text of a patch; its parts are the shipped ones. */
function mend(text: string): { text: string; files: PatchTexts['texts']; left: string[] } {
  const patch = patchFrom(text);
  const files: Record<string, string> = { [MAIN]: text };
  for (const { place } of patch.modules)
    if (place.file !== MAIN) files[place.file] = shipped(place.file);
  if (patch.rack !== undefined) files[patch.rack.path] = shipped(patch.rack.path);
  const { texts: after, left } = mended(patch, { main: MAIN, set: [], texts: files });
  return {
    text: fileText(after, MAIN) ?? '',
    files: after.texts,
    left: told(left.filter(({ severity }) => severity !== 'note')),
  };
}

/** The lines of one text that the other does not have. */
function linesOnlyIn(text: string, other: string): string[] {
  const lines = new Set(other.split('\n'));
  return text.split('\n').filter((line) => !lines.has(line));
}

const BASE = `# A comment at the top.
title: Hat     # and one beside a key

modules:
  drums:
    kind: rhythm
    tempo: 60 bpm
    channels: [hat, tom]
    gate: 50 ms     # long enough
    patterns: { groove: { hat: "--x- ---- --x- ----", tom: "---- --x- ---- --x-" } }

  # The envelope.
  shape:  { kind: envelope, attack: 1 ms, decay: 20 ms, release: 20 ms }
  hiss:   { kind: noise }   # all of it
  level:  { kind: amplifier }
  out:    { kind: output }

cables:
  # Control first,
  - drums.hat  -> shape.trigger   # the gate
  - shape.out  -> level.control
  # then sound.
  - hiss.white -> level.in
  - level.out  -> out.left
`;

/** What was there, what there is now, and which lines of the original had to give way. */
const CASES: [name: string, text: string, before: string[], gone: string[]][] = [
  [
    'a converter is put in before a switch trigger',
    BASE.replace('decay: 20 ms,', 'decay: 20 ms, trigger: switch,'),
    ['voltage-into-switch fault shape.trigger'],
    ['  - drums.hat  -> shape.trigger   # the gate'],
  ],
  [
    'a converter is put in after a switch',
    BASE.replace('  out: ', '  adapt:  { kind: trigger-converter }\n  out: ').replace(
      '  - drums.hat  -> shape.trigger   # the gate',
      '  - drums.hat  -> adapt.voltage-in\n  - adapt.switch-out -> shape.trigger # closes',
    ),
    ['switch-into-voltage fault shape.trigger'],
    ['  - adapt.switch-out -> shape.trigger # closes'],
  ],
  [
    'a level is added to a block of settings',
    BASE.replace('tempo: 60 bpm', 'tempo: 60 bpm\n    level: 2 V'),
    ['level-too-low fault shape.trigger'],
    ['    level: 2 V'],
  ],
  [
    'an attenuator is opened',
    BASE.replace(
      '  out: ',
      '  less:   { kind: attenuator, level: 40 % }   # too much\n  out: ',
    ).replace(
      '  - drums.hat  -> shape.trigger   # the gate',
      '  - drums.hat  -> less.in\n  - less.out   -> shape.trigger',
    ),
    ['level-too-low fault shape.trigger'],
    ['  less:   { kind: attenuator, level: 40 % }   # too much'],
  ],
  [
    'a multiple takes the second plug of an output',
    `${BASE.replace('  out: ', '  second: { kind: amplifier }\n  out: ')}  - hiss.pink  -> second.in
  - shape.out  -> second.control
  - second.out -> out.right
`,
    ['jack-doubled fault shape.out'],
    ['  - shape.out  -> level.control', '  - shape.out  -> second.control'],
  ],
  [
    'a logic module takes two gates',
    BASE.replace('  # then sound.', '  - drums.tom  -> shape.trigger\n  # then sound.'),
    ['outputs-joined fault drums.tom'],
    ['  - drums.hat  -> shape.trigger   # the gate', '  - drums.tom  -> shape.trigger'],
  ],
  [
    'a free input of the mixer takes the second sound',
    `${BASE.replace('  out: ', '  mix:    { kind: mixer }\n  out: ').replace('level.out  -> out.left', 'level.out  -> mix.in-1')}  - hiss.pink  -> mix.in-1
  - mix.out    -> out.left
`,
    ['outputs-joined caution hiss.pink'],
    ['  - hiss.pink  -> mix.in-1'],
  ],
  [
    'the cables of an amplifier are swapped back',
    BASE.replace('shape.out  -> level.control', 'shape.out  -> level.in').replace(
      'hiss.white -> level.in',
      'hiss.white -> level.control',
    ),
    ['signal-mismatch caution level.in'],
    ['  - shape.out  -> level.in', '  - hiss.white -> level.control'],
  ],
  [
    'a forgotten cable is added where only one fits',
    BASE.replace('  - shape.out  -> level.control\n', ''),
    ['input-open fault level.control'],
    [],
  ],
];

describe('the mended patch', () => {
  it.each(CASES)('%s', (_, text, before, gone) => {
    const findings = check(patchFrom(text)).filter(({ severity }) => severity !== 'note');
    // Other rules may have their say about a voice that does not start.
    expect(told(findings)).toEqual(expect.arrayContaining(before));
    const { text: after, left } = mend(text);
    expect(left).toEqual([]);
    expect(linesOnlyIn(text, after)).toEqual(gone);
    for (const [comment] of text.matchAll(/#.*/g)) expect(after).toContain(comment);
  });

  it('of a text with Windows line ends has no others', () => {
    const text = BASE.replace('decay: 20 ms,', 'decay: 20 ms, trigger: switch,').replaceAll(
      '\n',
      '\r\n',
    );
    const { text: after, left } = mend(text);
    expect(left).toEqual([]);
    expect(after.replaceAll('\r\n', '')).not.toMatch(/[\r\n]/);
  });

  it('in the flow style stays in it', () => {
    const text = `{ modules: { drums: { kind: rhythm, gate: 50 ms, tempo: 60 bpm, channels: [hat], patterns: { a: { hat: "x---" } } }, shape: { kind: envelope, trigger: switch, decay: 20 ms, release: 20 ms }, hiss: { kind: noise }, level: { kind: amplifier }, out: { kind: output } }, cables: [drums.hat -> shape.trigger, shape.out -> level.control, hiss.white -> level.in, level.out -> out.left] }`;
    const { text: after, left } = mend(text);
    expect(left).toEqual([]);
    expect(after).toContain(
      'cables: [drums.hat -> shape-adapt.voltage-in, shape-adapt.switch-out -> shape.trigger,',
    );
    expect(after.split('\n')).toHaveLength(1);
  });

  it('has its part mended where the fault is in the part', () => {
    const broken = shipped('parts/kick.yaml').replace(
      'loudness: { kind: envelope,',
      'loudness: { kind: envelope, trigger: switch,',
    );
    const files = { 'parts/kick.yaml': broken };
    const text = shipped('kick.yaml');
    const patch = patchFrom(text, files);
    const { texts, left } = mended(patch, {
      main: MAIN,
      set: [],
      texts: { [MAIN]: text, ...files },
    });
    expect(told(left.filter(({ severity }) => severity !== 'note'))).toEqual([]);
    expect(fileText(texts, MAIN)).toBe(text);
    expect(linesOnlyIn(broken, fileText(texts, 'parts/kick.yaml') ?? '')).toEqual([
      '  - gate.out-2   -> loudness.trigger',
    ]);
  });

  it.each(SHIPPED)('%s has nothing to mend, and is left as it is', (name) => {
    expect(mend(shipped(name)).text).toBe(shipped(name));
  });
});

/** On a rack whose drums give what a dial says, at positions 0, 4 and 10. */
function onDial(level: string, table: readonly number[]) {
  const texts = {
    [MAIN]: `rack: own.yaml
modules:
  drums: { kind: rhythm, level: ${level}, channels: [hat], patterns: { a: { hat: "x-x-" } } }
  shape: { kind: envelope }
  hiss: { kind: noise }
  level: { kind: amplifier }
  out: { kind: output }
cables: [drums.hat -> shape.trigger, shape.out -> level.control, hiss.white -> level.in, level.out -> out.left]
`,
    'own.yaml': `units:
  drums: { kind: rhythm, dials: { level: { 0: ${table[0]} V, 4: ${table[1]} V, 10: ${table[2]} V } } }
  shape: { kind: envelope }
  hiss: { kind: noise }
  level: { kind: amplifier }
  out: { kind: output }
`,
  };
  const patch = patchFrom(texts[MAIN] as string, texts);
  const after = mended(patch, { main: MAIN, set: [], texts });
  return {
    fix: check(patch).find(({ rule }) => rule === 'level-too-low')?.fix,
    level: /level: ([^,]*),/.exec(after.texts.texts[MAIN] as string)?.[1],
    left: after.left.map(({ rule }) => rule).filter((rule) => rule.startsWith('level')),
  };
}

describe('a setting that is given as the position of a dial', () => {
  it.each([
    // 3.28 V is 1.3 times the threshold of 2.5 V behind 1 kohm into 100 kohm, by hand: 4 + 6 (3.28 - 2) / 6 = 5.28.
    ['rising', 'dial 2', [1, 2, 8], 'dial 5.3'],
    // 4 + 6 (8 - 3.28) / 6 on the way down from 8 V to 2 V: 8.72, and the mark before it, which gives more.
    ['falling', 'dial 10', [9, 8, 2], 'dial 8.7'],
  ] as const)('stays one on a dial that is %s', (_, level, table, wanted) => {
    const outcome = onDial(level, table);
    expect(outcome.level).toBe(wanted);
    expect(outcome.left).toEqual([]);
    expect(outcome.fix).toContain(`(${wanted})`);
  });

  it('is none where the file gives a voltage, and the advice says both', () => {
    const outcome = onDial('2 V', [1, 2, 8]);
    expect(outcome.level).toBe('3.5 V');
    expect(outcome.fix).toBe('Set level of drums to 3.5 V (dial 5.5).');
  });
});
