/** Drum tab, patterns and songs as the score that timing works on. */

import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Score, Step } from '../../../src/modules/score.ts';
import { readPatch } from '../../../src/patch/read.ts';
import { formatTab } from '../../../src/patch/score/tab.ts';
import { TEST_KINDS } from '../kinds.ts';

/** The score of one rhythm whose settings are `body`, in YAML. */
function scoreOf(body: string, set: readonly string[] = []): Score {
  const text = `modules:\n  drums:\n    kind: sequencer\n    channels: [kick, hat]\n${body.replace(/^/gm, '    ')}`;
  const { patch, problems } = readPatch(text, { file: 'a.yaml', kinds: TEST_KINDS, set });
  expect(problems).toEqual([]);
  return patch?.modules[0]?.settings as unknown as Score;
}

const REST: Step = { strokes: 0, accent: false, flam: false, maybe: false };
const HIT: Step = { ...REST, strokes: 1 };

describe('drum tab', () => {
  const stepsOf = (tab: string): readonly Step[] =>
    scoreOf(`patterns: { a: { hat: ${JSON.stringify(tab)} } }`).patterns[0]?.lines[0]?.steps ?? [];

  test('each sign is a step', () => {
    expect(stepsOf('xXg-f?')).toEqual([
      HIT,
      { ...HIT, accent: true },
      { ...HIT, ghost: true },
      REST,
      { ...HIT, flam: true },
      { ...HIT, maybe: true },
    ]);
    expect(stepsOf('2345678').map(({ strokes }) => strokes)).toEqual([2, 3, 4, 5, 6, 7, 8]);
  });

  test('spaces and bars are for the eye', () => {
    expect(stepsOf('| x-x- |\tX--- |')).toEqual(stepsOf('x-x-X---'));
  });

  test('64 steps are read', () => {
    expect(stepsOf('x-'.repeat(32))).toHaveLength(64);
  });

  test('what is written back is read as the same steps', () => {
    const sign = fc.constantFrom(...'xXg-f?2345678');
    const line = fc.array(sign, { minLength: 1, maxLength: 64 }).map((signs) => signs.join(''));
    fc.assert(
      fc.property(line, fc.integer({ min: 1, max: 8 }), (tab, group) => {
        const steps = stepsOf(tab);
        expect(formatTab(steps)).toBe(tab);
        expect(stepsOf(formatTab(steps, group))).toEqual(steps);
      }),
    );
  });
});

describe('patterns', () => {
  test('a pattern is as long as its longest line, or as it says', () => {
    const { patterns } = scoreOf(`patterns:
  a: { hat: "x-x", kick: "x-x-x" }
  b: { hat: "x-x", length: 12 }
  c: { length: 5 }`);
    expect(patterns.map(({ length }) => length)).toEqual([5, 12, 5]);
  });

  test('lines come in the order of the channels', () => {
    const { patterns } = scoreOf('patterns: { a: { hat: "x", kick: "-" } }');
    expect(patterns[0]?.lines).toEqual([
      { channel: 0, steps: [REST] },
      { channel: 1, steps: [HIT] },
    ]);
  });

  test('the long form has what a line and a step may have of their own', () => {
    const { patterns } = scoreOf(`patterns:
  a:
    hat:
      steps: "x-f?"
      chance: 70 %
      flam: 22 ms
      gate: 50 %
      swing: 58 %
      at: { 1: { chance: 25 %, gate: 3 ms }, 3: { flam: 10 ms } }`);
    expect(patterns[0]?.lines).toEqual([
      {
        channel: 1,
        gate: { unit: 'steps', value: 0.5 },
        swing: 0.58,
        steps: [
          { ...HIT, maybe: true, chance: 0.25, gate: { unit: 'seconds', value: 0.003 } },
          REST,
          { ...HIT, flam: true, flamSpacing: 0.01 },
          { ...HIT, maybe: true, chance: 0.7 },
        ],
      },
    ]);
  });

  test('the chance of a line without ? is for every hit', () => {
    const { patterns } = scoreOf('patterns: { a: { hat: { steps: x-2, chance: 70 % } } }');
    expect(patterns[0]?.lines[0]?.steps).toEqual([
      { ...HIT, maybe: true, chance: 0.7 },
      REST,
      { ...HIT, strokes: 2, maybe: true, chance: 0.7 },
    ]);
  });

  test('the narrower settings stand on the pattern', () => {
    const { patterns } = scoreOf(`patterns:
  a: { hat: x, tempo: 96.5 bpm, swing: 60 %, chance: 10 %, flam: 9 ms, clock: 24 per quarter, steps-per-quarter: 3 }`);
    expect(patterns[0]).toEqual({
      name: 'a',
      tempo: 96.5,
      swing: 0.6,
      chance: 0.1,
      flam: 0.009,
      clock: { count: 24, per: 'quarter' },
      stepsPerQuarter: 3,
      length: 1,
      lines: [{ channel: 1, steps: [HIT] }],
    });
  });

  test('from starts with all of another pattern, wherever it stands', () => {
    const { patterns } = scoreOf(`patterns:
  b: { from: a, hat: "xx", tempo: 80 bpm }
  a: { hat: "x-x-", kick: "x", tempo: 90 bpm, swing: 60 %, steps-per-quarter: 6 }
  c: { from: b, kick: "-x-" }`);
    const [b, a, c] = patterns;
    expect(a).toMatchObject({ tempo: 90, swing: 0.6, stepsPerQuarter: 6, length: 4 });
    expect(b).toMatchObject({ tempo: 80, swing: 0.6, stepsPerQuarter: 6, length: 2 });
    expect(c).toMatchObject({ tempo: 80, swing: 0.6, stepsPerQuarter: 6, length: 3 });
    expect(c?.lines).toEqual([
      { channel: 0, steps: [REST, HIT, REST] },
      { channel: 1, steps: [HIT, HIT] },
    ]);
  });
});

describe('the song', () => {
  test('without one every pattern is played once, in order', () => {
    const { song } = scoreOf('patterns: { b: { hat: x }, a: { hat: x } }');
    expect(song).toEqual([
      { pattern: 0, repeats: 1 },
      { pattern: 1, repeats: 1 },
    ]);
  });

  test('its entries are names, or maps with settings of their own', () => {
    const { song } = scoreOf(`patterns: { a: { hat: x }, b: { hat: x } }
song:
  - b
  - { pattern: a, repeats: 4, tempo: 101 bpm, swing: 55 %, clock: 1 per step }
  - b`);
    expect(song).toEqual([
      { pattern: 1, repeats: 1 },
      { pattern: 0, repeats: 4, tempo: 101, swing: 0.55, clock: { count: 1, per: 'step' } },
      { pattern: 1, repeats: 1 },
    ]);
  });
});

describe('a flam is shorter than its step', () => {
  // 60 s / tempo / steps per quarter: 60 / 100 / 4 = 150 ms, 60 / 200 / 4 = 75 ms.
  const problemsOf = (body: string): string[] => {
    const text = `modules: { drums: { kind: sequencer, channels: [hat], ${body} } }`;
    const { problems } = readPatch(text, { file: 'a.yaml', kinds: TEST_KINDS });
    return problems.map(({ message }) => message);
  };

  test.each<[string, string[]]>([
    ['tempo: 100 bpm, flam: 149 ms, patterns: { a: { hat: f } }', []],
    [
      'tempo: 100 bpm, flam: 150 ms, patterns: { a: { hat: f } }',
      ['150 ms does not fit into a step of 150 ms'],
    ],
    ['tempo: 100 bpm, flam: 150 ms, patterns: { a: { hat: x } }', []],
    [
      'tempo: 100 bpm, flam: 149 ms, patterns: { a: { hat: f, tempo: 200 bpm } }',
      ['149 ms does not fit into a step of 75 ms'],
    ],
    ['tempo: 100 bpm, flam: 149 ms, patterns: { a: { hat: f, flam: 20 ms, tempo: 200 bpm } }', []],
    [
      'flam: 100 ms, patterns: { a: { hat: f } }, song: [a, { pattern: a, tempo: 200 bpm }]',
      ['100 ms does not fit into a step of 75 ms'],
    ],
    [
      'patterns: { a: { hat: { steps: x, at: { 1: { flam: 200 ms } } } } }',
      ['200 ms does not fit into a step of 125 ms'],
    ],
    // A tempo that cannot be read decides nothing.
    ['tempo: 100, flam: 500 ms, patterns: { a: { hat: f } }', ['"tempo" has no unit']],
  ])('%s', (body, ends) => {
    const messages = problemsOf(body);
    expect(messages).toHaveLength(ends.length);
    messages.forEach((message, i) => {
      expect(message.endsWith(ends[i] as string)).toBe(true);
    });
  });
});
