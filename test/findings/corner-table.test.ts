// Every rule of the check by what it makes of facts in doubt, and the test that holds it to every corner of them.

import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import type { RuleName } from '../../src/findings/finding.ts';
import { RULES } from '../../src/findings/rules/rules.ts';

/** The tests by brute force over corners; `undefined` where nothing that a rule looks at may be off. */
const HELD: Readonly<Record<RuleName, string | undefined>> = {
  'accent-unheard': undefined,
  'amplifier-never-opens': 'triggers/sound-corners',
  'amplifier-overdriven': 'triggers/sound-corners',
  'cable-short': undefined,
  clips: 'triggers/sound-corners',
  // Clocks that are counted at one corner and not at another are pulses that are too short.
  'clock-mismatch': 'triggers/clock-counts',
  'cutoff-out-of-range': 'triggers/sound-corners',
  'dc-on-output': 'rules/dc-on-output',
  'decay-cut-short': 'triggers/envelope-corners',
  'flam-too-tight': 'rules/flam-too-tight',
  'gates-merge': 'triggers/at-worst',
  'ghost-silent': 'triggers/moved-corners',
  'input-open': undefined,
  'jack-doubled': undefined,
  'jack-misnamed': undefined,
  'lengths-drift': undefined,
  'level-marginal': '../electrical/doubts',
  'level-too-high': '../electrical/doubts',
  'level-too-low': '../electrical/doubts',
  'loaded-down': 'triggers/envelope-corners',
  'loop-unstable': 'triggers/moved-corners',
  'nothing-reaches-output': undefined,
  // Positions of dials are as a rack draws them; no rack states a doubt of one.
  'off-the-dial': undefined,
  'outputs-joined': '../electrical/doubts',
  'peak-not-reached': 'triggers/envelope-corners',
  'pulse-too-short': 'triggers/chains',
  'rack-short': undefined,
  'reset-race': 'triggers/corners',
  'signal-mismatch': undefined,
  'slow-rise': 'triggers/chains',
  'stays-on': '../electrical/doubts',
  'swing-mismatch': 'triggers/swing-corners',
  'switch-into-voltage': '../electrical/doubts',
  'tail-cut': 'triggers/envelope-corners',
  'time-out-of-range': 'triggers/moved-corners',
  'too-quiet': 'triggers/sound-corners',
  'voltage-into-switch': '../electrical/doubts',
};

/** What tells that a rule looks at corners, or at levels at their worst. */
const LOOKS =
  /cornersOfVolts|foundAtVolts|cornersAt|foundOrAt|foundOrPerhaps|ofEnvelopes|perhaps\(|trainsAtWorst|contextAt|latestAt|offBy|worst\.|\.margin|margin[,:<]/;

const text = (path: string): string => readFileSync(join(import.meta.dirname, path), 'utf8');

describe('facts in doubt', () => {
  it('have a row for every rule', () => {
    expect(Object.keys(HELD).sort()).toEqual(RULES.map(({ name }) => name).sort());
  });

  it.each(Object.entries(HELD))('are looked at by %s where a test says so', (name, file) => {
    const looks = LOOKS.test(text(`../../src/findings/rules/${name}.ts`));
    if (file === undefined) return expect([name, looks]).toEqual([name, false]);
    expect(text(`${file}.test.ts`)).toMatch(/corner|tolerance|\+-/);
    if (name !== 'clock-mismatch') expect([name, looks]).toEqual([name, true]);
  });
});
