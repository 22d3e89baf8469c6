// Patches made right or wrong in their timing and sound by construction: each planted slip must be
// named, and nothing else may be. What is expected follows from how the patch was made; the numbers
// behind it are beside each group. A step is 125 ms, an input notices 1 ms.

import { describe, expect, it } from 'vitest';
import { check, findingsIn } from '../../src/findings/check.ts';
import { contextOf } from '../../src/findings/context.ts';
import { ruleNamed } from '../../src/findings/rules/rules.ts';
import { applyEdits } from '../../src/patch/edit/edit.ts';
import { close } from '../close.ts';
import { patchFrom } from '../patch-of.ts';
import { editsFor } from './read.ts';
import { voice, type Wanted } from './voice.ts';

interface Case {
  readonly name: string;
  readonly text: string;
  /** `rule severity`, notes among them. */
  readonly expected: readonly string[];
}

const cases: Case[] = [];
const plant = (name: string, text: string, ...expected: string[]): void => {
  cases.push({ name, text, expected });
};

const EVEN = 'attack: 1 ms, decay: 80 ms, release: 80 ms';
const VIA_CONVERTER = {
  modules: ['adapt: { kind: trigger-converter }'],
  trigger: ['drums.hit -> adapt.voltage-in', 'adapt.switch-out -> shape.trigger'],
  shape: `trigger: switch, ${EVEN}`,
};
const VIA_MULTIPLE = {
  modules: ['split: { kind: multiple, jacks: 3 }'],
  trigger: ['drums.hit -> split.in', 'split.out-1 -> shape.trigger'],
};
const VIA_LOGIC = {
  modules: ['both: { kind: logic }'],
  trigger: ['drums.hit -> both.a', 'both.or -> shape.trigger'],
};
const WAYS: readonly Wanted[] = [{}, VIA_CONVERTER, VIA_MULTIPLE, VIA_LOGIC];

// A gate shorter than 1 ms is not noticed, by whatever way it comes.
for (const [index, way] of WAYS.entries())
  for (const gate of [0.2, 0.5, 0.95, 1, 1.5, 20])
    plant(
      `gate ${gate} ms, way ${index}`,
      // No attack, so that the shortest gate that is noticed gets to the peak.
      voice({
        rhythm: `gate: ${gate} ms`,
        ...way,
        shape: (way.shape ?? EVEN).replace('attack: 1 ms', 'attack: 0 s'),
      }),
      ...(gate < 1 ? ['pulse-too-short fault'] : []),
    );

// Hits 125 ms apart under longer gates; one gap in four is two steps wide.
for (const [index, way] of WAYS.entries())
  for (const gate of [60, 124, 125, 200, 400])
    plant(
      `hits under gates of ${gate} ms, way ${index}`,
      voice({ rhythm: `gate: ${gate} ms`, hit: 'xxx-', song: '[groove, groove]', ...way }),
      ...(gate < 125 ? [] : [`gates-merge ${gate < 250 ? 'caution' : 'fault'}`]),
    );

// The gate leaves the attack its length less 0.98 ms.
for (const attack of [2, 5, 9, 12, 20, 40])
  for (const curve of ['exponential', 'linear'])
    plant(
      `attack ${attack} ms under a gate of 10 ms, ${curve}`,
      voice({
        rhythm: 'gate: 10 ms',
        shape: `curve: ${curve}, attack: ${attack} ms, decay: 80 ms, release: 80 ms`,
      }),
      ...(attack < 9.02 ? [] : ['peak-not-reached caution']),
    );

// A flam needs a gap after its gate of 8 ms; a ratchet of n strokes has 125 ms / n.
for (const flam of [3, 6, 8, 9, 15, 30])
  plant(
    `flam ${flam} ms`,
    voice({ rhythm: `gate: 8 ms, flam: ${flam} ms`, hit: '--f---f-' }),
    ...(flam <= 8 ? ['flam-too-tight caution'] : []),
  );
for (const strokes of [2, 3, 4, 5, 6, 8])
  plant(
    `${strokes} strokes in a step under gates of 22 ms`,
    voice({ rhythm: 'gate: 22 ms', hit: `${strokes}-------` }),
    ...(125 / strokes <= 22 ? ['flam-too-tight caution'] : []),
  );

// Accents and ghosts are control volts beside the gate.
for (const hit of ['X--- x---', 'x--g x---'])
  plant(`the tab ${hit} with nothing at the accent`, voice({ hit }), 'accent-unheard note');

// Clocks against what is expected; 4 steps a quarter.
const follower = (clock: string, expects: string): string =>
  voice({
    rhythm: `gate: 8 ms, clock: ${clock}`,
    hit: 'x---x---x---x---',
    modules: [
      `walk: { kind: step-sequencer, rows: { a: [C2, D2, E2, F2] }, expects: ${expects} }`,
      'tone: { kind: oscillator }',
    ],
    cables: ['drums.clock -> walk.clock', 'walk.a -> tone.pitch', 'tone.sine -> out.right'],
  });
const PER_QUARTER: Record<string, number> = {
  '1 per quarter': 1,
  '2 per quarter': 2,
  '3 per quarter': 3,
  '4 per quarter': 4,
  '1 per step': 4,
  '2 per step': 8,
  '24 per quarter': 24,
};
for (const [clock, gets] of Object.entries(PER_QUARTER))
  for (const expects of ['1 per step', '2 per quarter', '8 per quarter'])
    plant(
      `clock ${clock}, expected ${expects}`,
      follower(clock, expects),
      ...(gets === PER_QUARTER[expects] || (gets === 8 && expects === '8 per quarter')
        ? []
        : ['clock-mismatch fault']),
      // Three clocks a quarter are twelve in the pattern, which four steps divide.
    );

// Resets this long after the first clock, with a settle time of 1 ms.
for (const time of [0, 0.3, 0.9, 1, 2, 20])
  plant(
    `reset ${time} ms after the clock`,
    voice({
      hit: 'x---x---',
      modules: [
        'walk: { kind: step-sequencer, rows: { a: [C2, D2, E2, F2] }, settle: 1 ms }',
        'tone: { kind: oscillator }',
        `late: { kind: delay, time: ${time} ms, length: 5 ms }`,
      ],
      cables: [
        'drums.clock -> walk.clock',
        'drums.start -> late.trigger',
        'late.out -> walk.reset',
        'walk.a -> tone.pitch',
        'tone.sine -> out.right',
      ],
    }),
    ...(time < 1 ? ['reset-race caution'] : []),
  );

// Amplifiers: linear gain is 4.95 V x level / 5 V; under 1/100 it is as good as shut.
for (const level of [-100, -5, 0, 0.5, 2, 30, 100])
  plant(
    `envelope at ${level} %`,
    voice({
      modules: [`down: { kind: attenuator, level: ${level} % }`],
      control: ['shape.out -> down.in', 'down.out -> level.control'],
    }),
    ...(level < 1 ? ['amplifier-never-opens fault'] : []),
  );
for (const peak of [3, 5, 5.2, 6, 10])
  plant(
    `peak ${peak} V`,
    voice({ shape: `${EVEN}, peak: ${peak} V` }),
    ...(peak > 5.5 ? ['amplifier-overdriven note'] : []),
  );

// A sine of 4.95 V against full scale; an offset against 0.1 V.
for (const fullScale of [3, 4, 4.9, 5, 6, 10])
  plant(
    `a sine of 4.95 V in a file of ${fullScale} V`,
    voice({
      out: `full-scale: ${fullScale} V`,
      modules: ['tone: { kind: oscillator }'],
      sound: ['tone.sine -> out.left', 'level.out -> out.right'],
    }),
    ...(fullScale < 4.95 ? ['clips caution'] : []),
  );
for (const offset of [-2, -0.2, -0.05, 0.05, 0.2, 2])
  plant(
    `an offset of ${offset} V`,
    voice({
      modules: [`shift: { kind: attenuator, level: 50 %, offset: ${offset} V }`],
      sound: ['level.out -> shift.in', 'shift.out -> out.left'],
    }),
    ...(Math.abs(offset) > 0.1 ? ['dc-on-output caution'] : []),
  );

// Tails: the stages are five time constants, a tenth of the peak is 2.3 of them.
for (const [decay, release, severity] of [
  [300, 300, undefined],
  [300, 290, undefined],
  [300, 200, 'note'],
  [300, 60, 'caution'],
  [60, 300, 'caution'],
  [100, 130, 'note'],
] as const)
  plant(
    `decay ${decay} ms, release ${release} ms`,
    voice({ shape: `attack: 1 ms, decay: ${decay} ms, release: ${release} ms` }),
    ...(severity === undefined ? [] : [`decay-cut-short ${severity}`]),
  );
for (const tail of [200, 500, 560, 900])
  plant(
    `a tail of ${tail} ms before a hit 250 ms on`,
    voice({ hit: 'x-x-----', shape: `attack: 1 ms, decay: ${tail} ms, release: ${tail} ms` }),
    // exp(-249 x 5 / tail) against a tenth.
    ...(tail > 541 ? ['tail-cut note'] : []),
  );

// Feedback through a mixer and a filter that passes 1 x 100/101 at its cutoff.
for (const back of [0, 50, 95, 120, 200])
  plant(
    `feedback of ${back} %`,
    voice({
      hiss: 'level: 0.05 V',
      modules: [
        `sum: { kind: mixer, level-2: ${back} % }`,
        'split: { kind: multiple, jacks: 3 }',
        'ring: { kind: filter, cutoff: 500 Hz, q: 1 }',
        'quiet: { kind: attenuator, level: 20 % }',
      ],
      sound: [
        'level.out -> sum.in-1',
        'sum.out -> split.in',
        'split.out-1 -> quiet.in',
        'quiet.out -> out.left',
        'split.out-2 -> ring.in',
        'ring.band -> sum.in-2',
      ],
    }),
    ...(back > 104 ? ['loop-unstable caution'] : []),
  );

describe('timing and sound', () => {
  it('is a suite of more than 80 patches, with as many right as wrong, about', () => {
    expect(cases.length).toBeGreaterThan(80);
    const right = cases.filter(({ expected }) => expected.length === 0).length;
    close(right / cases.length, 0.5, { abs: 0.15, unit: '', why: '"about"' });
  });

  it.each(cases.map((one) => [one.name, one] as const))('%s', (_, { text, expected }) => {
    // The voices here are short and soft; how loud they are is for the test of that rule.
    const told = check(patchFrom(text))
      .filter(({ rule }) => rule !== 'too-quiet')
      .map(({ rule, severity }) => `${rule} ${severity}`);
    expect(told).toEqual(expected);
  });

  // Every other wrong one, to be quick.
  const broken = cases.filter(({ expected }) => expected.length > 0).filter((_, i) => i % 2 === 0);
  it.each(broken.map((one) => [one.name, one] as const))(
    '%s is mended, where a mend is offered',
    (_, { text }) => {
      const context = contextOf(patchFrom(text));
      for (const finding of findingsIn(context)) {
        const edits = editsFor(ruleNamed(finding.rule), finding, context);
        if (edits.length === 0) continue;
        const mended = applyEdits('test.yaml', text, edits);
        if (mended === undefined) throw new Error('the edits do not fit the text');
        const left = check(patchFrom(mended)).filter(({ severity }) => severity !== 'note');
        expect(left).toEqual([]);
      }
    },
  );
});
