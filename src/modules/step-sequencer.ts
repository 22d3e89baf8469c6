/**
 * Step sequencer: a clock walks it through rows of voltages, each with an output of its own, and a
 * row of gates.
 *
 *   position  0 at the first clock, then one more a clock, after the cycle 0 again
 *   cycle     steps, if set; otherwise the least common multiple of the lengths of all rows
 *   played    (position + offset) modulo cycle, offset = volts at `offset` rounded to whole steps
 *   row       its value number (played modulo its own length)
 *   gate      high while the clock is high, where the row of gates is on
 *
 * So rows may differ in length. Without `steps` each goes round by itself: rows of three and of four
 * steps come together again after twelve. With `steps` all begin again after so many, wherever a row
 * is by then. A reset sends all of them to their first step, and `first` is high where the cycle begins.
 *
 * Reset has two meanings: `armed`, the next clock lands on step 1; `now`, it goes to step 1 at once.
 * dsp/step-counter.ts says what happens when a clock and a reset come together. `offset` is read when
 * a clock or a reset moves it, so an offset that wavers does not waver the pitch.
 *
 * Source: twelve-tone equal temperament at one volt an octave: a semitone is 1/12 V; meanings of
 * reset: common practice, no source.
 * Deviation: volts change within one sample and are exact; a converter of 12 bits over 10 V would be
 * up to 1.2 mV (1.5 cents) off.
 */

import { clocked } from './clocked.ts';
import { define, type FormerSettings, type OutputJack, type Row } from './definition.ts';
import { largest, leastCommonMultiple, smallest } from './dsp/extremes.ts';
import { pitchVolts, voltageTrigger, volts } from './facts.ts';
import { gateLevel } from './gate-output.ts';
import { jackIn, jackOut } from './jacks.ts';

/** Values of a row. */
const MOST_STEPS = 32;
const MOST_ROWS = 16;
/** V, either side of ground. */
const MOST_VOLTS = 10;

const settings = {
  rows: {
    type: 'rows',
    row: {
      type: 'row',
      unit: 'pitch',
      min: -MOST_VOLTS,
      max: MOST_VOLTS,
      shortest: 1,
      longest: MOST_STEPS,
      fallback: [0],
      about: 'Volts or notes at the output of that name, one a step.',
    },
    most: MOST_ROWS,
    fallback: [],
    about:
      'Rows of volts or notes by names of your own; each is an output of that name. A row shorter ' +
      'than others goes round by itself.',
  },
  gates: {
    type: 'row',
    unit: 'gate',
    min: 0,
    max: 1,
    shortest: 1,
    longest: MOST_STEPS,
    fallback: [1],
    about: 'The steps that give a gate (x) and those that do not (-), likewise.',
  },
  steps: {
    type: 'count',
    min: 0,
    max: 128,
    fallback: 0,
    about:
      'Steps after which all rows begin again, wherever they are; 0: when they come together, so ' +
      'rows of 3 and 4 steps after 12.',
  },
  reset: {
    type: 'choice',
    options: ['armed', 'now'],
    fallback: 'armed',
    about: 'armed: after a reset the next clock lands on step 1. now: step 1 at once.',
  },
  ...clocked,
  level: gateLevel,
} as const;

const twoRows: FormerSettings = {
  names: ['row-a', 'row-b'],
  now: 'rows',
  write: (words) => {
    const given = ['a', 'b'].flatMap((name) => {
      const list = words.get(`row-${name}`);
      return list === undefined ? [] : [{ name, list }];
    });
    const gates = words.get('gates')?.replace(/[^x-]/g, '').length ?? 1;
    const lengths = [gates, ...given.map(({ list }) => list.split(',').length)];
    const longest = largest(lengths);
    // In earlier versions all rows repeated together, with the longest.
    const isEven = Number(words.get('steps') ?? 0) > 0 || leastCommonMultiple(lengths) === longest;
    const rows = given.map(({ name, list }) => `${name}: ${list}`).join(', ');
    return [`rows: { ${rows} }`, ...(isEven ? [] : [`steps: ${longest}`])];
  },
};

export const stepSequencer = define({
  kind: 'step-sequencer',
  alsoCalled: ['sequencer', 'steps'],
  about:
    'A step sequencer driven by a clock: rows of voltages or notes, as many as you name, and a row ' +
    'of gates, with a reset and an offset.',
  settings,
  sizes: {
    rows: {
      about: 'Rows of volts that it has, each with an output.',
      most: MOST_ROWS,
      from: ['rows'],
      of: ({ rows }) => rows.length,
    },
    steps: {
      about: 'Steps that a row has.',
      most: MOST_STEPS,
      from: ['rows', 'gates'],
      of: ({ rows, gates }) => largest(lengthsOf(rows, gates)),
    },
  },
  former: {
    jacks: { shift: 'offset' },
    usual: { a: 'rows: { a: [C2] }', b: 'rows: { b: [C2] }' },
    settings: [twoRows],
  },
  needs: () => [{ inputs: ['clock'], otherwise: 'never starts' }],
  recounts: true,
  counts: ({ steps, rows, gates }) => cycleLength(steps, lengthsOf(rows, gates)),
  jacks: ({ rows, level }) => {
    const gate = volts(0, level);
    return [
      jackIn('clock', 'gate', 'Each rising edge is a step.', voltageTrigger()),
      {
        name: 'reset',
        direction: 'in',
        signal: 'gate',
        about: 'All rows back to their first step: with the next clock, or now.',
        facts: voltageTrigger(),
        rise: 'resets',
      },
      jackIn(
        'offset',
        'control',
        'Plays a step further on for each volt, or back below 0 V; read at each clock.',
      ),
      ...rows.map(rowJack),
      jackOut('gate', 'gate', 'As long as the clock, on steps that have one.', gate),
      jackOut(
        'first',
        'gate',
        'As long as the clock, where the rows begin again: to reset another sequencer.',
        gate,
      ),
    ];
  },
  role: 'circuit',
  create: (values, site) => {
    const { rows, gates } = values;
    const made = site.make(
      'stepSequencer',
      ...['clock', 'reset', 'offset'].map(site.input),
      ...['gate', 'first'].map(site.heard),
      cycleLength(values.steps, lengthsOf(rows, gates)),
      gates.length,
      values.reset === 'now',
      values.level,
      ...['clock', 'reset'].map(site.trigger),
    );
    for (const [step, gate] of gates.entries())
      site.call('stepSequencerGate', made, step, gate !== 0);
    for (const { name, values: row } of rows) {
      site.call('stepSequencerRow', made, site.heard(name), row.length);
      for (const [step, value] of row.entries()) site.call('stepSequencerValue', made, step, value);
    }
  },
  example: `title: Step sequencer
about: A clock walks a bass figure of six steps, the fourth without a gate, and a colour of four.
modules:
  tick:  { kind: clock, rate: 6 Hz, duty: 40 % }
  walk:
    kind: step-sequencer
    rows: { pitch: [C2, C2, G1, Bb1, C2, Eb2], bright: [0 V, 2 V, 0.5 V, 3 V] }
    gates: "xxx-xx"
  tone:  { kind: oscillator }
  dark:  { kind: filter, cutoff: 300 Hz, q: 2 }
  shape: { kind: envelope, sustain: 0 %, decay: 150 ms, release: 80 ms }
  level: { kind: amplifier }
  out:   { kind: output }
cables:
  - tick.out    -> walk.clock
  - walk.pitch  -> tone.pitch
  - walk.bright -> dark.control
  - walk.gate   -> shape.trigger
  - shape.out   -> level.control
  - tone.saw    -> dark.in
  - dark.low    -> level.in
  - level.out   -> out.left
`,
});

/**
 * Gives the number of clocks after which a sequence begins again.
 * @param steps the setting; 0 means after as many as it takes rows of these lengths to start together again.
 */
export function cycleLength(steps: number, lengths: readonly number[]): number {
  return steps > 0 ? steps : leastCommonMultiple(lengths);
}

function lengthsOf(rows: readonly Row[], gates: readonly number[]): readonly number[] {
  return [gates, ...rows.map(({ values }) => values)].map(({ length }) => length);
}

function rowJack({ name, values }: Row): OutputJack {
  return {
    name,
    direction: 'out',
    signal: 'pitch',
    about: `The step of row ${name}.`,
    facts: pitchVolts(smallest(values), largest(values)),
  };
}
