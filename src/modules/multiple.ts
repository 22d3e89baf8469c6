/**
 * Multiple: jacks joined by a wire, so that one output reaches several inputs. It has no supply and
 * no circuit: `electrical` makes one node of it, with the loss that its loads cause.
 *
 *   in = out-1 = out-2 = ...
 *
 * The names are for the cable list; any of its jacks may be the one that is driven.
 *
 * Source: common practice, no source.
 */

import { define, type ThroughJack } from './definition.ts';

export const multiple = define({
  kind: 'multiple',
  alsoCalled: ['mult', 'multi', 'splitter'],
  about:
    'A passive multiple: its jacks are one node. One output into several inputs; each input ' +
    'loads the output a little more.',
  settings: {
    jacks: {
      type: 'count',
      min: 3,
      max: 16,
      fallback: 4,
      about: 'How many jacks it has in all, the one called in among them.',
    },
  },
  grows: 'jacks',
  jacks: ({ jacks }) => [
    { name: 'in', direction: 'through', about: 'Where the signal comes in.' },
    ...Array.from(
      { length: jacks - 1 },
      (_, index): ThroughJack => ({
        name: `out-${index + 1}`,
        direction: 'through',
        about: 'A copy of it.',
      }),
    ),
  ],
  role: 'passive',
  example: `title: One envelope for loudness and brightness
modules:
  drums:
    kind: rhythm
    channels: [hit]
    patterns:
      beat: { hit: "x-x- x-xx" }
    song: [beat]
  hiss:   { kind: noise, level: 2.5 V }
  shape:  { kind: envelope, decay: 120 ms, sustain: 0 %, release: 120 ms }
  split:  { kind: multiple, jacks: 3 }
  bright: { kind: filter, cutoff: 250 Hz, q: 2 }
  level:  { kind: amplifier }
  out:    { kind: output }
cables:
  - drums.hit   -> shape.trigger
  - shape.out   -> split.in
  - split.out-1 -> bright.control
  - split.out-2 -> level.control
  - hiss.white  -> bright.in
  - bright.low  -> level.in
  - level.out   -> out.left
`,
});
