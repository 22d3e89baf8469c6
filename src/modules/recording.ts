/**
 * Recording: plays a WAV file of the user's from a trigger.
 *
 *   out = 5 V x 10^((gain + accent x volts at accent/5 V)/20) x what the file holds at its place
 *   the place starts at `start` and goes by file rate/sample rate x 2^(pitch + tune/12) a sample
 *
 * Volts at pitch move it all the time, those at accent are taken at the trigger. Full scale in the file
 * is 5 V. It plays to its end, or to `end`, whatever the gate does; a trigger meanwhile starts it again,
 * and the sound that was playing fades out in 1 ms, as it also does before `end`.
 *
 * Between samples it is read by the kernel of dsp/resampling.ts, whose cutoff goes down as the pitch
 * goes up, so that nothing folds back: flat to 0.9 of half the lower of both rates, aliases 100 dB
 * down. At its own rate and pitch it plays the very samples of the file.
 *
 * Source: dsp/resampling.ts; volts to pitch as in all of Forehear. The rest is common practice, no
 * source.
 * Deviation: the place moves by at most 64 samples of the file in one sample of the engine.
 */

import { define, type Recorded } from './definition.ts';
import { exp2 } from './dsp/math.ts';
import { resamplingKernel } from './dsp/resampling.ts';
import { voltageTrigger } from './facts.ts';
import { jackIn, jackOut } from './jacks.ts';

/** V at full scale of the file. */
const FULL_SCALE = 5;
/** V of a full accent. */
const WHOLE_ACCENT = 5;
/** s, the fade-out of a sound that is cut off. */
const FADE = 0.001;

/** One sample of silence. */
const NOT_RECORDED: Recorded = {
  path: '',
  sampleRate: 48_000,
  channels: [new Float64Array(1)],
  toJSON: () => '',
};

export const recording = define({
  kind: 'recording',
  alsoCalled: ['sampler', 'wav', 'player'],
  about: 'Plays a WAV file of your own from a trigger, as it is or at another pitch.',
  settings: {
    file: {
      type: 'recording',
      fallback: NOT_RECORDED,
      about: 'The WAV file, from the folder of the file that names it.',
    },
    side: {
      type: 'choice',
      options: ['both', 'left', 'right'],
      fallback: 'both',
      about: 'Of a stereo file: the mean of both sides, or one. A mono file has one for all.',
    },
    start: {
      type: 'time',
      min: 0,
      max: 60,
      fallback: 0,
      about: 'Where in the file it starts.',
    },
    end: {
      type: 'time',
      min: 0,
      max: 60,
      fallback: 0,
      about: 'Where in the file it stops; 0 s is its own end.',
    },
    tune: {
      type: 'interval',
      min: -60,
      max: 60,
      fallback: 0,
      about: 'Interval added to the pitch.',
    },
    gain: {
      type: 'decibel',
      min: -60,
      max: 24,
      fallback: 0,
      about: 'Level: at 0 dB full scale in the file is 5 V.',
    },
    accent: {
      type: 'decibel',
      min: -24,
      max: 24,
      fallback: 6,
      about: 'How much louder a stroke is with 5 V at accent.',
    },
  },
  clashes: ({ file, start, end }) => {
    const [first = new Float64Array()] = file.channels;
    const seconds = first.length / file.sampleRate;
    if (file !== NOT_RECORDED && start >= seconds)
      return [
        {
          setting: 'start',
          message: '"start" is not before the end of the file, so nothing would be heard',
          expected: `a time under ${Math.round(seconds * 1e6) / 1000} ms, which the file lasts`,
        },
      ];
    if (end > 0 && end <= start)
      return [
        {
          setting: 'end',
          message: '"end" is not after "start", so nothing would be heard',
          expected: 'a later time, or 0 s for the end of the file',
        },
      ];
    return [];
  },
  needs: () => [{ inputs: ['trigger'], otherwise: 'never starts' }],
  jacks: () => [
    jackIn('trigger', 'gate', 'Plays it from the start.', voltageTrigger(0)),
    jackIn('pitch', 'pitch', 'One volt an octave: 0 V plays it as it was recorded.'),
    jackIn('accent', 'control', 'Makes a stroke louder: taken when the trigger comes.'),
    jackOut('out', 'audio', 'The recording.'),
  ],
  role: 'circuit',
  create: (values, site) => {
    const { file, side, start, end } = values;
    const { sampleRate } = file;
    const list = sideOf(file, side);
    const length = list.length;
    const last = end > 0 ? Math.min(length, Math.round(end * sampleRate)) : length;
    site.make(
      'recording',
      ...['trigger', 'pitch', 'accent'].map(site.input),
      site.output('out'),
      site.trigger('trigger'),
      site.samples(list),
      site.samples(resamplingKernel()),
      Math.round(start * sampleRate),
      last,
      last < length ? FADE * sampleRate : 0,
      Math.round(FADE * site.sampleRate),
      (sampleRate / site.sampleRate) * exp2(values.tune / 12),
      FULL_SCALE,
      values.gain,
      values.accent / WHOLE_ACCENT,
    );
  },
  example: `title: Recording
about: A knock at the table, never twice at one pitch, its accents louder. It is so short that its file stands here; one of your own is named, as in sounds/knock.wav.
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [knock], gate: 10 ms, patterns: { groove: { knock: "xxXx-xXx" } }, song: [groove] }
  split: { kind: multiple }
  any:   { kind: random, range: 200 mV }
  knock: { kind: recording, file: "data:audio/wav;base64,UklGRmwAAABXQVZFZm10IBAAAAABAAEAQB8AAEAfAAABAAgAZGF0YUgAAACAtdjj17mSbE4/QVBog5morKaYhnVpY2RrdoKMkpSQioJ7dXN0d3yBhoiJh4SBfXt6e3x/gYOEhIOCgH9+fX5+f4CBgoKBgYA=" }
  out:   { kind: output }
cables:
  - drums.knock        -> split.in
  - split.out-1        -> knock.trigger
  - split.out-2        -> any.trigger
  - any.stepped        -> knock.pitch
  - drums.knock-accent -> knock.accent
  - knock.out          -> out.left
`,
});

/** The samples of a file that are played; 1.0 is full scale. */
export function sideOf({ channels }: Recorded, side: 'both' | 'left' | 'right'): Float64Array {
  const [left = new Float64Array(1), right = left] = channels;
  if (side === 'left' || channels.length < 2) return left;
  return side === 'right' ? right : left.map((sample, n) => 0.5 * (sample + (right[n] ?? 0)));
}
