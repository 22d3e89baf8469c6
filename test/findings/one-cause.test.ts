// One cause, one finding: an effect of one source or one setting at several inputs is reported once, with all
// of them; and the suggested help works, tried on the patch that it makes.

import { describe, expect, it } from 'vitest';
import { check } from '../../src/findings/check.ts';
import { findingJacks } from '../../src/findings/gathered.ts';
import { jackName } from '../../src/patch/patch.ts';
import { patchFrom } from '../patch-of.ts';
import { checked } from './read.ts';
import { by, voice } from './voice.ts';

/** Five envelopes behind one multiple, or each on a channel of its own; the level and more to choose. */
function five(drums: string, wired: 'multiple' | 'channels', envelope = ''): string {
  const names = [1, 2, 3, 4, 5];
  const channels = names.map((n) => `c${n}`).join(', ');
  const cables = names.flatMap((n) => [
    wired === 'multiple' ? `split.out-${n} -> e${n}.trigger` : `drums.c${n} -> e${n}.trigger`,
    `e${n}.out -> a${n}.control`,
    `hiss.white -> a${n}.in`,
    `a${n}.out -> mix.in-${n}`,
  ]);
  return `
modules:
  drums: { kind: rhythm, channels: [${channels}], ${drums}, patterns: { a: { c1: "x---x---", c2: "x---x---", c3: "x---x---", c4: "x---x---", c5: "x---x---" } } }
  split: { kind: multiple, jacks: 8 }
  hiss: { kind: noise }
${names.map((n) => `  e${n}: { kind: envelope, decay: 20 ms, release: 20 ms${envelope} }\n  a${n}: { kind: amplifier }`).join('\n')}
  mix: { kind: mixer }
  out: { kind: output }
cables:
${[...(wired === 'multiple' ? ['drums.c1 -> split.in'] : []), ...cables, 'mix.out -> out.left'].map((cable) => `  - ${cable}`).join('\n')}
`;
}

const ALL = ['e1.trigger', 'e2.trigger', 'e3.trigger', 'e4.trigger', 'e5.trigger'];

/** By the rule: what one cause does to all five, over a multiple and over channels. */
const CAUSES: [rule: string, text: string][] = [
  ['level-marginal', five('level: 2.9 V', 'multiple')],
  ['level-marginal', five('level: 2.8 V', 'channels')],
  ['level-too-low', five('level: 2 V', 'multiple')],
  ['level-too-low', five('level: 2 V', 'channels')],
  ['voltage-into-switch', five('level: 5 V', 'multiple', ', trigger: switch')],
  ['pulse-too-short', five('gate: 0.5 ms', 'channels')],
  ['gates-merge', five('tempo: 240 bpm, gate: 400 %', 'channels')],
  [
    'signal-mismatch',
    five('level: 5 V', 'multiple').replace('drums.c1 -> split.in', 'hiss.pink -> split.in'),
  ],
  [
    'stays-on',
    five('level: 5 V', 'multiple')
      .replace('drums.c1 -> split.in', 'drums.c1 -> lift.in\n  - lift.out -> split.in')
      .replace('  hiss:', '  lift: { kind: attenuator, offset: 2 V }\n  hiss:'),
  ],
];

describe('one cause', () => {
  it.each(CAUSES)('%s is told once, with all five inputs', (rule, text) => {
    const found = by(rule, text);
    expect(found.length).toBe(1);
    const [finding] = found;
    expect(finding && findingJacks(finding).map(jackName).sort()).toEqual(ALL);
    for (const name of ALL) expect(finding?.message).toContain(name);
  });

  it('of too little level at different margins is told at the least of them', () => {
    const text = five('level: 2.9 V', 'channels').replace(
      'drums.c3 -> e3.trigger',
      'drums.c3 -> split.in\n  - split.out-1 -> e3.trigger\n  - split.out-2 -> mix.in-8',
    );
    const [finding, ...others] = by('level-marginal', text);
    expect(others).toEqual([]);
    expect(finding?.jack).toEqual({ module: 'e3', jack: 'trigger' });
    expect(finding?.message).toContain('no worse');
  });

  it('is not made of two causes', () => {
    const text = five('level: 5 V', 'channels')
      .replace('drums.c1 -> e1.trigger', 'drums.c1 -> l1.in\n  - l1.out -> e1.trigger')
      .replace('drums.c2 -> e2.trigger', 'drums.c2 -> l2.in\n  - l2.out -> e2.trigger')
      .replace(
        '  hiss:',
        '  l1: { kind: attenuator, level: 55 % }\n  l2: { kind: attenuator, level: 55 % }\n  hiss:',
      );
    expect(by('level-marginal', text).length).toBe(2);
  });

  it('of clipping is told once for both sides', () => {
    const text = `
modules:
  hiss: { kind: noise, level: 3 V }
  loud: { kind: mixer, level-1: 200 % }
  place: { kind: panner }
  out: { kind: output, full-scale: 2 V }
cables: [hiss.white -> loud.in-1, loud.out -> place.in, place.left -> out.left, place.right -> out.right]
`;
    expect(by('clips', text).map((one) => findingJacks(one).length)).toEqual([2]);
  });
});

describe('what helps a marginal level', () => {
  const fixOf = (text: string, files: Record<string, string> = {}): string =>
    check(patchFrom(text, files)).find(({ rule }) => rule === 'level-marginal')?.fix ?? '';
  const left = (text: string): number =>
    checked(text).filter(({ rule }) => rule === 'level-marginal').length;

  // 3.1 V behind 1 kohm into five times 100 kohm: 2.952 V, 18.1 % over 2.5 V; into three 3.01 V, 20.4 %.
  const loaded = five('level: 3.1 V', 'multiple');

  it('is a setting, and fewer inputs where these are enough, and a comparator', () => {
    const fix = fixOf(loaded);
    expect(fix).toContain('Set level of drums to 3.5 V');
    expect(fix).toContain('leave no more than 3 of the 5 inputs');
    expect(fix).toContain('a comparator in front of the inputs, its threshold at 1.5 V');
    // A buffer has a resistance of its own, the same as the output's: no gain.
    expect(fix).not.toContain('buffer');
  });

  it('is gone when it is done', () => {
    expect(left(loaded)).toBe(1);
    expect(left(loaded.replace('3.1 V', '3.5 V'))).toBe(0);
    const three = loaded.replace(/ {2}- split\.out-[45] -> .*\n/g, '');
    expect(left(three)).toBe(0);
    expect(
      left(
        three.replace('out-1 -> e1.trigger', 'out-1 -> e1.trigger\n  - split.out-4 -> e4.trigger'),
      ),
    ).toBe(1);
    const gated = loaded
      .replace('drums.c1 -> split.in', 'drums.c1 -> gate.in\n  - gate.above -> split.in')
      .replace('  hiss:', '  gate: { kind: comparator, threshold: 1.5 V }\n  hiss:');
    expect(left(gated)).toBe(0);
  });

  it('is a buffer for an output of high resistance', () => {
    const weak = loaded
      .replace('drums.c1 -> split.in', 'tick.out -> split.in')
      .replace('  hiss:', '  tick: { kind: clock, level: 3.6 V, resistance: 5 kohm }\n  hiss:');
    // 3.6 V x 20 / 25 = 2.88 V; behind the buffer 3.6 x 100 / 105 x 20 / 21 = 3.27 V.
    expect(fixOf(weak)).toContain('put a buffer in front of the inputs (an attenuator at 100 %)');
    const buffered = weak
      .replace('tick.out -> split.in', 'tick.out -> strong.in\n  - strong.out -> split.in')
      .replace('  hiss:', '  strong: { kind: attenuator }\n  hiss:');
    expect(left(weak)).toBe(1);
    expect(left(buffered)).toBe(0);
  });

  it('is nothing that the rack forbids', () => {
    const rack = (fixed: string, comparators: number, cables: number): string => `cables: ${cables}
units:
  drums: { kind: rhythm${fixed} }
  split: { kind: multiple, fixed: { jacks: 8 } }
  hiss: { kind: noise }
  e: { kind: envelope, count: 5 }
  a: { kind: amplifier, count: 5 }
  mix: { kind: mixer }
${comparators > 0 ? `  gate: { kind: comparator, count: ${comparators} }\n` : ''}  out: { kind: output }
`;
    const text = `rack: own.yaml\n${loaded}`;
    const fixed = ', fixed: { level: 3.1 V }';
    expect(fixOf(text, { 'own.yaml': rack('', 0, 30) })).toContain('Set level of drums');
    expect(fixOf(text, { 'own.yaml': rack(fixed, 0, 30) })).toBe(
      'Leave no more than 3 of the 5 inputs on the net.',
    );
    expect(fixOf(text, { 'own.yaml': rack(fixed, 1, 30) })).toContain('comparator');
    // 22 cables are plugged already: 1 into the multiple, 20 of the voices, 1 to the output.
    expect(fixOf(text, { 'own.yaml': rack(fixed, 1, 22) })).not.toContain('comparator');
  });
});

describe('what helps a race of reset and clock', () => {
  const follower = (clock: string, reset: string, cable: string): string =>
    voice({
      rhythm: `clock: ${clock}`,
      channels: '[hit, again]',
      patterns: `{ groove: { hit: "x---x---x---x---", again: "${reset}" } }`,
      modules: [
        'walk: { kind: step-sequencer, rows: { a: [C2, D2, E2, F2] } }',
        'tone: { kind: oscillator }',
      ],
      cables: [
        cable,
        'drums.clock -> walk.clock',
        'walk.a -> tone.pitch',
        'tone.sine -> out.right',
      ],
    });
  const fixOf = (text: string): string | undefined => by('reset-race', text)[0]?.fix;

  it('is no cable at all, where it only comes with the first clock', () => {
    const fix = fixOf(follower('2 per quarter', '----------------', 'drums.start -> walk.reset'));
    expect(fix).toMatch(
      /^Take the cable out of walk\.reset: it starts armed.* Otherwise put a delay/,
    );
  });

  it('is another step, where no clock comes', () => {
    const reset = 'drums.again -> walk.reset';
    // Two clocks a quarter come on every other step: the one before is free.
    const racing = follower('2 per quarter', '--------x-------', reset);
    expect(fixOf(racing)).toMatch(
      /^Let drums\.again give the reset 1 step earlier, .* Otherwise put a delay/,
    );
    const moved = follower('2 per quarter', '-------x--------', reset);
    expect(by('reset-race', moved)).toEqual([]);
  });

  it('is a delay, where a clock comes on every step', () => {
    const racing = follower('1 per step', '--------x-------', 'drums.again -> walk.reset');
    expect(fixOf(racing)).toMatch(/^Put a delay/);
  });
});
