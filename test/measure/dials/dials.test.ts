// What recordings show of dials, against the settings of our own renders, over a floor of noise; and
// recordings that show nothing.

import { describe, expect, it } from 'vitest';
import { type EnvelopeStage, envelopeStage } from '../../../src/measure/dials/envelope-stages.ts';
import { type FilterOutput, filterCorner } from '../../../src/measure/dials/filter-corner.ts';
import { gateTime } from '../../../src/measure/dials/gate-times.ts';
import { noiseLevel } from '../../../src/measure/dials/noise-colour.ts';
import type { MonoClip, NoReading } from '../../../src/measure/dials/reading.ts';
import { sharePassed } from '../../../src/measure/dials/share-passed.ts';
import { steadyPitch } from '../../../src/measure/dials/steady-pitch.ts';
import { stepRate } from '../../../src/measure/dials/step-rate.ts';
import { close } from '../../close.ts';
import { gaussian } from '../pulses/synthetic.ts';
import { attenuated, clipOf, clocked, filtered, recordedOf, sounding, struck } from './renders.ts';

/** The promise: 3 % of times and cutoffs, from renders with a noise floor. */
const PROMISED = { rel: 0.03, why: 'what calibrate promises of times and cutoffs' };

function told<T extends object>(reading: T | NoReading): T {
  if (typeof reading === 'string') throw new Error(reading);
  return reading;
}

interface Case {
  readonly stage: EnvelopeStage;
  readonly envelope: string;
  readonly seconds: number;
  readonly source: string;
  readonly gate?: string;
}

const STRUCK: readonly Case[] = [
  { stage: 'attack', envelope: 'attack: 2 ms', seconds: 0.002, source: 'volts' },
  { stage: 'attack', envelope: 'attack: 90 ms', seconds: 0.09, source: 'tone.sine' },
  { stage: 'attack', envelope: 'attack: 150 ms, curve: linear', seconds: 0.15, source: 'tone.saw' },
  { stage: 'decay', envelope: 'decay: 8 ms', seconds: 0.008, source: 'tone.sine' },
  // A long hold behind a short fall.
  { stage: 'decay', envelope: 'decay: 2.2 ms, sustain: 3 %', seconds: 0.0022, source: 'volts' },
  { stage: 'release', envelope: 'release: 400 ms', seconds: 0.4, source: 'hiss.pink' },
  { stage: 'decay', envelope: 'decay: 300 ms', seconds: 0.3, source: 'hiss.white' },
  { stage: 'decay', envelope: 'decay: 60 ms, sustain: 40 %', seconds: 0.06, source: 'volts' },
  { stage: 'decay', envelope: 'decay: 90 ms, curve: linear', seconds: 0.09, source: 'tone.saw' },
  // The ripple of a saw at its peak is not a lower hold.
  {
    stage: 'release',
    envelope: 'release: 131 ms, curve: linear',
    seconds: 0.131,
    source: 'tone.saw',
  },
  { stage: 'release', envelope: 'release: 12 ms', seconds: 0.012, source: 'tone.sine' },
  { stage: 'release', envelope: 'release: 250 ms', seconds: 0.25, source: 'hiss.white' },
  { stage: 'release', envelope: 'release: 120 ms, curve: linear', seconds: 0.12, source: 'volts' },
];

/** Other stages as whoever records one is told to set them. */
function bench({ stage, envelope }: Case): string {
  const rest = { attack: '1 ms', decay: '30 ms', sustain: stage === 'decay' ? '0 %' : '100 %' };
  const said = Object.entries({ ...rest, release: '60 ms' }).filter(
    ([name]) => !envelope.includes(`${name}:`),
  );
  return [envelope, ...said.map(([name, value]) => `${name}: ${value}`)].join(', ');
}

function recorded(one: Case, floorDb = -66): MonoClip {
  const isVolts = one.source === 'volts';
  const text = struck(bench(one), isVolts ? 'tone.sine' : one.source, '250 ms', 'x-----');
  return clipOf(text, { seconds: 1.2, floorDb, ...(isVolts && { jack: 'shape.out' }) });
}

describe('a stage of an envelope', () => {
  it.each(STRUCK)('has its time: $stage of $envelope in $source', (one) => {
    const heard = one.source === 'volts' ? 'volts' : 'sound';
    const reading = told(envelopeStage(recorded(one), one.stage, heard));
    close(reading.value, one.seconds, { ...PROMISED, unit: 's' });
    expect(reading.curve).toBe(one.envelope.includes('linear') ? 'linear' : 'exponential');
  });

  it.each([
    ['25 %', 0.25],
    ['60 %', 0.6],
    ['100 %', 1],
  ])('has its sustain of %s', (words, share) => {
    const one = {
      stage: 'sustain',
      envelope: `decay: 60 ms, sustain: ${words}`,
      source: 'tone.sine',
    };
    const reading = told(
      envelopeStage(recorded({ ...one, seconds: 0 } as Case), 'sustain', 'sound'),
    );
    close(reading.value, share, {
      abs: 0.015,
      unit: 'of the peak',
      why: 'half of the promise of 3 %',
    });
  });

  const tone = {
    stage: 'decay',
    envelope: 'decay: 60 ms',
    seconds: 0.06,
    source: 'tone.sine',
  } as const;
  const sound = recorded(tone);
  const volts = recorded({ ...tone, source: 'volts' });
  const through = (clip: MonoClip, change: (value: number, n: number) => number): MonoClip => ({
    ...clip,
    samples: clip.samples.map(change),
  });
  const coupled = (): MonoClip => {
    let [state, before] = [0, 0];
    return through(volts, (value) => {
      state = 0.999 * (state + value - before);
      before = value;
      return state;
    });
  };

  it.each<[NoReading, MonoClip, 'volts' | 'sound']>([
    ['empty', { sampleRate: 48_000, samples: new Float64Array(0) }, 'sound'],
    ['silent', through(sound, (value) => 1e-5 * value), 'sound'],
    ['clipped', through(sound, (value) => Math.max(-1, Math.min(1, 20 * value))), 'sound'],
    ['too-short', { ...sound, samples: sound.samples.subarray(0, 1000) }, 'sound'],
    ['no-rest', { ...sound, samples: sound.samples.subarray(4900, 12_000) }, 'sound'],
    ['not-volts', sound, 'volts'],
    ['not-sound', volts, 'sound'],
    ['capacitor', coupled(), 'volts'],
    ['too-fast', recorded({ ...tone, envelope: 'decay: 1 ms' }), 'sound'],
    ['in-noise', recorded(tone, -16), 'sound'],
  ])('tells nothing where it is %s', (why, clip, heard) => {
    expect(envelopeStage(clip, 'decay', heard)).toBe(why);
  });

  it('tells no release of what is not held, and none of music', () => {
    const random = gaussian(3);
    const walk = new Float64Array(96_000);
    for (let n = 4800; n < walk.length; n++)
      walk[n] = 0.3 * Math.sin(n / 9) * Math.abs(Math.sin(n / 9000)) ** 3 + 0.001 * random();
    expect(['other-shape', 'no-rest', 'no-hold', 'in-noise']).toContain(
      envelopeStage({ sampleRate: 48_000, samples: walk }, 'release', 'sound'),
    );
  });
});

describe('a glide', () => {
  it.each([
    ['rise', 'exponential', 0.03],
    ['rise', 'linear', 0.22],
    ['fall', 'exponential', 0.2],
    ['fall', 'linear', 0.012],
  ] as const)('has its %s, %s, of %d s', (stage, curve, seconds) => {
    const one = `kind: slew, ${stage}: ${1000 * seconds} ms, curve: ${curve}`;
    const clip = clipOf(clocked('rate: 1 Hz', one), {
      seconds: 2,
      sampleRate: 8000,
      jack: 'one.out',
      floorDb: -60,
    });
    const reading = told(envelopeStage(clip, stage, 'volts'));
    expect(reading.curve).toBe(curve);
    // 5 V behind 1 kohm into 100 kohm twice are 4.90 V; a straight glide takes its time for 5 V.
    const whole = curve === 'linear' ? 4.9 / 5 : 1;
    close(reading.value, whole * seconds, { ...PROMISED, unit: 's' });
    close(10 * (reading.peak ?? 0), 4.9, { rel: 0.01, unit: 'V', why: 'the level of the clock' });
  });
});

describe('a low-pass gate', () => {
  it.each([
    ['tone.sine', 0.15, 'sound'],
    ['hiss.pink', 0.4, 'sound'],
    ['beat.out', 0.06, 'volts'],
  ] as const)('with %s has its fall of %d s', (source, seconds, heard) => {
    const text = `modules:
  beat: { kind: clock, rate: 0.1 Hz, duty: 90 %, resistance: 0 ohm }
  drums: { kind: clock, rate: 1 Hz, duty: 20 %, resistance: 0 ohm }
  shape: { kind: envelope }
  tone: { kind: oscillator, at-zero: 1 kHz }
  hiss: { kind: noise, level: 1 V }
  one: { kind: low-pass-gate, fall: ${1000 * seconds} ms, mode: ${heard === 'volts' ? 'both' : 'level'} }
  out: { kind: output }
cables: [drums.out -> one.control, drums.out -> shape.trigger, ${source} -> one.in, one.out -> out.left]
`;
    const isVolts = heard === 'volts';
    const clip = clipOf(text, {
      seconds: 3,
      sampleRate: 16_000,
      ...(isVolts && { jack: 'one.out' }),
    });
    const reading = told(envelopeStage(clip, 'shutting', heard));
    close(reading.value, seconds, { ...PROMISED, unit: 's' });
  });
});

describe('a gate', () => {
  const beat = clipOf(clocked('rate: 7.3 Hz, duty: 31 %'), { seconds: 2, jack: 'beat.out' });
  it.each([
    ['rate', 7.3],
    ['length', 0.31 / 7.3],
    ['duty', 0.31],
  ] as const)('has its %s', (wanted, value) => {
    const reading = told(gateTime(beat, wanted));
    close(reading.value, value, { rel: 0.002, unit: '', why: 'edges lie on samples: 10 us each' });
    close(reading.value, value, {
      abs: 3 * reading.error,
      unit: '',
      why: 'three times the error that it states',
    });
  });

  it('steps in volts that are held, and not in what moves', () => {
    const stepped = (jack: string): MonoClip =>
      clipOf(sounding('kind: random, clock: own, rate: 40 Hz', jack), {
        seconds: 1,
        jack: `one.${jack}`,
      });
    close(told(stepRate(stepped('stepped'))).value, 40, {
      rel: 5e-4,
      unit: 'Hz',
      why: 'steps lie on samples',
    });
    expect(stepRate(stepped('smooth'))).toBe('no-steps');
    const tone = clipOf(sounding('kind: oscillator, at-zero: 220 Hz', 'sine'), { seconds: 1 });
    expect(stepRate(tone)).toBe('no-steps');
  });

  it('is none of a tone, of one pulse, or of pulses that are not alike', () => {
    const tone = clipOf(sounding('kind: oscillator, at-zero: 220 Hz', 'sine'), { seconds: 1 });
    expect(gateTime(tone, 'rate')).toBe('no-pulses');
    const samples = new Float64Array(48_000).map((_, n) => {
      const at = n % 12_000;
      return at > 4800 && at < (n < 20_000 ? 6000 : 8000) ? 0.5 : 0;
    });
    const clip = { sampleRate: 48_000, samples };
    expect(gateTime(clip, 'length')).toBe('uneven');
    expect(gateTime({ ...clip, samples: samples.subarray(0, 12_000) }, 'rate')).toBe('too-short');
  });
});

describe('what an attenuator passes', () => {
  it.each([
    ['tone.sine', 0.37],
    ['hiss.pink', 0.062],
  ])('of %s is its level', (source, level) => {
    const clipAt = (share: number, seed: number): MonoClip =>
      clipOf(attenuated(`${100 * share} %`, source), { seconds: 2, sampleRate: 16_000, seed });
    const dry = clipAt(1, 1);
    const reading = told(sharePassed(clipAt(level, 2), dry));
    const rel = Math.max(0.01, (3 * reading.error) / level);
    close(reading.value, level, { rel, unit: '', why: 'chance in 2 s, as it says itself' });
    const silence = { sampleRate: 16_000, samples: new Float64Array(16_000) };
    expect(told(sharePassed(silence, dry)).value).toBe(0);
    expect(sharePassed(dry, silence)).toBe('silent');
    const swelling = { ...dry, samples: dry.samples.map((one, n) => (one * n) / 32_000) };
    expect(sharePassed(swelling, dry)).toBe('level-moves');
  });
});

describe('a filter', () => {
  it.each<[FilterOutput, number, number]>([
    ['low', 640, 0.71],
    ['low', 85, 4],
    ['band', 3000, 12],
    ['high', 4600, 0.71],
    ['notch', 1200, 2],
  ])('has its %s corner at %d Hz with a q of %d', (jack, hz, q) => {
    const clip = clipOf(filtered(`cutoff: ${hz} Hz, q: ${q}`, jack), {
      seconds: 4,
      sampleRate: 32_000,
    });
    const corner = told(filterCorner(clip, jack, 'white'));
    close(corner.cutoff.value, hz, { ...PROMISED, unit: 'Hz' });
    const allowed = Math.max(0.06, (3 * corner.q.error) / q);
    close(corner.q.value, q, {
      rel: allowed,
      unit: '',
      why: 'chance in 4 s of noise, as it says itself',
    });
  });

  it('shows a high corner of a low q in a render at 192 kHz, which does not bend below 20 kHz', () => {
    const clip = clipOf(filtered('cutoff: 9.8 kHz, q: 0.58', 'low', 0.5), {
      seconds: 4,
      sampleRate: 192_000,
    });
    close(told(filterCorner(clip, 'low', 'white')).cutoff.value, 9800, { ...PROMISED, unit: 'Hz' });
  });

  it.each([
    [3, 32_000],
    [1.5, 16_000],
    [5, 48_000],
  ])(
    'shows a low corner with the level that a clip of its dial of %d s at %d Hz shows',
    (seconds, sampleRate) => {
      const open = clipOf(filtered('cutoff: 2 kHz', 'low'), { seconds, sampleRate });
      const level = told(filterCorner(open, 'low', 'white')).level;
      const clip = clipOf(filtered('cutoff: 30 Hz', 'low'), {
        seconds: 6,
        seed: 2,
        sampleRate: 16_000,
      });
      const { cutoff } = told(
        filterCorner(clip, 'low', 'white', { level: { ...level, error: 0.02 } }),
      );
      close(cutoff.value, 30, { ...PROMISED, unit: 'Hz' });
    },
  );

  it.each([
    ['low', 15_600, 1.1],
    ['band', 16_000, 0.61],
  ] as const)(
    'shows its %s corner at %d Hz at 44.1 kHz, with what others of its dial show',
    (jack, hz, q) => {
      const at = (cutoff: number): MonoClip =>
        recordedOf(filtered(`cutoff: ${cutoff} Hz, q: ${q}`, jack), {
          seconds: 3,
          sampleRate: 44_100,
        });
      const { level, peak } = told(filterCorner(at(3000), jack, 'white'));
      const known = { level: { ...level, error: 0.03 }, peak: { ...peak, error: 0.03 } };
      close(told(filterCorner(at(hz), jack, 'white', known)).cutoff.value, hz, {
        ...PROMISED,
        unit: 'Hz',
      });
    },
  );

  it('says of a peak that little is seen of how unsure it is', () => {
    const text = filtered('cutoff: 40 Hz, q: 40', 'band');
    const { q } = told(
      filterCorner(clipOf(text, { seconds: 5, sampleRate: 16_000 }), 'band', 'white'),
    );
    // A hertz wide, over 5 s: 1/sqrt(pi B T) = 25 % at least, by the theory of first-order noise.
    expect(q.error).toBeGreaterThan(0.25 * q.value);
  });

  it('tells nothing of tones, nor of noise that was not filtered so', () => {
    const tone = clipOf(sounding('kind: oscillator, at-zero: 220 Hz', 'saw'), { seconds: 2 });
    expect(['no-noise', 'no-filter']).toContain(filterCorner(tone, 'low', 'white'));
    const bare = clipOf(sounding('kind: noise, level: 1 V', 'white'), { seconds: 2 });
    expect(filterCorner(bare, 'low', 'white')).toBe('out-of-sight');
    const high = clipOf(filtered('cutoff: 900 Hz', 'high'), { seconds: 2 });
    expect(filterCorner(high, 'band', 'white')).toBe('no-filter');
  });

  // Noise that has passed no filter, drawn here: whatever corner chance shows in it is not told.
  it.each(['low', 'band', 'high', 'notch'] as const)(
    'has no corner at %s where none was',
    (jack) => {
      for (const sampleRate of [8000, 48_000])
        for (const seed of [1, 2, 3]) {
          const random = gaussian(seed);
          const samples = new Float64Array(6 * sampleRate).map(() => 0.1 * random());
          const found = filterCorner({ sampleRate, samples }, jack, 'white');
          expect(typeof found, JSON.stringify(found)).toBe('string');
          if (jack !== 'notch') expect(found).not.toBe('by-chance');
        }
    },
  );
});

describe('a noise', () => {
  it.each(['white', 'pink', 'red'] as const)('has its level and is %s', (colour) => {
    const clip = clipOf(sounding('kind: noise, level: 0.8 V', colour), { seconds: 4 });
    const reading = told(noiseLevel(clip, colour));
    // 1 kohm into 100 kohm leaves 1 % less; red noise is mostly its few lowest waves.
    const rel = Math.max(0.02, (4 * reading.error) / reading.value);
    close(10 * reading.value, 0.8 / 1.01, {
      rel,
      unit: 'V',
      why: 'chance in 4 s, as it says itself',
    });
    const slope = { white: 0, pink: -3.0103, red: -6.0206 }[colour];
    close(reading.slope, slope, {
      abs: 0.3,
      unit: 'dB an octave',
      why: 'chance in the lowest thirds',
    });
    const other = colour === 'pink' ? 'white' : 'pink';
    expect(noiseLevel(clip, other)).toBe('other-colour');
  });

  // A module that is recorded at another rate is as loud: sources that end at 24 kHz are soft just under it.
  it.each([22_050, 44_100, 48_000, 96_000, 192_000])(
    'white has its level at %s Hz',
    (sampleRate) => {
      const clip = clipOf(sounding('kind: noise, level: 0.8 V', 'white'), {
        sampleRate,
        seconds: 3,
      });
      const reading = told(noiseLevel(clip, 'white'));
      close(10 * reading.value, 0.8 / 1.01, {
        rel: (4 * reading.error) / reading.value,
        unit: 'V',
        why: 'four of its own standard errors',
      });
    },
  );

  it('is no tone', () => {
    const tone = clipOf(sounding('kind: oscillator, at-zero: 220 Hz', 'sine'), { seconds: 1 });
    expect(noiseLevel(tone, 'white')).toBe('no-noise');
  });
});

describe('a pitch', () => {
  it.each([
    [31.7, 'saw'],
    [440, 'pulse'],
    [1234.5, 'sine'],
    [7777, 'triangle'],
    // Of 7.45 samples a period: seven periods are nearer to a whole number of them than one is.
    [5917, 'saw', 1, 44_100],
    [8, 'pulse', 3, 8000],
    [0.7, 'triangle', 20, 8000],
  ])('stands at %d Hz', (hz, jack, seconds = 1, sampleRate = 48_000) => {
    const clip = clipOf(
      sounding(`kind: oscillator, width: 8 %, at-zero: ${hz} Hz`, jack as string),
      {
        seconds,
        sampleRate,
      },
    );
    const { value, error } = told(steadyPitch(clip));
    close(value, hz as number, { rel: 0.0006, unit: 'Hz', why: 'one cent' });
    expect(error).toBeLessThan(0.001 * (hz as number));
  });

  it('is none of noise, nor of what glides', () => {
    const noise = clipOf(sounding('kind: noise, level: 1 V', 'white'), { seconds: 1 });
    expect(steadyPitch(noise)).toBe('no-pitch');
    const samples = new Float64Array(48_000).map((_, n) => 0.4 * Math.sin(0.03 * n + 2e-7 * n * n));
    expect(steadyPitch({ sampleRate: 48_000, samples })).toBe('drifts');
  });
});
