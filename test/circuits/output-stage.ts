/** The stage that a rack puts behind an output, as a separate kind, so that it is tested as the kinds are. */

import { pulseLength, risePerSample } from '../../src/engine/wiring.ts';
import { type Definition, define } from '../../src/modules/definition.ts';
import { plain, volts } from '../../src/modules/facts.ts';
import { jackIn, jackOut } from '../../src/modules/jacks.ts';

const level = { type: 'voltage', min: -12, max: 12 } as const;
const time = { type: 'time', min: 0, max: 1, fallback: 0 } as const;

export const outputStage: Definition = define({
  kind: 'output-stage',
  about: 'What stands between a circuit and its jack.',
  role: 'circuit',
  settings: {
    'from-low': { ...level, fallback: 0, about: 'V of the circuit at rest.' },
    'from-high': { ...level, fallback: 5, about: 'V of the circuit that is on.' },
    low: { ...level, fallback: 0, about: 'V at the jack at rest.' },
    high: { ...level, fallback: 4.2, about: 'V at the jack that is on.' },
    rise: { ...time, about: 'From 10 to 90 %.' },
    width: { ...time, about: 'How long a pulse lasts.' },
  },
  jacks: () => [
    jackIn('in', 'gate', 'What the circuit gives.', plain()),
    jackOut('out', 'gate', 'What the jack gives.', volts(0, 5)),
  ],
  create: (values, site) => {
    const { low, high, rise, width } = values;
    const from = { low: values['from-low'], high: values['from-high'] };
    const stage = { from, rise, width, isFixed: false };
    site.make(
      'outputStage',
      site.input('in'),
      site.output('out'),
      from.low,
      from.high,
      low,
      high,
      pulseLength(stage, site.sampleRate),
      risePerSample(stage, site.sampleRate),
    );
  },
  example: '',
});
