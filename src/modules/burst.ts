/**
 * Burst: a run of pulses for each trigger, as for a hand clap.
 *
 *   gap k  = spacing (1 + spread)^k, 1 ms at least, from pulse k to pulse k + 1; k from 0
 *   pulse k starts at the sum of the gaps before it; the first with the trigger
 *
 * A pulse lasts `length`, or half its gap where that is shorter, so that every one has an edge of
 * its own. A trigger that comes during a burst restarts it; if a pulse is on at that moment it
 * becomes the first pulse of the new burst.
 *
 * Source: common practice, no source.
 * Deviation: times are rounded to whole samples, each from the trigger, so no error adds up.
 */

import { define } from './definition.ts';
import { voltageTrigger, volts } from './facts.ts';
import { gateLevel, pulseSamples } from './gate-output.ts';
import { jackIn, jackOut } from './jacks.ts';

/** s. */
const SHORTEST_GAP = 0.001;

const settings = {
  count: {
    type: 'count',
    min: 1,
    max: 16,
    fallback: 4,
    about: 'Pulses in a burst.',
  },
  spacing: {
    type: 'time',
    min: 0.001,
    max: 2,
    fallback: 0.011,
    toldBy: 'spacing',
    about: 'From the first pulse to the second.',
  },
  spread: {
    type: 'percent',
    min: -0.5,
    max: 0.5,
    fallback: 0,
    about: 'How much longer each gap is than the one before; negative: shorter, to 1 ms.',
  },
  length: {
    type: 'time',
    min: 0.0001,
    max: 2,
    fallback: 0.004,
    about: 'How long each pulse lasts, at most half the gap after it.',
  },
  level: gateLevel,
} as const;

export const burst = define({
  kind: 'burst',
  alsoCalled: ['ratchet', 'roll'],
  about: 'Gives a run of pulses for each trigger: the several hands of a clap, a roll, a ratchet.',
  settings,
  needs: () => [{ inputs: ['trigger'], otherwise: 'never starts' }],
  recounts: true,
  jacks: ({ level }) => [
    jackIn('trigger', 'gate', 'Its rising edge starts the burst.', voltageTrigger(0)),
    jackOut('out', 'gate', 'The pulses.', volts(0, level)),
  ],
  role: 'circuit',
  create: (values, site) => {
    const rate = site.sampleRate;
    const made = site.make(
      'burst',
      site.input('trigger'),
      site.output('out'),
      values.level,
      site.trigger('trigger'),
    );
    let time = 0;
    for (const gap of burstGaps(values.count, values.spacing, values.spread)) {
      // Each pulse starts at the sample nearest to its time.
      const start = Math.round(time * rate);
      time += gap;
      const samples = Math.round(time * rate) - start;
      const length = Math.min(pulseSamples(values.length, rate), Math.floor(samples / 2));
      site.call('burstPulse', made, length, samples);
    }
  },
  example: `title: Burst
about: A clap - four quick hits of filtered noise out of one trigger.
modules:
  drums: { kind: rhythm, tempo: 100 bpm, channels: [clap], gate: 5 ms, patterns: { groove: { clap: "x-x-x-x-" } }, song: [groove] }
  hands: { kind: burst, count: 4, spacing: 9 ms, spread: 15 % }
  shape: { kind: envelope, attack: 0.2 ms, decay: 150 ms, release: 150 ms }
  hiss:  { kind: noise, level: 3 V }
  tone:  { kind: filter, cutoff: 1.1 kHz, q: 1 }
  level: { kind: amplifier }
  out:   { kind: output }
cables:
  - drums.clap -> hands.trigger
  - hands.out  -> shape.trigger
  - shape.out  -> level.control
  - hiss.white -> tone.in
  - tone.band  -> level.in
  - level.out  -> out.left
`,
});

/**
 * Gives the gaps between the pulses of a burst.
 * @param count pulses, from 1 on.
 * @param spacing the first gap, s.
 * @param spread how much longer each gap is than the one before, as a fraction of it; over -1.
 * @returns `count` gaps in s: the last is the one that a further pulse would follow.
 */
export function burstGaps(count: number, spacing: number, spread: number): number[] {
  const gaps: number[] = [];
  for (let gap = spacing; gaps.length < count; gap *= 1 + spread) {
    gaps.push(Math.max(gap, SHORTEST_GAP));
  }
  return gaps;
}
