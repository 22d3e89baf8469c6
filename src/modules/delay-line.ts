/**
 * Delay line: sound comes out a set time after it went in, and may go round again.
 *
 *   out    = (1 - mix) in + mix y
 *   y(t)   = L{ w(t - line) },  w = in + return + feedback y
 *   time in use = time x 2^(-tune/12) x 2^(-V at pitch) x (1 + control-amount x V at control / 5 V)
 *   L      = 1/(1 + j f/damping), a low-pass of 6 dB an octave; at 22 kHz there is none
 *   line   = time in use, less what L delays the frequency 1/(time in use) by: atan(f/damping)/(2 pi f)
 *
 * So a loop rings at 1/(time in use) and its multiples, or halfway between them where feedback is
 * negative, and a partial at f falls by 60 dB in time x ln 1000/-ln(feedback |L(f)|). Its time unless
 * set is the period of C2: with the same volts at pitch it sounds the note that an oscillator does.
 *
 * The line is a row of cells on a clock, as a bucket brigade is: a sound comes out when the clock has
 * moved it through every cell of the line. So a change of time never jumps: the sound in the line comes
 * out faster or slower, at another pitch, and a loop has its new pitch at once.
 *
 * A cable that goes back is a sample late. What comes in at `return` goes into the line a sample
 * earlier to make up for it, so that a loop outside is as long as one inside. Between two samples the
 * sound is Lagrange's polynomial through eight of them: exact at the samples, and at no frequency
 * louder than what went in, so that no feedback setting makes it grow. The input is clipped at the
 * supply rails.
 *
 * Source: Sangster & Teer, "Bucket-brigade electronics", IEEE J. Solid-State Circuits SC-4 (1969) 131:
 * the clocked line; Karplus & Strong, "Digital synthesis of plucked-string and drum timbres", Computer
 * Music Journal 7(2) (1983) 43: a plucked sound from noise in a loop; Jaffe & Smith, "Extensions of the
 * Karplus-Strong plucked-string algorithm", the same issue, 56: making up for the delay of the filter;
 * Laakso, Valimaki, Karjalainen & Laine, "Splitting the unit delay", IEEE Signal Processing Magazine
 * 13(1) (1996) 30: Lagrange's interpolation and its gain (all from memory).
 * Deviation: time in use is never under 4 samples, over 10 s, or over four times the time set.
 * Deviation: halfway between two samples it is 0.2 dB down at a quarter of the sample rate and 3 dB at
 * 0.38 of it, and nothing at a whole sample: a bright loop is a little duller at some pitches.
 * Deviation: no hiss, no distortion and no sampling of its own, as a real row of cells has.
 * Deviation: steady volts go round too, where a circuit would block them: pluck with what swings
 * about 0 V. Partials far above 1/time come out a little sharp where damping is near the pitch.
 */

import { define } from './definition.ts';
import { exp2 } from './dsp/math.ts';
import { jackIn, jackOut } from './jacks.ts';

/** s: C2 in equal temperament is 440 Hz x 2^(-33/12). */
const C2_PERIOD = 1 / 65.40639132514966;
/** The most that volts may lengthen the time to: as a multiple of the time set, and in s. */
const MOST_TIMES = 4;
const LONGEST = 10;
/** Samples, at least. */
const SHORTEST_LINE = 4;
/** Hz; from here on there is no low-pass. */
const UNDAMPED = 22_000;

const settings = {
  time: {
    type: 'time',
    min: 0.0001,
    max: 5,
    fallback: C2_PERIOD,
    about: 'From in to out with 0 V at pitch and control. The period of C2 unless set.',
    moved: { jack: 'pitch', halved: true },
  },
  tune: {
    type: 'interval',
    min: -60,
    max: 60,
    fallback: 0,
    about: 'Interval added to the pitch of a loop: 12 st halves the time.',
  },
  'control-amount': {
    type: 'percent',
    min: -1,
    max: 1,
    fallback: 1,
    about: 'How far control moves the time: at 100 %, 5 V double it and -5 V leave nothing of it.',
    input: 'control',
  },
  feedback: {
    type: 'percent',
    min: -1,
    max: 1,
    fallback: 0,
    rings: true,
    about:
      'How much of what comes out goes round again: a loop at C3 falls by 60 dB in 0.5 s at 90 %, in ' +
      '5 s at 99 %. Negative: upside down, an octave lower.',
  },
  damping: {
    type: 'frequency',
    min: 20,
    max: UNDAMPED,
    fallback: UNDAMPED,
    about: 'Above this each passage is weaker, by 6 dB an octave; 22 kHz: no such low-pass.',
    tone: { as: 'colour' },
  },
  mix: {
    type: 'percent',
    min: 0,
    max: 1,
    fallback: 1,
    about: 'How much of out is late; the rest is the input itself.',
  },
} as const;

export const delayLine = define({
  kind: 'delay-line',
  alsoCalled: ['echo', 'chorus', 'flanger'],
  about:
    'Delays sound by a time that volts can move: an echo, a comb of notches, a chorus; as a loop, a ' +
    'plucked string or a tube.',
  settings,
  needs: () => [{ inputs: ['in', 'return'], otherwise: 'gives nothing' }],
  carries: { out: ['in', 'return'] },
  delayed: ({ time, tune, 'control-amount': amount }) => {
    const { set, longest } = timesOf({ time, tune });
    return {
      longest,
      shortest: SHORTEST_LINE,
      asked: {
        pitch: (volts) => set * exp2(-volts),
        control: (volts) => set * (1 + (amount * volts) / 5),
      },
    };
  },
  effect: 'Delayed',
  jacks: () => [
    jackIn('in', 'audio', 'What is delayed, or plucks the loop.'),
    jackIn('return', 'audio', 'Added to in: what comes back from a loop through other modules.'),
    jackIn(
      'pitch',
      'pitch',
      'Halves the time with each volt, so that a loop follows at one volt an octave.',
    ),
    jackIn('control', 'control', 'Lengthens the time in proportion to its volts.'),
    jackOut('out', 'audio', 'The late sound, with as much of the input as mix leaves.'),
  ],
  role: 'circuit',
  create: (values, site) => {
    const { damping } = values;
    const { set, longest: most } = timesOf(values);
    const moves = site.patched('pitch') || site.patched('control');
    const longest = moves ? most : Math.min(set, most);
    site.make(
      'delayLine',
      ...['in', 'return', 'pitch', 'control'].map(site.input),
      site.output('out'),
      set * site.sampleRate,
      longest * site.sampleRate,
      moves,
      values['control-amount'],
      values.feedback,
      // As the filter: never above 0.45 of the sample rate.
      damping < UNDAMPED ? Math.min(damping / site.sampleRate, 0.45) : 0,
      values.mix,
    );
  },
  // Feedback raises the level, the more the longer it rings.
  passes: ({ feedback, mix }) =>
    feedback === 0
      ? [
          {
            output: 'out',
            offset: 0,
            terms: [
              { input: 'in', gain: 1 },
              { input: 'return', gain: mix },
            ],
          },
        ]
      : [],
  example: `title: Delay line
about: A burst of noise as long as a pluck goes round a loop that is tuned to C3, as a string does.
modules:
  drums:  { kind: rhythm, tempo: 100 bpm, channels: [pluck], gate: 8 ms, patterns: { groove: { pluck: "x---x--x" } }, song: [groove] }
  hiss:   { kind: noise, level: 3 V }
  shape:  { kind: envelope, sustain: 100 %, release: 6 ms }
  burst:  { kind: amplifier }
  finger: { kind: filter, cutoff: 2 kHz, q: 0.5 }
  string: { kind: delay-line, tune: 12 st, feedback: 99 %, damping: 6 kHz }
  out:    { kind: output }
cables:
  - drums.pluck -> shape.trigger
  - shape.out   -> burst.control
  - hiss.white  -> burst.in
  - burst.out   -> finger.in
  - finger.band -> string.in
  - string.out  -> out.left
`,
});

/**
 * Gives the time at 0 V, and the longest time that volts can make, s.
 * @param settings `time` in s, `tune` in semitones.
 */
function timesOf({ time, tune }: { readonly time: number; readonly tune: number }): {
  readonly set: number;
  readonly longest: number;
} {
  const set = time * exp2(-tune / 12);
  return { set, longest: Math.min(MOST_TIMES * set, LONGEST) };
}
