/**
 * Blend: a kind that Forehear does not have, written as one would write one more, for tests that
 * check that all code relies on the definition alone.
 *
 *   out = (1 - mix) a + mix b
 *
 * Source: common practice, no source.
 */

import { define } from '../../src/modules/definition.ts';
import { plain, volts } from '../../src/modules/facts.ts';

export const blend = define({
  kind: 'blend',
  about: 'Goes over from one signal to another.',
  settings: {
    mix: { type: 'percent', min: 0, max: 1, fallback: 0.5, about: 'How much of b is heard.' },
  },
  needs: () => [{ inputs: ['a', 'b'], otherwise: 'has nothing to go over between' }],
  carries: { out: ['a', 'b'] },
  effect: 'Faded over',
  limits: ['It goes over at once, without the lag of a lamp.'],
  jacks: () => [
    { name: 'a', direction: 'in', signal: 'audio', about: 'One signal.', facts: plain() },
    { name: 'b', direction: 'in', signal: 'audio', about: 'The other.', facts: plain() },
    {
      name: 'out',
      direction: 'out',
      signal: 'audio',
      about: 'Both, in these shares.',
      facts: volts(-5, 5),
    },
  ],
  role: 'circuit',
  create: ({ mix }, site) => {
    site.run({
      process(from, to, [a, b], [out]) {
        for (let i = from; i < to; i++)
          (out as Float64Array)[i] = (1 - mix) * (a?.[i] as number) + mix * (b?.[i] as number);
      },
      rests: () => true,
    });
  },
  sums: ({ mix }) => [
    { output: 'out', input: 'a', gain: 1 - mix },
    { output: 'out', input: 'b', gain: mix },
  ],
  example: `title: Two noises
modules:
  hiss: { kind: noise }
  fade: { kind: blend, mix: 30 % }
  out:  { kind: output }
cables:
  - hiss.white -> fade.a
  - hiss.pink  -> fade.b
  - fade.out   -> out.left
`,
});
