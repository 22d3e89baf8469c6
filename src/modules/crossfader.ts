/**
 * Crossfader: fades from one sound to another.
 *
 *   equal-power   out = a cos(90 degrees p) + b sin(90 degrees p)
 *   linear        out = a (1 - p) + b p
 *   p = mix + control-amount x volts at control / 10 V, held between 0 (a) and 1 (b)
 *
 * Two uncorrelated sounds keep the same loudness all the way with equal power, where each is 3.01 dB down
 * in the middle. Two sounds that are alike, and control voltages, need linear: each is 6.02 dB down, so
 * that the same volts at both inputs come out unchanged.
 *
 * Source: powers of sounds that are not correlated add up, cos^2 + sin^2 = 1: common practice, no source.
 * Deviation: at either end the other input is fully silent; a circuit leaves a trace.
 */

import { define, type SumPart } from './definition.ts';
import { quarterSine } from './dsp/quarter-sine.ts';
import { jackIn, jackOut } from './jacks.ts';

const settings = {
  mix: {
    type: 'percent',
    min: 0,
    max: 1,
    fallback: 0.5,
    about: 'Place with 0 V at control: 0 % only a, 100 % only b.',
  },
  'control-amount': {
    type: 'percent',
    min: -1,
    max: 1,
    fallback: 1,
    about: 'How far control moves it: at 100 %, 5 V go from the middle to b and -5 V to a.',
    input: 'control',
  },
  law: {
    type: 'choice',
    options: ['equal-power', 'linear'],
    fallback: 'equal-power',
    about:
      'equal-power: for two different sounds. linear: for sounds that are alike, and for volts.',
  },
} as const;

export const crossfader = define({
  kind: 'crossfader',
  alsoCalled: ['xfade'],
  about: 'Fades from one sound, or one control voltage, to another, by hand or by volts.',
  settings,
  needs: () => [{ inputs: ['a', 'b'], otherwise: 'gives nothing' }],
  carries: { out: ['a', 'b'] },
  effect: 'Faded over',
  jacks: () => [
    jackIn('a', 'audio', 'What is heard at 0 %.'),
    jackIn('b', 'audio', 'What is heard at 100 %.'),
    jackIn('control', 'control', 'Moves it: towards b with positive volts.'),
    jackOut('out', 'audio', 'Both, in these shares.'),
  ],
  role: 'circuit',
  isInstant: true,
  create: (values, site) => {
    site.make(
      'crossfader',
      ...['a', 'b', 'control'].map(site.input),
      site.output('out'),
      values.mix,
      values['control-amount'],
      values.law === 'linear',
    );
  },
  sums: (values) =>
    // Its gains are constant only where no voltage can move it.
    values['control-amount'] === 0 ? partsAt(values.mix, values.law) : [],
  moves: (values) => ({
    by: 'control',
    at: (volts) => {
      const place = values.mix + (values['control-amount'] * volts) / (2 * END);
      return partsAt(Math.min(Math.max(place, 0), 1), values.law);
    },
  }),
  passes: (values, isDriven) =>
    values['control-amount'] === 0 || !isDriven('control')
      ? [{ output: 'out', offset: 0, terms: gainsAt(values.mix, values.law) }]
      : [],
  example: `title: Crossfader
about: A slow triangle goes over from a low tone to a hiss and back.
modules:
  sway: { kind: oscillator, at-zero: 0.8 Hz }
  tone: { kind: oscillator, at-zero: 110 Hz }
  hiss: { kind: noise }
  fade: { kind: crossfader }
  out:  { kind: output }
cables:
  - tone.saw      -> fade.a
  - hiss.pink     -> fade.b
  - sway.triangle -> fade.control
  - fade.out      -> out.left
`,
});

/** V from the middle to one end. */
const END = 5;

function partsAt(place: number, law: 'equal-power' | 'linear'): readonly SumPart[] {
  return gainsAt(place, law).map((term) => ({ output: 'out', ...term }));
}

/**
 * Gives the gain of each input.
 * @param place from 0, only a, to 1, only b.
 */
function gainsAt(
  place: number,
  law: 'equal-power' | 'linear',
): readonly { readonly input: string; readonly gain: number }[] {
  const gain = law === 'linear' ? (share: number) => share : quarterSine;
  return [
    { input: 'a', gain: gain(1 - place) },
    { input: 'b', gain: gain(place) },
  ];
}
