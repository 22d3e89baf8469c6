/** Small kinds of module for the tests of the reader, independent of the real ones. */

import { type Definition, define, type Jack } from '../../src/modules/definition.ts';
import { closure, plain, switchTrigger, voltageTrigger, volts } from '../../src/modules/facts.ts';
import type { Channel } from '../../src/modules/score.ts';

const out = (name: string): Jack => ({
  name,
  direction: 'out',
  signal: 'audio',
  about: 'Sound.',
  facts: volts(-5, 5),
});
const into = (name: string): Jack => ({
  name,
  direction: 'in',
  signal: 'control',
  about: 'Control voltage.',
  facts: plain(),
});

const hiss = define({
  kind: 'hiss',
  about: 'Noise.',
  settings: {
    level: { type: 'voltage', min: 0, max: 5, fallback: 1.25, about: 'Level, rms.' },
    q: { type: 'number', min: 0.5, max: 20, fallback: 0.7, about: 'Sharpness.' },
    cutoff: { type: 'frequency', min: 5, max: 40_000, fallback: 1000, about: 'Corner.' },
    tune: { type: 'interval', min: -60, max: 60, fallback: 0, about: 'Tuning.' },
    trim: { type: 'decibel', min: -60, max: 12, fallback: 0, about: 'Trim.' },
    load: { type: 'resistance', min: 1, max: 1e7, fallback: 100_000, about: 'Load.' },
  },
  jacks: () => [into('in'), out('white'), out('pink')],
  role: 'circuit',
  example: '',
});

const player = define({
  kind: 'player',
  about: 'A sound of a file.',
  settings: {
    file: {
      type: 'recording',
      fallback: { path: '', sampleRate: 8000, channels: [], toJSON: () => '' },
      about: 'The file.',
    },
  },
  jacks: () => [out('out')],
  role: 'circuit',
  example: '',
});

const shaper = define({
  kind: 'shaper',
  about: 'Envelope.',
  settings: {
    trigger: {
      type: 'choice',
      options: ['voltage', 'switch'],
      fallback: 'voltage',
      about: 'Kind of trigger.',
    },
    decay: {
      type: 'time',
      min: 0,
      max: 60,
      fallback: 0.1,
      timeConstants: 5,
      about: 'Decay.',
    },
    hold: { type: 'time', min: 0, max: 10, fallback: 0, about: 'Hold.' },
    sustain: { type: 'percent', min: 0, max: 1, fallback: 0, about: 'Sustain.' },
    loop: { type: 'flag', fallback: false, about: 'Starts again by itself.' },
    window: { type: 'span', fallback: { unit: 'steps', value: 0.5 }, about: 'Window.' },
  },
  jacks: ({ trigger }) => [
    {
      name: 'trigger',
      direction: 'in',
      signal: 'gate',
      about: 'Starts it.',
      facts: trigger === 'switch' ? switchTrigger() : voltageTrigger(),
    },
    out('out'),
  ],
  role: 'circuit',
  example: '',
});

const joint = define({
  kind: 'joint',
  about: 'Jacks joined.',
  settings: { jacks: { type: 'count', min: 2, max: 8, fallback: 3, about: 'Jacks.' } },
  jacks: ({ jacks }) =>
    Array.from({ length: jacks }, (_, i): Jack => {
      return { name: `j${i + 1}`, direction: 'through', about: 'One of the jacks.' };
    }),
  role: 'passive',
  example: '',
});

const sequencer = define({
  kind: 'sequencer',
  about: 'Plays patterns.',
  settings: {
    channels: { type: 'channels', about: 'Channels.' },
    patterns: { type: 'patterns', about: 'Patterns.' },
    song: { type: 'song', about: 'Song.' },
    tempo: { type: 'tempo', min: 1, max: 999, fallback: 120, about: 'Tempo.' },
    swing: { type: 'percent', min: 0.5, max: 0.75, fallback: 0.5, about: 'Swing.' },
    chance: { type: 'percent', min: 0, max: 1, fallback: 0.5, about: 'Chance.' },
    flam: { type: 'time', min: 0.001, max: 0.5, fallback: 0.02, about: 'Flam.' },
    gate: { type: 'span', fallback: { unit: 'seconds', value: 0.005 }, about: 'Gate.' },
    clock: { type: 'rate', fallback: { count: 4, per: 'quarter' }, about: 'Clock.' },
  },
  jacks: (values) => [
    ...(values.channels as readonly Channel[]).flatMap(({ name }) => [
      out(name),
      out(`${name}-accent`),
    ]),
    out('clock'),
    out('run'),
    out('start'),
  ],
  role: 'score',
  example: '',
});

const adapter = define({
  kind: 'adapter',
  about: 'Makes a switch closure of a voltage.',
  settings: {},
  jacks: () => [
    { ...into('voltage-in'), signal: 'gate', facts: voltageTrigger() } as Jack,
    { ...out('switch-out'), signal: 'switch', facts: closure() } as Jack,
  ],
  role: 'circuit',
  example: '',
});

const speakers = define({
  kind: 'speakers',
  about: 'Where the sound is taken.',
  settings: {},
  jacks: () => [into('left'), into('right')],
  role: 'output',
  example: '',
});

export const TEST_KINDS: readonly Definition[] = [
  hiss,
  player,
  shaper,
  joint,
  sequencer,
  adapter,
  speakers,
];
