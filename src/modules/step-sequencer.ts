/**
 * Step sequencer: a clock walks it through rows of voltages and gates, one column a step.
 *
 *   position  0 at the first clock, then one more a clock, after the last step 0 again
 *   played    (position + shift) modulo steps, shift = volts at `shift` rounded to whole steps
 *   a, b      the row's value at the played step; a row shorter than the sequence repeats
 *   gate      high while the clock is high, on steps that the gates row has on
 *
 * Reset has two meanings: `armed`, the next clock lands on step 1; `now`, it goes to step 1 at once.
 * dsp/step-counter.ts says what happens when a clock and a reset come together. `shift` is read when
 * a clock or a reset moves it, so a shift that wavers does not waver the pitch.
 *
 * Source: twelve-tone equal temperament at one volt an octave: a semitone is 1/12 V; meanings of
 * reset: common practice, no source.
 * Deviation: volts change within one sample and are exact; a converter of 12 bits over 10 V would be
 * up to 1.2 mV (1.5 cents) off.
 */

import { define } from './definition.ts';
import { largest, smallest } from './dsp/extremes.ts';
import { type OutputFacts, pitchVolts, plain, voltageTrigger, volts } from './facts.ts';
import { gateLevel } from './gate-level.ts';

const MOST_STEPS = 32;
/** V, either side of ground. */
const MOST_VOLTS = 10;

const settings = {
  steps: {
    type: 'count',
    min: 0,
    max: MOST_STEPS,
    fallback: 0,
    about: 'Steps before it starts again; 0: as many as its longest row has.',
  },
  'row-a': {
    type: 'row',
    unit: 'pitch',
    min: -MOST_VOLTS,
    max: MOST_VOLTS,
    longest: MOST_STEPS,
    fallback: [0],
    about: 'Volts or notes at output a, one a step; a shorter row repeats.',
  },
  'row-b': {
    type: 'row',
    unit: 'pitch',
    min: -MOST_VOLTS,
    max: MOST_VOLTS,
    longest: MOST_STEPS,
    fallback: [0],
    about: 'Volts or notes at output b, likewise.',
  },
  gates: {
    type: 'row',
    unit: 'gate',
    min: 0,
    max: 1,
    longest: MOST_STEPS,
    fallback: [1],
    about: 'The steps that give a gate (x) and those that do not (-), likewise.',
  },
  reset: {
    type: 'choice',
    options: ['armed', 'now'],
    fallback: 'armed',
    about: 'armed: after a reset the next clock lands on step 1. now: step 1 at once.',
  },
  settle: {
    type: 'time',
    min: 0,
    max: 0.1,
    fallback: 0.0005,
    about: 'A clock and a reset closer together than this race, which the check reports.',
  },
  expects: {
    type: 'rate',
    fallback: { count: 1, per: 'step' },
    about: 'The clock it is meant to get; where it is stated, the check compares.',
  },
  level: gateLevel,
} as const;

export const stepSequencer = define({
  kind: 'step-sequencer',
  about:
    'A step sequencer driven by a clock: two rows of voltages or notes and a row of gates, with a ' +
    'reset and a shift.',
  settings,
  needs: () => [{ inputs: ['clock'], otherwise: 'never starts' }],
  recounts: true,
  counts: (values) =>
    sequenceLength(values.steps, [values['row-a'], values['row-b'], values.gates]),
  jacks: (values) => {
    const gate = volts(0, values.level);
    return [
      {
        name: 'clock',
        direction: 'in',
        signal: 'gate',
        about: 'Each rising edge is a step.',
        facts: voltageTrigger(),
      },
      {
        name: 'reset',
        direction: 'in',
        signal: 'gate',
        about: 'Back to step 1: with the next clock, or now.',
        facts: voltageTrigger(),
        rise: 'resets',
      },
      {
        name: 'shift',
        direction: 'in',
        signal: 'control',
        about: 'Plays a step further on for each volt, or back below 0 V; read at each clock.',
        facts: plain(),
      },
      {
        name: 'a',
        direction: 'out',
        signal: 'pitch',
        about: 'The step of row a.',
        facts: rowVolts(values['row-a']),
      },
      {
        name: 'b',
        direction: 'out',
        signal: 'pitch',
        about: 'The step of row b.',
        facts: rowVolts(values['row-b']),
      },
      {
        name: 'gate',
        direction: 'out',
        signal: 'gate',
        about: 'As long as the clock, on steps that have one.',
        facts: gate,
      },
      {
        name: 'first',
        direction: 'out',
        signal: 'gate',
        about: 'As long as the clock, at position 1: to reset another sequencer.',
        facts: gate,
      },
    ];
  },
  role: 'circuit',
  create: (values, site) => {
    const { 'row-a': a, 'row-b': b, gates } = values;
    const steps = sequenceLength(values.steps, [a, b, gates]);
    const made = site.make(
      'stepSequencer',
      ...['clock', 'reset', 'shift'].map(site.input),
      ...['a', 'b', 'gate', 'first'].map(site.heard),
      steps,
      values.reset === 'now',
      values.level,
      ...['clock', 'reset'].map(site.trigger),
    );
    for (let step = 0; step < steps; step++) {
      const at = (row: readonly number[]): number => row[step % row.length] as number;
      site.call('stepSequencerStep', made, step, at(a), at(b), at(gates) !== 0);
    }
  },
  example: `title: Step sequencer
about: A clock walks a bass figure of six steps; the fourth step has no gate.
modules:
  tick:  { kind: clock, rate: 6 Hz, duty: 40 % }
  walk:  { kind: step-sequencer, row-a: [C2, C2, G1, Bb1, C2, Eb2], gates: "xxx-xx" }
  tone:  { kind: oscillator }
  shape: { kind: envelope, sustain: 0 %, decay: 150 ms, release: 80 ms }
  level: { kind: amplifier }
  out:   { kind: output }
cables:
  - tick.out   -> walk.clock
  - walk.a     -> tone.pitch
  - walk.gate  -> shape.trigger
  - shape.out  -> level.control
  - tone.saw   -> level.in
  - level.out  -> out.left
`,
});

/**
 * Gives the number of steps of a sequence.
 * @param steps the setting; 0 stands for the longest of the rows.
 */
export function sequenceLength(steps: number, rows: readonly (readonly number[])[]): number {
  return steps > 0 ? steps : largest(rows.map(({ length }) => length));
}

/**
 * Gives the step that is played: (position + shift) modulo steps.
 * @param position from 0 to steps - 1.
 * @param shift V, rounded to the nearest whole step (half a volt goes up).
 */
export function shiftedStep(position: number, shift: number, steps: number): number {
  const step = (position + Math.round(shift)) % steps;
  return step < 0 ? step + steps : step;
}

/** The output that a row of volts needs. */
function rowVolts(row: readonly number[]): OutputFacts {
  return pitchVolts(smallest(row), largest(row));
}
