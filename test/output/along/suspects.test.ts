// What can be wrong at a jack: the volts of each slip, against closed forms.

import { describe, expect, it } from 'vitest';
import { type AlongStep, alongSteps } from '../../../src/output/along/along.ts';
import { type Suspect, suspectsAt } from '../../../src/output/along/suspects.ts';
import { close } from '../../close.ts';
import { patchFrom as read, SHIPPED } from '../../patch-of.ts';
import { example } from '../sheet-patches.ts';

const WHY = 'Millman’s theorem by hand; only the rounding of doubles is left';

const HAT = `
modules:
  drums: { kind: rhythm, channels: [hit], patterns: { beat: { hit: "x---" } } }
  adapt: { kind: trigger-converter }
  shape: { kind: envelope, trigger: switch }
  level: { kind: amplifier }
  hiss: { kind: noise }
  out: { kind: output }
cables:
  - drums.hit -> adapt.voltage-in
  - adapt.switch-out -> shape.trigger
  - shape.out -> level.control
  - hiss.white -> level.in
  - level.out -> out.left
`;

function suspects(name: string): ReadonlyMap<Suspect['type'], Suspect> {
  const step = alongSteps(read(HAT)).find((one) => one.name === name) as AlongStep;
  return new Map(suspectsAt(step).map((one) => [one.type, one]));
}

function volts(one: Suspect | undefined, rest: number, low: number, high: number): void {
  for (const [is, should] of [
    [one?.volts.rest, rest],
    [one?.volts.low, low],
    [one?.volts.high, high],
  ] as const)
    close(is as number, should, { abs: 1e-9, unit: 'V', why: WHY });
}

describe('what can be wrong at a gate input', () => {
  // 5 V behind 1 kohm into 100 kohm.
  const found = suspects('drums.hit adapt.voltage-in');

  it('is nothing at all without the plug, from a dead output and from a switch', () => {
    for (const type of ['not-plugged', 'silent', 'wrong-kind'] as const)
      volts(found.get(type), 0, 0, 0);
    expect(found.get('not-plugged')?.isAlike).toBe(false);
  });

  it('is half of it where the output is weak', () => {
    volts(found.get('weak'), 0, 0, 2.5 / 1.01);
  });

  it('is half of it where a second output is on the wire', () => {
    volts(found.get('joined'), 0, 0, 5 / (1 + 1 + 1 / 100));
  });

  it('is less of it where ten inputs too many are on the wire', () => {
    volts(found.get('loaded'), 0, 0, 5 / (1 + 11 / 100));
  });

  it('is the same from an output like it, and then says that a meter cannot tell', () => {
    const other = found.get('other-jack');
    expect(other?.what).toContain('drums.clock');
    volts(other, 0, 0, 5 / 1.01);
    expect(other?.isAlike).toBe(true);
  });
});

describe('what can be wrong at a switch input', () => {
  // Pulled up to 5 V by 10 kohm; the switch has 50 ohm.
  const found = suspects('adapt.switch-out shape.trigger');

  it('stays up without the plug, and where the switch never closes', () => {
    for (const type of ['not-plugged', 'silent'] as const) volts(found.get(type), 5, 5, 5);
  });

  it('is pulled down at rest by a gate, as the check says of voltage-into-switch', () => {
    volts(found.get('wrong-kind'), 5 / 11, 5 / 11, 5);
    expect(found.get('wrong-kind')?.rule).toBe('voltage-into-switch');
  });

  it('is pulled down too little by a bad contact', () => {
    volts(found.get('weak'), 5, 5 / 3, 5);
  });
});

it('finds the likeliest first, and each with what to do', () => {
  for (const name of SHIPPED)
    for (const step of alongSteps(example(name.replace('.yaml', ''))).slice(0, 8)) {
      const all = suspectsAt(step);
      expect(all[0]?.type, step.name).toBe('not-plugged');
      for (const {
        what,
        look,
        volts: { low, high, rest },
      } of all) {
        expect(what).toMatch(/\.$/);
        expect(look.trim()).toMatch(/\.$/);
        expect([low, high, rest].every(Number.isFinite)).toBe(true);
      }
    }
});

it('knows of a wire that nothing drives yet only whether its plugs are in', () => {
  const patch = read(`
modules:
  split: { kind: multiple }
  shape: { kind: envelope }
cables: [split.out-1 -> shape.trigger]
`);
  const [step] = alongSteps(patch);
  expect(suspectsAt(step as AlongStep).map(({ type }) => type)).toEqual(['not-plugged']);
});
