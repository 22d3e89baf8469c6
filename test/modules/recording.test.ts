// The recording against the sounds that its files hold: to the bit at its own rate, and read between its
// samples against sines in closed form; what folds back or is mirrored against a limit.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { AnyValues, Recorded } from '../../src/modules/definition.ts';
import { recording, sideOf } from '../../src/modules/recording.ts';
import { readPatch } from '../../src/patch/read.ts';
import { between } from '../circuits/cases.ts';
import { close } from '../close.ts';
import { KNOCK } from '../knock.ts';
import { runs } from '../runs.ts';
import { Bench, jack, type Volts } from './harness.ts';
import { component, lines } from './spectrum.ts';

const RATE = 48_000;
/** V at full scale of a file, from the header. */
const FULL = 5;

function file(samples: ArrayLike<number> | readonly Float64Array[], sampleRate = RATE): Recorded {
  const channels = (
    Array.isArray(samples) && samples[0] instanceof Float64Array
      ? samples
      : [Float64Array.from(samples as ArrayLike<number>)]
  ) as readonly Float64Array[];
  return { path: 'test.wav', sampleRate, channels, toJSON: () => 'test.wav' };
}

const sine = (hertz: number, seconds: number, rate: number): Float64Array =>
  new Float64Array(Math.round(seconds * rate)).map((_, n) =>
    Math.sin((2 * Math.PI * hertz * n) / rate),
  );

const noise = (length: number): Float64Array =>
  new Float64Array(length).map((_, n) => Math.sin(n * n));

interface Volted {
  readonly trigger?: Volts;
  readonly pitch?: Volts;
  readonly accent?: Volts;
}

/** The output, triggered at the first sample. */
function play(settings: AnyValues, samples: number, volts: Volted = {}, rate = RATE): Float64Array {
  const bench = new Bench(recording, { sampleRate: rate, settings });
  return jack(bench.run(samples, { trigger: 5, ...volts }), 'out');
}

const decibels = (gain: number): number => 20 * Math.log10(gain);

describe('at its own rate and pitch', () => {
  it('plays the very samples of the file, from its trigger to its end', () => {
    const sound = noise(300);
    const out = play({ file: file(sound) }, 1000, { trigger: (n) => (n >= 100 ? 5 : 0) });
    out.forEach((volts, n) => {
      const wanted = n >= 100 && n < 400 ? FULL * (sound[n - 100] as number) : 0;
      close(volts, wanted, { abs: 1e-14, unit: 'V', why: 'one product' });
    });
  });

  it('plays on when the gate ends, and again from the start at the next', () => {
    const sound = noise(300);
    const gate = (n: number): number => (n < 10 || (n >= 500 && n < 503) ? 5 : 0);
    const out = play({ file: file(sound) }, 1000, { trigger: gate });
    expect(out.slice(500, 800)).toEqual(out.slice(0, 300));
    expect(out.slice(300, 500).every((volts) => volts === 0)).toBe(true);
    expect(out[250]).not.toBe(0);
  });

  it('lets go in 1 ms of what a new trigger cuts off, in a straight line', () => {
    const sound = new Float64Array(2000).fill(0.5);
    const out = play({ file: file(sound) }, 400, { trigger: (n) => (n % 200 < 5 ? 5 : 0) });
    // 48 samples: what comes again is whole at once, what goes is added to it, less and less.
    const wanted = (n: number): number => 2.5 + (n < 48 ? 2.5 * ((48 - n) / 49) : 0);
    for (let n = 0; n < 100; n++)
      close(out[200 + n] as number, wanted(n), { abs: 1e-12, unit: 'V', why: 'the straight line' });
  });

  it('takes its level from the gain, and from the accent when the trigger comes', () => {
    const one = file(new Float64Array(500).fill(0.25));
    fc.assert(
      fc.property(
        between(-60, 0),
        between(-24, 24),
        between(0, 5),
        between(0, 5),
        (gain, accent, volts, later) => {
          const out = play({ file: one, gain, accent }, 50, {
            accent: (n) => (n < 1 ? volts : later),
          });
          const wanted = 0.25 * FULL * 10 ** ((gain + (accent * volts) / 5) / 20);
          for (const n of [0, 49])
            close(out[n] as number, Math.min(wanted, 12), {
              rel: 1e-9,
              unit: 'V',
              why: 'rounding',
            });
        },
      ),
      runs(50),
    );
  });

  it('plays from start to end, and fades for 1 ms before an end that is not its own', () => {
    const sound = noise(4800);
    const out = play({ file: file(sound), start: 0.01, end: 0.05 }, 4800);
    for (let n = 0; n < 1920; n++) {
      const share = Math.min(1, (1920 - n) / 48);
      close(out[n] as number, FULL * share * (sound[480 + n] as number), {
        abs: 1e-12,
        unit: 'V',
        why: 'the samples, and a straight line',
      });
    }
    expect(out.slice(1920).every((volts) => volts === 0)).toBe(true);
    expect(play({ file: file(sound), start: 0.2 }, 100).every((volts) => volts === 0)).toBe(true);
  });

  it('takes the mean of a stereo file, or one side; of a mono file the one that there is', () => {
    const left = noise(10);
    const right = left.map((x) => 1 - x);
    const stereo = file([left, right]);
    expect(sideOf(stereo, 'left')).toEqual(left);
    expect(sideOf(stereo, 'right')).toEqual(right);
    for (const half of sideOf(stereo, 'both'))
      close(half, 0.5, { abs: 1e-15, unit: '1', why: 'rounding' });
    for (const side of ['both', 'left', 'right'] as const)
      expect(sideOf(file(left), side)).toEqual(left);
  });
});

describe('at another rate or pitch', () => {
  it.each([
    [44_100, 0],
    [96_000, 0],
    [48_000, 7],
    [48_000, -5],
    [22_050, 12],
    [44_100, -24],
    [96_000, 19],
  ])(
    'a sine of a file of %i Hz, moved by %i semitones, is the sine of that pitch',
    (rate, tune) => {
      const ratio = 2 ** (tune / 12);
      for (const share of [0.02, 0.21, 0.42]) {
        // A share of the lower of both rates, as heard.
        const heard = share * Math.min(RATE, rate * ratio);
        const sound = sine(heard / ratio, 0.5, rate);
        const samples = Math.floor((0.5 / ratio) * RATE) - 200;
        const out = play({ file: file(sound, rate), tune }, samples);
        // Away from both ends, where the file begins and ends at once.
        for (let n = 2000; n < samples - 2000; n += 37)
          close(out[n] as number, FULL * Math.sin((2 * Math.PI * heard * n) / RATE), {
            abs: FULL * 3e-5,
            unit: 'V',
            why: '90 dB: the ripple of the window and of the straight lines of its table',
          });
      }
    },
  );

  it.each([0, 5, 12, 26])(
    'leaves no alias and no mirror image, moved up by %i semitones',
    (tune) => {
      const ratio = 2 ** (tune / 12);
      // 44.1 kHz in the file, so that it is never read at its samples.
      const length = Math.ceil(ratio * 44_100);
      const partials = [0.11, 0.31, 0.43, 0.471].map((share) => share * 44_100);
      const sound = new Float64Array(length).map((_, n) =>
        partials.reduce(
          (sum, hertz) => sum + 0.2 * Math.sin((2 * Math.PI * hertz * n) / 44_100),
          0,
        ),
      );
      const out = play({ file: file(sound, 44_100), tune }, 36_000).slice(1500, 1500 + 32_768);
      const { resolution, amplitudes } = lines(out, RATE);
      const known = partials.map((hertz) => hertz * ratio);
      const strays = amplitudes.filter((_, k) =>
        known.every((hertz) => Math.abs(k * resolution - hertz) > 12 * resolution),
      );
      const worst = strays.reduce((most, line) => Math.max(most, line), 0);
      expect(decibels(worst / (0.2 * FULL))).toBeLessThan(-95);
    },
  );

  it.each([
    [44_100, 19_000],
    [48_000, 21_000],
  ])('is flat up to 0.9 of half the rate of its file: %i Hz', (rate, top) => {
    for (const hertz of [100, 5000, 15_000, top]) {
      const out = play({ file: file(sine(hertz, 0.4, rate), rate) }, 16_000, { pitch: 1e-4 });
      const at = hertz * 2 ** 1e-4;
      close(decibels(component(out.slice(2000, 14_000), RATE, at).amplitude / FULL), 0, {
        abs: 0.02,
        unit: 'dB',
        why: 'the ripple of a window 100 dB down is 0.0001 dB, more near its edge',
      });
    }
  });

  it('follows volts at pitch, an octave a volt, at every sample', () => {
    const sound = sine(500, 2, RATE);
    const glide = (n: number): number => n / RATE;
    const out = play({ file: file(sound) }, 24_000, { pitch: glide });
    let place = 0;
    for (let n = 0; n < 24_000; n++) {
      if (n > 500)
        close(out[n] as number, FULL * Math.sin((2 * Math.PI * 500 * place) / RATE), {
          abs: FULL * 3e-5,
          unit: 'V',
          why: 'as above',
        });
      place += 2 ** glide(n);
    }
  });
});

describe('start and end', () => {
  const wrong = (settings: string): readonly string[] => {
    const text = `modules:\n  a: { kind: recording, file: "${KNOCK}"${settings} }\n`;
    return readPatch(text, { file: 'knock.yaml', kinds: [recording] }).problems.map(
      ({ message, place }) =>
        `${text.split('\n')[place.line - 1]?.slice(place.column - 1, place.column - 1 + place.length)}: ${message}`,
    );
  };

  it('that would leave nothing to hear are told where they stand', () => {
    // The file lasts 9 ms.
    expect(wrong(', start: 9 ms')).toEqual([
      '9 ms: "start" is not before the end of the file, so nothing would be heard',
    ]);
    expect(wrong(', start: 4 ms, end: 3 ms')).toEqual([
      '3 ms: "end" is not after "start", so nothing would be heard',
    ]);
    for (const right of ['', ', start: 8.9 ms', ', start: 4 ms, end: 5 ms', ', end: 20 ms'])
      expect(wrong(right)).toEqual([]);
  });
});

it('keeps to the rails', () => {
  const out = play({ file: file(noise(5000)), gain: 24, accent: 24 }, 5000, { accent: 5 });
  for (const volts of out) expect(Math.abs(volts)).toBeLessThanOrEqual(12);
  expect(out.some((volts) => Math.abs(volts) === 12)).toBe(true);
});
