/**
 * Output: where the sound is taken, as samples of a file or as what the speakers get.
 *
 *   sample = volts / full-scale, +-1 being digital full scale (0 dBFS)
 *
 * Source: 10 V for full scale is common practice, no source.
 */

import { define } from './definition.ts';
import { RAIL_VOLTS } from './facts.ts';
import { jackIn } from './jacks.ts';

/** V at full scale unless set: of an output, and of a jack that is heard by itself. */
export const FULL_SCALE_VOLTS = 10;

export const output = define({
  kind: 'output',
  alsoCalled: ['out', 'speaker', 'speakers', 'headphones', 'main', 'audio-out'],
  about: 'Where the sound leaves the patch: stereo with left and right, mono with left alone.',
  settings: {
    'full-scale': {
      type: 'voltage',
      min: 1,
      max: RAIL_VOLTS,
      fallback: FULL_SCALE_VOLTS,
      about: 'The peak volts that just fill the file (0 dBFS).',
    },
  },
  jacks: () => [
    jackIn('left', 'audio', 'The left side; with nothing in right, the whole of it.'),
    jackIn('right', 'audio', 'The right side.'),
  ],
  role: 'output',
  example: `title: Low noise on the left, struck noise on the right
modules:
  drums:
    kind: rhythm
    channels: [hit]
    patterns:
      beat: { hit: "x-x- x-xx" }
    song: [beat]
  hiss:  { kind: noise, level: 0.7 V }
  shape: { kind: envelope, decay: 100 ms, sustain: 0 %, release: 100 ms }
  level: { kind: amplifier }
  out:   { kind: output, full-scale: 8 V }
cables:
  - drums.hit  -> shape.trigger
  - shape.out  -> level.control
  - hiss.white -> level.in
  - hiss.red   -> out.left
  - level.out  -> out.right
`,
});
