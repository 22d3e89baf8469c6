// Times in a survey: a clock's pulses beside what an input asks for, by hand and against what the check says
// of the same patch with everything off by as much, and with each fact measured.

import { describe, expect, it } from 'vitest';
import { check } from '../../src/findings/check.ts';
import { contextOf } from '../../src/findings/context.ts';
import { RULES } from '../../src/findings/rules/rules.ts';
import { surveyOf } from '../../src/findings/survey.ts';
import { type Blank, blanksOf, worthOf } from '../../src/findings/survey-blanks.ts';
import type { SurveyPoint } from '../../src/findings/survey-point.ts';
import { untimedOf } from '../../src/findings/survey-times.ts';
import type { Patch } from '../../src/patch/patch.ts';
import { formatValue } from '../../src/patch/units.ts';
import { close } from '../close.ts';
import { drumsOnRack, onRack } from '../electrical/measured.ts';

const CLOCK = drumsOnRack('clock: { width: 1.05 ms }', 'shortest: 1 ms');

function pointAt(
  patch: Patch,
  measure: SurveyPoint['measure'],
  jack = 'one.trigger',
): SurveyPoint | undefined {
  return surveyOf(patch).find((point) => point.measure === measure && point.jack === jack);
}

/** The largest share, in hundredths, at which none of these rules of the check tells anything at a jack. */
function checkedUntil(patch: Patch, names: readonly string[], jack = 'one.trigger'): number {
  const rules = RULES.filter(({ name }) => names.includes(name));
  expect(rules).toHaveLength(names.length);
  const isTold = (tolerance: number): boolean => {
    const context = contextOf(patch, tolerance);
    return rules.some((rule) =>
      rule
        .find(context)
        .some((one) =>
          (one.jacks ?? [one.jack]).some((at) => at && `${at.module}.${at.jack}` === jack),
        ),
    );
  };
  let most = 0;
  while (most < 50 && !isTold((most + 1) / 100)) most += 1;
  return most / 100;
}

/** What ends a pulse's way to an input: it is too short, or its volts do not suffice. */
const WIDTH = ['pulse-too-short', 'level-too-low', 'stays-on'];

describe('the width at an input', () => {
  it('comes first where it is the least certain, and holds as far as a sum by hand says', () => {
    const [first, ...others] = surveyOf(CLOCK);
    expect(first).toMatchObject({
      measure: 'width',
      jack: 'one.trigger',
      drivers: ['drums.clock'],
      limit: 0.001,
    });
    // 1.05 ms to a whole sample at 48 kHz.
    close(first?.measure === 'width' ? first.time : 0, 0.00105, {
      abs: 0.5 / 48_000,
      unit: 's',
      why: 'a whole sample at 48 kHz',
    });
    const samples = (seconds: number): number => Math.round(seconds * 48_000);
    let most = 0;
    for (let next = 1; ; next++) {
      const t = next / 100;
      if (samples(0.00105 * (1 - t)) < samples(0.001 * (1 + t))) break;
      most = next;
    }
    close(first?.holds, most / 100, { abs: 5e-10, unit: '', why: 'rounding' });
    expect(others.every(({ holds }) => (holds ?? 0.5) >= most / 100)).toBe(true);
  });

  it('fails as it is where the rack says that it may be too short', () => {
    const patch = drumsOnRack('clock: { width: 1.05 ms +- 10 % }', 'shortest: 1 ms');
    expect(surveyOf(patch)[0]).toMatchObject({ measure: 'width', holds: 0 });
    expect(check(patch).some(({ rule }) => rule === 'pulse-too-short')).toBe(true);
  });

  it('is left out where the volts fail first', () => {
    const patch = drumsOnRack('clock: { width: 20 ms }', 'shortest: 1 ms');
    expect(surveyOf(patch).map(({ measure }) => measure)).toEqual(['volts', 'volts']);
  });

  it.each([
    ['a quick edge', 'clock: { width: 1.2 ms }'],
    ['a slow edge', 'clock: { width: 1.3 ms, rise: 0.4 ms }'],
    ['a stated doubt', 'clock: { width: 1.4 ms +- 5 %, rise: 0.2 ms +- 50 % }'],
  ])('is as far as the check says, on %s', (_, clock) => {
    const patch = drumsOnRack(clock, 'shortest: 1 ms');
    const point = pointAt(patch, 'width');
    expect(point?.holds).toBeGreaterThan(0);
    expect(point?.holds).toBe(checkedUntil(patch, WIDTH));
  });

  it('is known behind another module, and its wires have blanks', () => {
    const patch = onRack(
      `  drums: { kind: rhythm, channels: [hat], patterns: { a: { hat: "x-x-" } }, song: [a] }
  way: { kind: trigger-converter }
  shape: { kind: envelope, trigger: switch, mode: gate }
  out: { kind: output }`,
      'drums.hat -> way.voltage-in, way.switch-out -> shape.trigger, shape.out -> out.left',
      `  drums: { kind: rhythm, jacks: { hat: { width: 1.8 ms } } }
  way: { kind: trigger-converter }
  shape: { kind: envelope, jacks: { trigger: { shortest: 1.5 ms } } }
  out: { kind: output }`,
    );
    const point = pointAt(patch, 'width', 'shape.trigger');
    expect(point?.holds).toBeGreaterThan(0);
    expect(point?.holds).toBe(checkedUntil(patch, WIDTH, 'shape.trigger'));
    const facts = blanksOf(patch)
      .filter(({ measure }) => measure === 'width')
      .map(({ unit, jack, fact }) => `${unit}.${jack}.${fact}`);
    expect(facts).toEqual(expect.arrayContaining(['drums.hat.width', 'shape.trigger.shortest']));
  });
});

describe('the width of pulses that only playing tells', () => {
  const withClock = (facts: string, shortest = '1 ms'): Patch =>
    onRack(
      `  tick: { kind: clock, rate: 8 Hz }
  one: { kind: pulse }
  two: { kind: pulse }
  out: { kind: output }`,
      'tick.out -> one.trigger, one.out -> two.trigger, two.out -> out.left',
      `  tick: { kind: clock, jacks: { out: { ${facts} } } }
  one: { kind: pulse, count: 2, jacks: { trigger: { shortest: ${shortest} } } }
  out: { kind: output }`,
    );

  it.each(['width: 1.2 ms', 'width: 1.3 ms, rise: 0.5 ms', 'width: 1.3 ms +- 6 %'])(
    'is as far as the check hears, where the rack gives it: %s',
    (facts) => {
      const patch = withClock(facts);
      const point = pointAt(patch, 'width');
      expect(point?.holds).toBeGreaterThan(0);
      expect(point?.holds).toBe(checkedUntil(patch, WIDTH));
      const blank = blanksOf(patch).find(({ unit, fact }) => unit === 'tick' && fact === 'width');
      expect(blank).toMatchObject({ at: 'one.trigger', measure: 'width' });
      expect(untimedOf(patch)).toEqual([]);
    },
  );

  const followed = (shortest: string): Patch =>
    onRack(
      `  tick: { kind: clock, rate: 8 Hz }
  drums: { kind: rhythm, follows: 1 per step, gate: 5 ms, channels: [hit], patterns: { a: { hit: "x-x-" } }, song: [a] }
  snap: { kind: pulse }
  out: { kind: output }`,
      'tick.out -> drums.clock-in, drums.hit -> snap.trigger, snap.out -> out.left',
      `  tick: { kind: clock }
  drums: { kind: rhythm }
  snap: { kind: pulse, jacks: { trigger: { shortest: ${shortest} } } }
  out: { kind: output }`,
    );
  const swept = (shortest: string): Patch =>
    onRack(
      `  beat: { kind: oscillator, at-zero: 20 Hz }
  edges: { kind: comparator, threshold: 3 V }
  snap: { kind: pulse }
  out: { kind: output }`,
      'beat.sine -> edges.in, edges.above -> snap.trigger, snap.out -> out.left',
      `  beat: { kind: oscillator }
  edges: { kind: comparator }
  snap: { kind: pulse, jacks: { trigger: { shortest: ${shortest} } } }
  out: { kind: output }`,
    );

  it.each([
    ['a clock', withClock('high: 6 V', '54 ms'), 'one.trigger'],
    ['a clock with slow edges', withClock('rise: 9 ms', '54 ms'), 'one.trigger'],
    ['what follows one', followed('4.2 ms'), 'snap.trigger'],
    ['an oscillator', swept('12 ms'), 'snap.trigger'],
  ])('is as far as the check hears, where it is played: of %s', (_, patch, jack) => {
    const point = pointAt(patch, 'width', jack);
    expect(untimedOf(patch)).toEqual([]);
    expect([point?.holds, (point?.holds ?? 0) > 0]).toEqual([
      checkedUntil(patch, WIDTH, jack),
      true,
    ]);
    const blank = blanksOf(patch).find(({ at, fact }) => at === jack && fact === 'shortest');
    expect(blank?.holds).toBe(point?.holds);
  });

  it('is not told where nothing comes while it is played', () => {
    const patch = withClock('high: 1 V');
    // A pulse of 1 V fires neither.
    expect(untimedOf(patch)).toEqual(['two.trigger']);
    expect(surveyOf(patch).filter(({ measure }) => measure !== 'volts')).toEqual([]);
    expect(untimedOf(CLOCK)).toEqual([]);
  });
});

describe('the lateness at an input', () => {
  it('holds until the edge comes 5 ms late, by the sum of one resistance and capacitance', () => {
    const patch = drumsOnRack('clock: { width: 60 ms, rise: 10 ms }', 'shortest: 0 ms');
    const point = pointAt(patch, 'lateness');
    const late = (t: number): number => {
      const high = (5 * (1 - t) * 100 * (1 - t)) / (100 * (1 - t) + 1 * (1 + t));
      const share = (2.5 * (1 + t)) / high;
      return ((10 * (1 + t)) / Math.log(9)) * Math.log(1 / (1 - share));
    };
    let most = 0;
    while (late((most + 1) / 100) < 5) most += 1;
    close(point?.holds, most / 100, { abs: 5e-10, unit: '', why: 'rounding' });
    close(point?.measure === 'lateness' ? point.time * 1000 : undefined, late(0), {
      abs: 5e-7,
      unit: 'ms',
      why: 'a closed form on both sides',
    });
    close(checkedUntil(patch, ['slow-rise']), most / 100, {
      abs: 5e-10,
      unit: '',
      why: 'rounding',
    });
  });

  it('is not listed for an edge that is quick however far it is off', () => {
    expect(pointAt(drumsOnRack('clock: { rise: 0.1 ms }'), 'lateness')).toBeUndefined();
  });
});

describe('the order of blanks', () => {
  const patch = onRack(
    `  drums: { kind: rhythm, channels: [hat, kick], patterns: { a: { hat: "x-x-", kick: "x---" } }, song: [a] }
  one: { kind: pulse, unit: one }
  two: { kind: pulse, unit: two }
  out: { kind: output }`,
    'drums.hat -> one.trigger, drums.kick -> two.trigger, one.out -> out.left, two.out -> out.right',
    `  drums: { kind: rhythm, jacks: { hat: { width: 1.05 ms } } }
  one: { kind: pulse, jacks: { trigger: { shortest: 1 ms, on: 3 V } } }
  two: { kind: pulse, jacks: { trigger: { on: 4.2 V } } }
  out: { kind: output }`,
  );
  const blanks = blanksOf(patch);

  it('is that of the margins that they make surer, the least certain first, then by worth', () => {
    const points = surveyOf(patch);
    const holdsAt = ({ at, measure }: Blank): number | undefined =>
      points.find((point) => point.jack === at && point.measure === measure)?.holds;
    expect(points.map(({ jack, measure }) => `${jack} ${measure}`).slice(0, 2)).toEqual([
      'one.trigger width',
      'two.trigger volts',
    ]);
    const units = new Map<string, Blank[]>();
    for (const blank of blanks) {
      expect(blank.holds).toBe(holdsAt(blank));
      units.set(blank.unit, [...(units.get(blank.unit) ?? []), blank]);
    }
    // Each unit by the least certain that it makes surer.
    const least = [...units.values()].map((all) => Math.min(...all.map(({ holds = 1 }) => holds)));
    expect(least).toEqual(least.toSorted((a, b) => a - b));
    expect(units.size).toBeGreaterThan(2);
    const [first, second] = blanks as [Blank, Blank];
    expect([first.measure, first.holds]).toEqual(['width', points[0]?.holds]);
    if (second.jack === first.jack && second.holds === first.holds)
      expect(worthOf(first)).toBeGreaterThanOrEqual(worthOf(second));
  });

  it('keeps what is measured at one jack, and at one unit, together', () => {
    for (const nameOf of [
      ({ unit }: Blank): string => unit,
      ({ unit, jack }: Blank): string => `${unit}.${jack}`,
    ]) {
      const names = blanks.map(nameOf);
      const runs = names.filter((name, i) => name !== names[i - 1]);
      expect(runs).toEqual([...new Set(names)]);
    }
  });
});

describe('a blank for a time', () => {
  const facts = { width: '1.6 ms', rise: '1.6 ms', shortest: '1 ms' };
  const withFacts = (found: Partial<typeof facts> = {}): Patch => {
    const { width, rise, shortest } = { ...facts, ...found };
    return drumsOnRack(`clock: { width: ${width}, rise: ${rise} }`, `shortest: ${shortest}`);
  };
  const blanks = blanksOf(withFacts()).filter(({ at }) => at === 'one.trigger');
  const blankOf = (fact: string): Blank => blanks.find((one) => one.fact === fact) as Blank;

  it.each(['width', 'rise', 'shortest'] as const)(
    'of %s is worth what the check gains by it',
    (fact) => {
      const blank = blankOf(fact);
      expect(blank).toMatchObject({ quantity: 'time', measure: 'width' });
      expect(formatValue(blank.expected, 'time')).toBe(facts[fact]);
      const known = withFacts({ [fact]: `${facts[fact]} +- 1 %` });
      const [before, after] = [withFacts(), known].map((patch) => checkedUntil(patch, WIDTH));
      expect([blank.holds, blank.then]).toEqual([before, after]);
      expect(worthOf(blank)).toBeGreaterThan(0);
    },
  );

  it('stays where the rack states it less closely than it can be measured, and goes with that', () => {
    const widthIn = (width: string): readonly Blank[] =>
      blanksOf(drumsOnRack(`clock: { width: ${width} }`, 'shortest: 1 ms')).filter(
        ({ fact }) => fact === 'width',
      );
    const [loose] = widthIn('1.05 ms +- 10 %');
    expect(loose).toMatchObject({ holds: 0 });
    close(loose?.doubt, 0.000105, { abs: 5e-13, unit: 's', why: 'rounding' });
    expect(loose?.then).toBe(
      pointAt(drumsOnRack('clock: { width: 1.05 ms +- 1 % }', 'shortest: 1 ms'), 'width')?.holds,
    );
    expect(widthIn('1.05 ms +- 1 %')).toEqual([]);
  });

  it('is none for what no rack states: a gate is as long as its setting, at once', () => {
    const patch = drumsOnRack('', 'shortest: 4.5 ms', ', gate: 5 ms');
    const times = blanksOf(patch).filter(({ quantity }) => quantity === 'time');
    expect(pointAt(patch, 'width')).toBeDefined();
    expect(times.map(({ unit, jack, fact }) => `${unit}.${jack}.${fact}`)).toEqual([
      'one.trigger.shortest',
    ]);
  });
});
