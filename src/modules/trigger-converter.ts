/**
 * Trigger converter: turns voltage triggers into switch triggers and the other way round.
 *
 *   switch-out  = closed while voltage-in is on
 *   voltage-out = level while switch-in is on (pulled low), otherwise 0 V
 *
 * Many converters go one way only: they have the two jacks of that way.
 *
 * Each way is a comparator with hysteresis, so a slow or noisy edge switches once. A transistor
 * follows its input at once: the shortest pulse noticed is 0.
 *
 * Source: a transistor to ground and a comparator are common practice, no source.
 * Deviation: the transistor's own switching time (microseconds) and the slow rise of a switch line
 * through its pull-up and the cable's capacitance are left out; both are far under one sample.
 */

import { define, type Jack } from './definition.ts';
import { closure, switchTrigger, voltageTrigger, volts } from './facts.ts';
import { jackOut } from './jacks.ts';

interface Conversion {
  readonly name: 'voltage-to-switch' | 'switch-to-voltage';
  readonly input: string;
  readonly output: string;
}

const WAYS: readonly Conversion[] = [
  { name: 'voltage-to-switch', input: 'voltage-in', output: 'switch-out' },
  { name: 'switch-to-voltage', input: 'switch-in', output: 'voltage-out' },
];

const CIRCUITS = {
  both: 'triggerConverter',
  'voltage-to-switch': 'voltageToSwitch',
  'switch-to-voltage': 'switchToVoltage',
};

export const triggerConverter = define({
  kind: 'trigger-converter',
  about:
    'Turns a voltage trigger into a switch trigger, and a switch trigger into a voltage trigger. ' +
    'The two ways are independent, and hardware may have only one of them.',
  settings: {
    way: {
      type: 'choice',
      options: ['both', 'voltage-to-switch', 'switch-to-voltage'],
      fallback: 'both',
      about:
        'Which ways it goes; a way that it does not go has no jacks. A patch need not say: a rack does, for ' +
        'a unit that goes one way only.',
    },
    level: {
      type: 'voltage',
      min: 1,
      max: 12,
      fallback: 5,
      about: 'High voltage of voltage-out.',
    },
  },
  needs: ({ way }) =>
    WAYS.filter((one) => goes(way, one)).map(({ input, output }) => ({
      inputs: [input],
      otherwise: 'never starts',
      output,
    })),
  gates: (output) => {
    const from = WAYS.filter((one) => one.output === output).map(({ input }) => input);
    return {
      inputs: from,
      isCopy: true,
      pulses: ([gate = []]) => gate,
      strokes: () => ({ from, late: 0, isAnswered: false }),
    };
  },
  jacks: ({ way, level }) => {
    const all: readonly Jack[] = [
      {
        name: 'voltage-in',
        direction: 'in',
        signal: 'gate',
        about: 'Voltage trigger that closes switch-out.',
        facts: voltageTrigger(0),
        rise: 'passes',
      },
      {
        name: 'switch-in',
        direction: 'in',
        signal: 'switch',
        about: 'Switch trigger that raises voltage-out.',
        facts: switchTrigger(0),
        rise: 'passes',
      },
      jackOut('switch-out', 'switch', 'Closed to ground while voltage-in is on.', closure()),
      jackOut(
        'voltage-out',
        'gate',
        'At the level while switch-in is on, otherwise at 0 V.',
        volts(0, level),
      ),
    ];
    const there = WAYS.filter((one) => goes(way, one)).flatMap(({ input, output }) => [
      input,
      output,
    ]);
    return all.filter(({ name }) => there.includes(name));
  },
  role: 'circuit',
  create: ({ way, level }, site) => {
    const ways = WAYS.filter((one) => goes(way, one));
    const inputs = ways.map(({ input }) => input);
    const outputs = ways.map(({ output }) => output);
    site.make(
      CIRCUITS[way],
      ...inputs.map(site.input),
      ...outputs.map(site.heard),
      ...(way === 'voltage-to-switch' ? [] : [level]),
      ...inputs.map(site.trigger),
    );
  },
  example: `title: Trigger converter
about: A rhythm's gate closes a switch that fires a switch-triggered envelope.
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [hat], patterns: { groove: { hat: "x-x-x-x-" } }, song: [groove] }
  adapt: { kind: trigger-converter }
  shape: { kind: envelope, trigger: switch, release: 60 ms }
  hiss:  { kind: noise }
  level: { kind: amplifier }
  out:   { kind: output }
cables:
  - drums.hat        -> adapt.voltage-in
  - adapt.switch-out -> shape.trigger
  - hiss.white       -> level.in
  - shape.out        -> level.control
  - level.out        -> out.left
`,
});

/** Whether a converter has this way. */
function goes(way: string, { name }: Conversion): boolean {
  return way === 'both' || way === name;
}
