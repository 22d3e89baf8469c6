/**
 * Rhythm sequencer: plays patterns on channels of gates, with accents, a clock, `run` and `start`.
 * When its outputs change is worked out by `timing`; this circuit puts those volts on its jacks.
 *
 * An accent output is a control voltage that holds from stroke to stroke: each stroke of its channel
 * sets it, an accented one to `accent-level`, a ghost stroke to `ghost-level`, a flam's grace stroke to
 * `grace-level`, any other to 0 V. So it has three strengths besides 0 V, and stays the same between strokes.
 *
 * With a plug in `clock-in` it has no tempo of its own: it plays as pulses come. Swing, ratchets, flams and
 * steps between pulses go by the time between the last two. `timing/following.ts` says what happens at the
 * first pulse, when the tempo changes, at `run-in` and at `reset-in`.
 *
 * Deviation: gates switch within one sample. A real gate takes some microseconds to rise.
 */

import type { Jack, Signal } from './definition.ts';
import { type Definition, define } from './definition.ts';
import { largest } from './dsp/extremes.ts';
import { type OutputFacts, voltageTrigger, volts } from './facts.ts';
import type { Channel, Pattern } from './score.ts';

/** The most that a patch can ask for. */
const MOST_CHANNELS = 64;
const MOST_STEPS = 1024;

/** The inputs whose pulses it follows. */
const followed: readonly Jack[] = [
  {
    name: 'clock-in',
    direction: 'in',
    signal: 'gate',
    about: 'With a plug in it each rising edge is a pulse, and the pulses set the time.',
    facts: voltageTrigger(),
    leads: true,
  },
  {
    name: 'run-in',
    direction: 'in',
    signal: 'gate',
    about: 'With a plug in it pulses count only while it is high.',
    facts: voltageTrigger(),
    rise: 'passes',
  },
  {
    name: 'reset-in',
    direction: 'in',
    signal: 'gate',
    about: 'The next pulse is the first of the song.',
    facts: voltageTrigger(),
    rise: 'resets',
  },
];

export const rhythm: Definition = define({
  kind: 'rhythm',
  alsoCalled: ['drums', 'drum-sequencer', 'trigger-sequencer', 'drum'],
  about:
    'A rhythm sequencer: patterns of hits, accents, flams and ratchets on any number of channels, ' +
    'in the order of a song, with a clock and a start pulse for other sequencers.',
  settings: {
    channels: { type: 'channels', about: 'Names of the channels; each has a gate and an accent.' },
    patterns: {
      type: 'patterns',
      about: 'The patterns, by name: for each channel a line of steps.',
    },
    song: { type: 'song', about: 'The patterns in the order in which they are played.' },
    notes: {
      type: 'notes',
      about:
        'Note numbers of channels in a MIDI file, 0 to 127; others follow from their names, such as ' +
        'kick, snare and hat.',
    },
    'count-in': {
      type: 'count',
      min: 0,
      max: 16,
      fallback: 0,
      about:
        'Bars before the music in which run is high and the clock runs, and no channel plays; start ' +
        'comes after them. Bar 1 is the first bar of the music.',
    },
    tempo: {
      type: 'tempo',
      min: 1,
      max: 999,
      fallback: 120,
      about: 'Quarter notes a minute.',
    },
    swing: {
      type: 'percent',
      min: 0.5,
      max: 0.75,
      fallback: 0.5,
      about:
        'Where the off-step of each pair of steps comes: 50 % is straight, 66.667 % triplet. ' +
        'Pairs are counted from the first step of the pattern.',
    },
    chance: {
      type: 'percent',
      min: 0,
      max: 1,
      fallback: 0.5,
      about: 'How likely a stroke marked ? is played.',
    },
    flam: {
      type: 'time',
      min: 0.001,
      max: 0.1,
      fallback: 0.022,
      about: 'How long before the main stroke of a flam its grace stroke comes.',
    },
    clock: {
      type: 'rate',
      fallback: { count: 1, per: 'step' },
      about:
        'Pulses at the clock output: per quarter they are straight, per step they follow the swing.',
    },
    follows: {
      type: 'rate',
      fallback: { count: 4, per: 'quarter' },
      about:
        'What a pulse at clock-in is: so many are a quarter note, or a step. With a plug in clock-in ' +
        'the pulses set the time, and tempo says only what to expect: how long the song is taken to ' +
        'be, and the time between pulses until the second has come.',
    },
    settle: {
      type: 'time',
      min: 0,
      max: 0.1,
      fallback: 0.0005,
      about:
        'A pulse at clock-in and one at reset-in closer together than this race, which the check reports.',
    },
    gate: {
      type: 'span',
      fallback: { unit: 'seconds', value: 0.008 },
      about:
        'How long a gate is high: a time, or a share of its step (in a ratchet, of its stroke). ' +
        'A gate still high at the next stroke of its channel stays high.',
    },
    level: {
      type: 'voltage',
      min: 1,
      max: 12,
      fallback: 5,
      about: 'High level of the gates, clock, run and start.',
    },
    'accent-level': {
      type: 'voltage',
      min: 0,
      max: 10,
      fallback: 5,
      about: 'Level of an accent output from an accented stroke to the next stroke without.',
    },
    'ghost-level': {
      type: 'voltage',
      min: -10,
      max: 10,
      fallback: -4,
      about:
        'Level of an accent output at a ghost stroke; under 0 V it is softer than a plain stroke, ' +
        'if what it drives adds volts of its own, as an attenuator with an offset does.',
    },
    'grace-level': {
      type: 'voltage',
      min: -10,
      max: 10,
      fallback: 0,
      about:
        'Level of an accent output at the grace stroke of a flam; under 0 V it can be made softer ' +
        'than a plain stroke.',
    },
    'beats-per-bar': {
      type: 'count',
      min: 1,
      max: 16,
      fallback: 4,
      about: 'Quarter notes in a bar, for counting and cue points; patterns may have any length.',
    },
  },
  role: 'score',
  limits: [
    'Following clock-in, it notices a pulse after 1 ms, as other inputs do, and plays what is between two ' +
      'pulses by the time between the two before: swing, ratchets, flams, steps between pulses. When the ' +
      'tempo changes these are late or early until the next pulse, at which those still to come are played. ' +
      'Until the second pulse it goes by its tempo.',
    'A reset waits for the next pulse, which is the first of the song, without a count-in. While run-in is ' +
      'low pulses pass, and strokes between pulses are dropped; then it goes on where it stood.',
    'Only playing can tell how long a song that follows pulses lasts. Its length and --bars are those at its ' +
      'own tempo, unless another rhythm keeps its own time; a clip of it has no cue points. The check tells ' +
      'where the pulses give a different tempo. A loop of it repeats without a seam only where the pulses do.',
  ],
  sizes: {
    channels: {
      about: 'Channels that it has.',
      most: MOST_CHANNELS,
      from: ['channels'],
      of: ({ channels }) => (channels as readonly Channel[]).length,
    },
    steps: {
      about: 'Steps that a pattern of it may have.',
      most: MOST_STEPS,
      from: ['patterns'],
      of: ({ patterns }) => largest((patterns as readonly Pattern[]).map(({ length }) => length)),
    },
  },

  jacks(values): readonly Jack[] {
    const { level } = values;
    const channels = values.channels as readonly Channel[];
    const grace = values['grace-level'];
    const ghosts = withGhosts(values.patterns as readonly Pattern[]);
    const gate = volts(0, level);
    // A level that no pattern plays is never sent.
    const accent = (channel: number): OutputFacts => {
      const ghost = ghosts.has(channel) ? values['ghost-level'] : 0;
      return volts(Math.min(0, grace, ghost), Math.max(values['accent-level'], grace, ghost));
    };
    const outputs: [signal: Signal, facts: OutputFacts, about: string][] = [];
    for (const { name } of channels)
      outputs.push(['gate', gate, `Gate of each stroke of ${name}.`]);
    for (const [channel, { name }] of channels.entries())
      outputs.push(['control', accent(channel), `Accent of ${name}, held.`]);
    outputs.push(
      ['gate', gate, 'Clock for other sequencers: pulses of 5 ms, or half its period.'],
      ['gate', gate, 'High while playing, the count-in too.'],
      ['gate', gate, 'One pulse of 5 ms at the first step.'],
    );
    const names = outputNames(channels);
    const sent = outputs.map(
      ([signal, facts, about], index): Jack => ({
        name: names[index] as string,
        direction: 'out',
        signal,
        about,
        facts,
      }),
    );
    return [...sent, ...followed];
  },

  create: (values, site) => {
    const made = site.make('rhythm');
    for (const name of outputNames(values.channels as readonly Channel[]))
      site.call('rhythmOutput', made, site.heard(name));
    site.play(made);
  },

  example: `title: Two bars of closed hat
modules:
  drums:
    kind: rhythm
    tempo: 92 bpm
    swing: 58 %
    channels: [hat]
    patterns:
      groove: { hat: "x-x-X-x- xgxgX-f-" }
      fill: { hat: "x-x-X-x- x-2-X?4-" }
    song: [groove, fill]
  hiss: { kind: noise, level: 2.5 V }
  shape: { kind: envelope, trigger: voltage, attack: 0.4 ms, decay: 55 ms, sustain: 0 %, release: 55 ms }
  level: { kind: amplifier, response: linear }
  # The accent output has three strengths: 5 V, 0 V and -4 V become 5 V, 3 V and 1.4 V.
  accent: { kind: attenuator, level: 40 %, offset: 3 V }
  touch: { kind: amplifier, response: linear }
  out: { kind: output }
cables:
  - drums.hat -> shape.trigger
  - shape.out -> level.control
  - hiss.white -> level.in
  - level.out -> touch.in
  - drums.hat-accent -> accent.in
  - accent.out -> touch.control
  - touch.out -> out.left
`,
});

/** The output jacks, in the order in which `timing/edges` counts them. */
function outputNames(channels: readonly Channel[]): readonly string[] {
  const names = channels.map(({ name }) => name);
  return [...names, ...names.map((name) => `${name}-accent`), 'clock', 'run', 'start'];
}

/** The channels that play a ghost stroke in some pattern. */
function withGhosts(patterns: readonly Pattern[]): ReadonlySet<number> {
  const lines = patterns.flatMap((pattern) => pattern.lines);
  const ghostly = lines.filter(({ steps }) => steps.some(({ ghost }) => ghost));
  return new Set(ghostly.map(({ channel }) => channel));
}
