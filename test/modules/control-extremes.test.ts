// Bad input: every setting at both ends of its range, and audio of 12 V either way into every
// input. Whatever a module then does, its outputs stay finite and within the supply rails.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { burst } from '../../src/modules/burst.ts';
import { clock } from '../../src/modules/clock.ts';
import { clockDivider } from '../../src/modules/clock-divider.ts';
import { comparator } from '../../src/modules/comparator.ts';
import type { SettingSpec } from '../../src/modules/definition.ts';
import { delay } from '../../src/modules/delay.ts';
import { envelope } from '../../src/modules/envelope.ts';
import { RAIL_VOLTS } from '../../src/modules/facts.ts';
import { logic } from '../../src/modules/logic.ts';
import { oscillator } from '../../src/modules/oscillator.ts';
import { pulse } from '../../src/modules/pulse.ts';
import { random } from '../../src/modules/random.ts';
import { sampleHold } from '../../src/modules/sample-hold.ts';
import { slew } from '../../src/modules/slew.ts';
import { stepSequencer } from '../../src/modules/step-sequencer.ts';
import { solo } from './solo.ts';

const kinds = [
  slew,
  sampleHold,
  comparator,
  logic,
  pulse,
  delay,
  burst,
  clock,
  clockDivider,
  stepSequencer,
  random,
  envelope,
  oscillator,
];

/** Values at the ends of what a setting allows. */
function ends(spec: SettingSpec): readonly unknown[] {
  switch (spec.type) {
    case 'choice':
      return spec.options;
    case 'flag':
      return [true, false];
    case 'row':
      return [[spec.min], Array.from({ length: spec.longest }, () => spec.max)];
    default:
      return 'min' in spec ? [spec.min, spec.max] : 'fallback' in spec ? [spec.fallback] : [];
  }
}

/** Noise, and squares from half the sample rate down to a few hertz. */
const drive = fc.oneof(
  fc.constant((n: number) => 12 * Math.sin(n * n * 12.9898)),
  fc
    .integer({ min: 1, max: 4000 })
    .map((half) => (n: number) => (Math.floor(n / half) % 2 ? -12 : 12)),
);

describe.each(kinds.map((definition) => [definition.kind, definition] as const))(
  '%s',
  (_, kind) => {
    it('stays finite and within the rails', () => {
      const settings = fc.record(
        Object.fromEntries(
          Object.entries(kind.settings).map(([name, spec]) => [
            name,
            fc.constantFrom(...ends(spec)),
          ]),
        ),
      );
      const sources = fc.array(drive, { minLength: 6, maxLength: 6 });
      fc.assert(
        fc.property(settings, sources, fc.constantFrom(44_100, 192_000), (values, inputs, rate) => {
          const circuit = solo(kind, { settings: values, rate });
          const jacks = kind.jacks(values);
          const plugs = inputs.slice(0, jacks.filter(({ direction }) => direction === 'in').length);
          const fields = jacks.flatMap((jack) => (jack.direction === 'out' ? [jack.field] : []));
          let worst = 0;
          for (let n = 0; n < 4000; n++) {
            circuit.run(...plugs.map((volts) => volts(n)));
            if (n % 128 === 0) circuit.settle?.();
            for (const field of fields) worst = Math.max(worst, Math.abs(circuit[field] as number));
          }
          expect(worst).toBeLessThanOrEqual(RAIL_VOLTS);
        }),
        { numRuns: 60 },
      );
    });
  },
);
