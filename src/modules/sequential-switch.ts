/**
 * Sequential switch: a clock closes one path (way) after another, from one input to several outputs in turn,
 * or from several inputs in turn to one output.
 *
 *   way           1 at the first clock, then one more a clock, after the last 1 again
 *   one-to-many   out-way = in, every other output 0 V
 *   many-to-one   out = in-way
 *
 * Reset has two meanings, as with a step sequencer: `armed`, the next clock closes way 1; `now`, way 1
 * is closed at once. Before the first clock way 1 is closed. A clock takes effect at its own sample, so
 * a gate that clocks it and goes through it is passed whole: the way is changed before the gate is passed on.
 *
 * Source: common practice, no source; dsp/step-counter.ts says how clocks and resets affect each other.
 * Deviation: it switches within a sample, with nothing lost on the way; an output that is off is at
 * 0 V, held there by its 1 kohm, and not open. Sound that is cut in mid-wave clicks, as it does in a circuit.
 */

import { clocked } from './clocked.ts';
import { define, type InputJack, type OutputJack } from './definition.ts';
import { plain, usualVolts, voltageTrigger } from './facts.ts';
import { jackIn } from './jacks.ts';

const MOST_WAYS = 8;

const settings = {
  direction: {
    type: 'choice',
    options: ['one-to-many', 'many-to-one'],
    fallback: 'one-to-many',
    about:
      'one-to-many: from in to each output in turn. many-to-one: from each input in turn to out.',
  },
  ways: {
    type: 'count',
    min: 2,
    max: MOST_WAYS,
    fallback: 4,
    about: 'How many outputs, or inputs, it has and goes through.',
  },
  reset: {
    type: 'choice',
    options: ['armed', 'now'],
    fallback: 'armed',
    about: 'armed: after a reset the next clock closes way 1. now: way 1 at once.',
  },
  ...clocked,
} as const;

/** The jacks of the switched side: `out-1` and so on. */
function numbered(side: 'in' | 'out', ways: number): readonly string[] {
  return Array.from({ length: ways }, (_, k) => `${side}-${k + 1}`);
}

export const sequentialSwitch = define({
  kind: 'sequential-switch',
  alsoCalled: ['switch'],
  about:
    'A switch that a clock moves on: one input to several outputs in turn, such as the strokes of one ' +
    'channel to several drums, or several inputs in turn to one output.',
  settings,
  sizes: {
    ways: {
      about: 'Ways that it can go through, of which a patch may use fewer.',
      most: MOST_WAYS,
      from: ['ways'],
      of: ({ ways }) => ways,
    },
  },
  needs: ({ direction, ways }) => [
    {
      inputs: direction === 'one-to-many' ? ['in'] : numbered('in', ways),
      otherwise: 'gives nothing',
    },
    { inputs: ['clock'], otherwise: 'stays at way 1' },
  ],
  carries: {
    out: numbered('in', MOST_WAYS),
    ...Object.fromEntries(numbered('out', MOST_WAYS).map((name) => [name, ['in']])),
  },
  recounts: true,
  counts: ({ ways }) => ways,
  effect: 'Switched',
  jacks: ({ direction, ways }) => {
    const input = (name: string, about: string): InputJack => {
      return { name, direction: 'in', signal: 'control', about, facts: plain() };
    };
    const output = (name: string, about: string): OutputJack => {
      return { name, direction: 'out', signal: 'control', about, facts: usualVolts(-5, 5) };
    };
    return [
      jackIn('clock', 'gate', 'Each rising edge goes on to the next way.', voltageTrigger(0)),
      {
        name: 'reset',
        direction: 'in',
        signal: 'gate',
        about: 'Back to way 1: with the next clock, or now.',
        facts: voltageTrigger(0),
        rise: 'resets',
      },
      ...(direction === 'one-to-many'
        ? [
            input('in', 'Sound, gates or control volts: what is sent on.'),
            ...numbered('out', ways).map((name, k) =>
              output(name, `What comes in, while way ${k + 1} is closed; otherwise 0 V.`),
            ),
          ]
        : [
            ...numbered('in', ways).map((name, k) =>
              input(name, `Sound, gates or control volts: sent on while way ${k + 1} is closed.`),
            ),
            output('out', 'What the closed way lets through.'),
          ]),
    ];
  },
  role: 'circuit',
  create: ({ direction, ways, reset }, site) => {
    const made = site.make(
      'sequentialSwitch',
      ...['clock', 'reset'].map(site.input),
      ways,
      reset === 'now',
      ...['clock', 'reset'].map(site.trigger),
    );
    const isSpread = direction === 'one-to-many';
    for (const name of isSpread ? ['in'] : numbered('in', ways))
      site.call('sequentialSwitchFrom', made, site.input(name));
    for (const name of isSpread ? numbered('out', ways) : ['out'])
      site.call('sequentialSwitchTo', made, site.heard(name));
  },
  passes: ({ direction, ways }, isDriven) => {
    // Without a clock it stays at way 1.
    const closed = isDriven('clock') ? ways : 1;
    if (direction === 'many-to-one') {
      const terms = numbered('in', closed).map((input) => ({ input, gain: 1 }));
      return [{ output: 'out', offset: 0, terms, isOneOf: true }];
    }
    // All of the input, or none of it.
    const gains = closed === 1 ? [1] : [1, 0];
    return numbered('out', ways).map((output, k) => ({
      output,
      offset: 0,
      terms: k < closed ? gains.map((gain) => ({ input: 'in', gain })) : [{ input: 'in', gain: 0 }],
      isOneOf: true,
    }));
  },
  example: `title: Sequential switch
about: The strokes of one channel go to three drums in turn; the same strokes move the switch on.
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [hit], gate: 8 ms, patterns: { groove: { hit: "x-xx-x-x" } }, song: [groove] }
  split: { kind: multiple }
  turns: { kind: sequential-switch, ways: 3 }
  low:   { kind: resonator, at-zero: 90 Hz }
  mid:   { kind: resonator, at-zero: 130 Hz }
  high:  { kind: resonator, at-zero: 190 Hz }
  sum:   { kind: mixer }
  out:   { kind: output }
cables:
  - drums.hit   -> split.in
  - split.out-1 -> turns.clock
  - split.out-2 -> turns.in
  - turns.out-1 -> low.strike
  - turns.out-2 -> mid.strike
  - turns.out-3 -> high.strike
  - low.out     -> sum.in-1
  - mid.out     -> sum.in-2
  - high.out    -> sum.in-3
  - sum.out     -> out.left
`,
});
