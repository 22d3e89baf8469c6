/**
 * Swell and valve: two kinds that Forehear does not have, an envelope of straight lines and what it opens, for
 * tests that check that all code relies on the definition alone.
 *
 *   swell   from 0 V to the peak in the rise, and back in the fall, from each trigger on
 *   valve   out = in x control / 2.5 V, nothing below 0 V; it has a colour that volts move by octaves
 *
 * Source: common practice, no source.
 */

import { define } from '../../src/modules/definition.ts';
import { plain, voltageTrigger, volts } from '../../src/modules/facts.ts';
import { jackIn, jackOut } from '../../src/modules/jacks.ts';

const time = { type: 'time', min: 0.001, max: 10, fallback: 0.1, about: 'How long.' } as const;

export const swell = define({
  kind: 'swell',
  about: 'Rises and falls once for each trigger.',
  settings: { attack: time, decay: time },
  needs: () => [{ inputs: ['trigger'], otherwise: 'never swells' }],
  jacks: () => [
    {
      name: 'trigger',
      direction: 'in',
      signal: 'gate',
      about: 'Starts it.',
      facts: voltageTrigger(),
    },
    jackOut('out', 'control', 'Up to 5 V.', volts(0, 5)),
  ],
  role: 'circuit',
  course: ({ attack, decay }) => ({
    ...{ peak: 5, sustain: 0, attack, decay, release: decay, linear: true, gated: false },
    ...{ attackConstants: 1, fallConstants: 1 },
  }),
  create: ({ attack, decay }, site) => {
    let since = Number.POSITIVE_INFINITY;
    let wasOn = false;
    site.run({
      process(from, to, [trigger], [out]) {
        for (let i = from; i < to; i++) {
          const isOn = (trigger?.[i] as number) > 2.5;
          since = isOn && !wasOn ? 0 : since + 1 / site.sampleRate;
          wasOn = isOn;
          const fallen = 1 - (since - attack) / decay;
          (out as Float64Array)[i] = 5 * (since < attack ? since / attack : Math.max(0, fallen));
        }
      },
    });
  },
  example: '',
});

export const valve = define({
  kind: 'valve',
  about: 'Lets a sound through as far as a voltage opens it.',
  settings: {
    colour: {
      type: 'frequency',
      ...{ min: 20, max: 20_000, fallback: 1000, about: 'Where it is bright.' },
      moved: { jack: 'control', amount: 'reach', highest: 0.45 },
    },
    reach: { type: 'percent', min: 0, max: 1, fallback: 0, about: 'How far volts move that.' },
  },
  multiplies: { out: ['in'] },
  opened: (_, volts) => ({
    ...{ law: Math.max(0, volts / 2.5), gain: Math.max(0, volts / 2.5) },
    unity: 2.5,
  }),
  jacks: () => [
    { ...jackIn('in', 'audio', 'What is let through.'), facts: plain() },
    jackIn('control', 'control', 'How much of it.'),
    jackOut('out', 'audio', 'The result.'),
  ],
  role: 'circuit',
  create: (_, site) => {
    site.run({
      process(from, to, [input, control], [out]) {
        for (let i = from; i < to; i++) {
          const gain = Math.max(0, (control?.[i] as number) / 2.5);
          (out as Float64Array)[i] = (input?.[i] as number) * gain;
        }
      },
    });
  },
  example: '',
});

/** A noise behind a valve that a swell opens, through a level. @param level of what the swell gives. */
export const swelling = (level: string, decay: string): string => `modules:
  drums:
    kind: rhythm
    tempo: 120 bpm
    channels: [hit]
    patterns: { beat: { hit: "x-x-" } }
    song: [beat]
  shape: { kind: swell, attack: 10 ms, decay: ${decay} }
  depth: { kind: attenuator, level: ${level} }
  hiss:  { kind: noise }
  gate:  { kind: valve, reach: 100 % }
  out:   { kind: output }
cables:
  - drums.hit  -> shape.trigger
  - shape.out  -> depth.in
  - depth.out  -> gate.control
  - hiss.white -> gate.in
  - gate.out   -> out.left
`;
