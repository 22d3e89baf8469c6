/**
 * Crackle: a kind that Forehear does not have, a source of white noise, for tests that check that all code relies on
 * the definition alone.
 *
 *   out = level x n, with n drawn evenly from -1 to 1 at each sample
 *
 * Source: common practice, no source.
 */

import { define } from '../../src/modules/definition.ts';
import { volts } from '../../src/modules/facts.ts';

export const crackle = define({
  kind: 'crackle',
  about: 'Crackles without end.',
  settings: {
    level: {
      type: 'voltage',
      ...{ min: 0.1, max: 10, fallback: 2, about: 'How loud.' },
      toldBy: 'level',
    },
    shade: {
      type: 'frequency',
      ...{ min: 100, max: 10_000, fallback: 1000, about: 'Where it is bright.' },
      tone: { as: 'colour' },
    },
  },
  jacks: ({ level }) => [
    {
      name: 'out',
      direction: 'out',
      signal: 'audio',
      about: 'The crackle.',
      facts: volts(-level, level),
      noise: 'white',
    },
  ],
  role: 'circuit',
  create: ({ level }, site) => {
    let [state] = site.seeds('crackle');
    site.run({
      process(from, to, _, [out]) {
        for (let i = from; i < to; i++) {
          // A congruential generator: Numerical Recipes, 7.1 (from memory).
          state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
          (out as Float64Array)[i] = level * (state / 2 ** 31 - 1);
        }
      },
    });
  },
  example: '',
});
