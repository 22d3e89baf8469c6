// What to measure first: how far parts may be off, against a divider worked out by hand and the levels.

import { describe, expect, it } from 'vitest';
import { patchLevels } from '../../src/electrical/levels.ts';
import { surveyOf } from '../../src/findings/survey.ts';
import { blanksOf } from '../../src/findings/survey-blanks.ts';
import { onRack } from '../electrical/measured.ts';
import { example } from '../patch-of.ts';

describe('surveyOf', () => {
  it('says of a gate into a trigger how far all parts may be off, as a divider by hand does', () => {
    const [point] = surveyOf(example('closed-hat.yaml')).filter(
      ({ jack }) => jack === 'adapt.voltage-in',
    );
    // 5 V behind 1 kohm into 100 kohm, which fires over 2.5 V: each off by a share t, the wrong way.
    const stays = (t: number): boolean => {
      const [level, source, load] = [5 * (1 - t), 1 * (1 + t), 100 * (1 - t)];
      return (level * load) / (load + source) >= 2.5 * (1 + t);
    };
    let most = 0;
    while (stays((most + 1) / 100)) most += 1;
    expect(Math.round(100 * (point?.holds as number))).toBe(most);
    // The same divider with every part as it should be.
    expect(point).toMatchObject({ measure: 'volts', driven: expect.closeTo((5 * 100) / 101, 9) });
  });

  it.each(['closed-hat.yaml', 'two-bar-kit.yaml'])(
    'is as far as %s holds, and no further',
    (name) => {
      const patch = example(name);
      const points = surveyOf(patch);
      const shares = points.map(({ holds }) => holds ?? 0.5);
      expect(shares).toEqual(shares.toSorted((a, b) => a - b));
      const fails = (jack: string, tolerance: number): boolean =>
        patchLevels(patch, tolerance).some(({ inputs }) =>
          inputs.some(
            ({ terminal, trigger }) =>
              `${terminal.module.name}.${terminal.jack.name}` === jack &&
              trigger !== undefined &&
              (trigger.margin < 0 || trigger.release < 0),
          ),
        );
      for (const { jack, holds } of points) {
        expect(fails(jack, holds ?? 0.5)).toBe(false);
        if (holds !== undefined) expect(fails(jack, holds + 0.01)).toBe(true);
      }
    },
  );

  it('asks for the level of a clock behind an attenuator, and says what comes of knowing it', () => {
    const patch = onRack(
      `  tick: { kind: clock, unit: outside }
  less: { kind: attenuator, level: 60 % }
  drums: { kind: rhythm, channels: [hat], patterns: { a: { hat: "x" } } }
  shape: { kind: envelope }
  out: { kind: output }`,
      'tick.out -> less.in, less.out -> drums.clock-in, drums.hat -> shape.trigger, shape.out -> out.left',
      `  outside: { kind: clock, jacks: { out: { high: 4.9 V } } }
  less: { kind: attenuator }
  drums: { kind: rhythm }
  shape: { kind: envelope }
  out: { kind: output }`,
    );
    const blank = blanksOf(patch).find(({ unit }) => unit === 'outside');
    // Two dividers of 1 kohm and 100 kohm; all off the wrong way by t, but for a level known to 1 %, as of a meter.
    const stays = (t: number, level: number): boolean => {
      const kept = (100 * (1 - t)) / (100 * (1 - t) + (1 + t));
      return 4.9 * (1 - level) * kept * 0.6 * (1 - t) * kept >= 2.5 * (1 + t);
    };
    const most = (known?: number): number => {
      let t = 0;
      while (stays((t + 1) / 100, known ?? (t + 1) / 100)) t += 1;
      return t / 100;
    };
    expect([blank?.fact, blank?.holds, blank?.then]).toEqual(['high', most(), most(0.01)]);
    expect(most(0.01)).toBeGreaterThan(most());
  });

  it('puts a weak level first, and says that one which never fires fails as it is', () => {
    const weak = surveyOf(example('closed-hat.yaml', { set: ['drums.level=2 V'] }));
    expect(weak[0]).toMatchObject({ jack: 'adapt.voltage-in', holds: 0 });
  });
});
