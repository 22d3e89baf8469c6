/**
 * Panner: puts a sound between left and right at the same power everywhere.
 *
 *   left = in cos(a), right = in sin(a), a = (1 + p) x 45 degrees
 *   p = pan + control-amount x volts at pan / 5 V, held between -1 (left) and 1 (right)
 *
 * In the middle each side is 3.01 dB down.
 *
 * Source: constant power, cos^2 + sin^2 = 1: common practice, no source.
 * Deviation: hard left is fully silent on the right; a circuit leaves a trace.
 */

import { define, type SumPart } from './definition.ts';
import { quarterSine } from './dsp/quarter-sine.ts';
import { jackIn, jackOut } from './jacks.ts';

const settings = {
  pan: {
    type: 'percent',
    min: -1,
    max: 1,
    fallback: 0,
    about: 'Place with 0 V at pan: -100 % left, 0 % middle, 100 % right.',
  },
  'control-amount': {
    type: 'percent',
    min: -1,
    max: 1,
    fallback: 1,
    about: 'How far the voltage at pan moves it: 100 % is from the middle to one side with 5 V.',
    input: 'control',
  },
} as const;

export const panner = define({
  kind: 'panner',
  alsoCalled: ['pan'],
  about: 'Places a sound between left and right, as loud wherever it stands.',
  settings,
  needs: () => [{ inputs: ['in'], otherwise: 'gives nothing' }],
  carries: { left: ['in'], right: ['in'] },
  effect: 'Placed between left and right',
  jacks: () => [
    jackIn('in', 'audio', 'What is placed.'),
    jackIn('pan', 'control', 'Moves it: to the right with positive volts.'),
    jackOut('left', 'audio', 'The left side.'),
    jackOut('right', 'audio', 'The right side.'),
  ],
  role: 'circuit',
  isInstant: true,
  create: (values, site) => {
    site.make(
      'panner',
      ...['in', 'pan'].map(site.input),
      ...['left', 'right'].map(site.output),
      values.pan,
      values['control-amount'],
    );
  },
  sums: (values) =>
    // Its gains are constant only where no voltage can move it.
    values['control-amount'] === 0 ? partsAt(values.pan) : [],
  moves: (values) => ({
    by: 'pan',
    at: (volts) => {
      const place = values.pan + (values['control-amount'] * volts) / SIDE;
      return partsAt(Math.min(Math.max(place, -1), 1));
    },
  }),
  passes: (values, isDriven) =>
    values['control-amount'] === 0 || !isDriven('pan')
      ? partsAt(values.pan).map(({ output, ...term }) => ({ output, offset: 0, terms: [term] }))
      : [],
  example: `title: Panner
about: Noise that jumps from side to side with the accents.
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [hat], gate: 10 ms, accent-level: 5 V, patterns: { groove: { hat: "x-X-x-X-" } }, song: [groove] }
  hiss:  { kind: noise }
  shape: { kind: envelope, decay: 80 ms, release: 80 ms }
  level: { kind: amplifier }
  place: { kind: panner, pan: -50 % }
  out:   { kind: output }
cables:
  - drums.hat        -> shape.trigger
  - hiss.white       -> level.in
  - shape.out        -> level.control
  - level.out        -> place.in
  - drums.hat-accent -> place.pan
  - place.left       -> out.left
  - place.right      -> out.right
`,
});

/** V from the middle to one side. */
const SIDE = 5;

function partsAt(place: number): readonly SumPart[] {
  return [
    { output: 'left', input: 'in', gain: leftGain(place) },
    { output: 'right', input: 'in', gain: leftGain(-place) },
  ];
}

/**
 * Gives the left side's gain; the right side's is that of the mirrored place.
 * @param place from -1, left, to 1, right.
 */
export function leftGain(place: number): number {
  return quarterSine(0.5 - 0.5 * place);
}
