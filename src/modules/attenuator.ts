/**
 * Attenuator: a signal made smaller, turned upside down, or shifted.
 *
 *   out = level in + offset
 *
 * Source: common practice, no source.
 */

import { define } from './definition.ts';
import { toRails } from './dsp/rails.ts';
import { usualVolts } from './facts.ts';
import { jackIn, jackOut } from './jacks.ts';

/** V, either side of ground: the assumed range of the input, from which the output's range is worked out. */
const ORDINARY_PEAK = 5;

export const attenuator = define({
  kind: 'attenuator',
  alsoCalled: ['attenuverter', 'offset', 'pad'],
  about:
    'Scales a signal by a level from -100 % (upside down) to 100 % and adds an offset. With no ' +
    'input it gives the offset alone.',
  settings: {
    level: {
      type: 'percent',
      min: -1,
      max: 1,
      fallback: 1,
      toldBy: 'share',
      about: 'How much of the input comes through; negative turns it upside down.',
      input: 'in',
    },
    offset: {
      type: 'voltage',
      min: -10,
      max: 10,
      fallback: 0,
      about: 'Steady volts added after the level.',
    },
  },
  // With an offset it gives steady volts, which may be intended.
  needs: ({ offset }) => (offset === 0 ? [{ inputs: ['in'], otherwise: 'gives nothing' }] : []),
  carries: { out: ['in'] },
  jacks: ({ level, offset }) => {
    const peak = ORDINARY_PEAK * Math.abs(level);
    return [
      jackIn('in', 'control', 'Audio or a control voltage.'),
      jackOut(
        'out',
        'control',
        'The result.',
        usualVolts(toRails(offset - peak), toRails(offset + peak)),
      ),
    ];
  },
  role: 'circuit',
  isInstant: true,
  create: ({ level, offset }, site) => {
    site.make('attenuator', site.input('in'), site.output('out'), level, offset);
  },
  // With an offset it is a source of its own.
  sums: ({ level, offset }) => (offset === 0 ? [{ output: 'out', input: 'in', gain: level }] : []),
  passes: ({ level, offset }) => [{ output: 'out', offset, terms: [{ input: 'in', gain: level }] }],
  example: `title: Noise under an envelope turned down to 60 %
modules:
  drums:
    kind: rhythm
    channels: [hit]
    patterns:
      beat: { hit: "x-x- x-xx" }
    song: [beat]
  hiss:  { kind: noise, level: 2 V }
  shape: { kind: envelope, decay: 150 ms, sustain: 0 %, release: 150 ms }
  depth: { kind: attenuator, level: 60 % }
  level: { kind: amplifier }
  out:   { kind: output }
cables:
  - drums.hit  -> shape.trigger
  - shape.out  -> depth.in
  - depth.out  -> level.control
  - hiss.white -> level.in
  - level.out  -> out.left
`,
});
