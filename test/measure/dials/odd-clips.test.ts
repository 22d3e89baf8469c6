// Every reader of a dial × clips that are in the middle of something where they begin or end, one sample long,
// all one value, of few bits, or with an offset: each is read as a clip without that is, or refused with a reason.

import { describe, expect, it } from 'vitest';
import { envelopeStage } from '../../../src/measure/dials/envelope-stages.ts';
import { filterCorner } from '../../../src/measure/dials/filter-corner.ts';
import { burstSpacing, gateTime, pulseLate } from '../../../src/measure/dials/gate-times.ts';
import { noiseLevel } from '../../../src/measure/dials/noise-colour.ts';
import {
  type DialReading,
  type MonoClip,
  type NoReading,
  STATED,
} from '../../../src/measure/dials/reading.ts';
import { sharePassed } from '../../../src/measure/dials/share-passed.ts';
import { steadyPitch } from '../../../src/measure/dials/steady-pitch.ts';
import { stepRate } from '../../../src/measure/dials/step-rate.ts';
import { close } from '../../close.ts';
import { attenuated, clipOf, clocked, filtered, sounding, struck } from './renders.ts';

const sampleRate = 16_000;
const clip = (text: string, seconds: number, jack?: string): MonoClip =>
  clipOf(text, { seconds, sampleRate, floorDb: -70, ...(jack !== undefined && { jack }) });
const struckClip = (jack?: string): MonoClip =>
  clip(struck('attack: 2 ms, decay: 60 ms, sustain: 0 %', 'tone.sine', '200 ms', 'x---'), 2, jack);

interface Reader {
  readonly truth: number;
  readonly clips: readonly MonoClip[];
  readonly read: (one: MonoClip, other: MonoClip) => DialReading | NoReading;
  /** Refused with these reasons, in place of the same figure. */
  readonly within?: NoReading;
  readonly value: NoReading;
}

const corner = (one: MonoClip): DialReading | NoReading => {
  const found = filterCorner(one, 'low', 'white');
  return typeof found === 'string' ? found : found.cutoff;
};
const burst = 'kind: burst, count: 4, spacing: 30 ms, spread: 40 %, length: 2 ms';
const late = clocked('rate: 2 Hz', 'kind: delay, time: 100 ms', 'trigger');

const READERS: { readonly [name: string]: Reader } = {
  'a decay in volts': {
    truth: 0.06,
    clips: [struckClip('shape.out')],
    read: (one) => envelopeStage(one, 'decay', 'volts'),
    value: 'in-noise',
  },
  'a decay in sound': {
    truth: 0.06,
    clips: [struckClip()],
    read: (one) => envelopeStage(one, 'decay', 'sound'),
    value: 'silent',
  },
  'a glide': {
    truth: 0.05,
    clips: [clip(clocked('rate: 2 Hz', 'kind: slew, fall: 50 ms'), 2, 'one.out')],
    read: (one) => envelopeStage(one, 'fall', 'volts'),
    value: 'in-noise',
  },
  'a gate': {
    truth: 0.075,
    clips: [clip(clocked('rate: 4 Hz, duty: 30 %'), 2, 'beat.out')],
    read: (one) => gateTime(one, 'length'),
    value: 'no-pulses',
  },
  'a burst': {
    truth: 0.03,
    clips: [clip(clocked('rate: 2 Hz', burst, 'trigger'), 2, 'one.out')],
    read: burstSpacing,
    value: 'no-pulses',
  },
  'a late pulse': {
    truth: 0.1,
    clips: [clip(late, 2, 'one.out'), clip(late, 2, 'beat.out')],
    read: pulseLate,
    within: 'no-rest',
    value: 'no-pulses',
  },
  'random steps': {
    truth: 20,
    clips: [clip(sounding('kind: random, clock: own, rate: 20 Hz', 'stepped'), 2, 'one.stepped')],
    read: stepRate,
    value: 'no-steps',
  },
  'a share': {
    truth: 0.5,
    clips: ['50 %', '100 %'].map((level) => clip(attenuated(level, 'tone.sine'), 1)),
    read: sharePassed,
    value: 'level-moves',
  },
  'a pitch': {
    truth: 220,
    clips: [clip(sounding('kind: oscillator, at-zero: 220 Hz', 'saw'), 1)],
    read: steadyPitch,
    value: 'no-pitch',
  },
  'a corner': {
    truth: 1500,
    clips: [clip(filtered('cutoff: 1500 Hz, q: 2', 'low', 0.5), 4)],
    read: corner,
    value: 'no-noise',
  },
};

const cut =
  (from: number, to: number) =>
  (one: MonoClip): MonoClip => ({
    sampleRate,
    samples: one.samples.slice(from * sampleRate, one.samples.length - to * sampleRate),
  });
const mapped =
  (of: (value: number) => number) =>
  (one: MonoClip): MonoClip => ({
    sampleRate,
    samples: one.samples.map(of),
  });
// There is 0.1 s of rest before each clip.
const ODD: { readonly [name: string]: (one: MonoClip) => MonoClip } = {
  'begins with it': cut(0.1, 0),
  'begins within it': cut(0.12, 0),
  'ends within it': cut(0, 0.43),
  'has an offset of half full scale': mapped((value) => 0.45 * value + 0.5),
  'has a small offset': mapped((value) => 0.9 * value - 0.05),
  'has 8 bits': mapped((value) => Math.round(128 * value) / 128),
};

describe.each(Object.entries(READERS))('%s', (_, { truth, clips, read, within, value }) => {
  const readOf = (odd: (one: MonoClip) => MonoClip): DialReading | NoReading => {
    const [one, other] = clips.map(odd) as [MonoClip, MonoClip];
    return read(one, other);
  };

  it.each(Object.keys(ODD))('of a clip that %s', (name) => {
    const reading = readOf(ODD[name] as (one: MonoClip) => MonoClip);
    if (name === 'begins within it' && within !== undefined) return expect(reading).toBe(within);
    if (typeof reading === 'string') throw new Error(reading);
    // What is stated, and of a sound of 8 bits, whose tail sinks into its steps, what is promised of times: 3 %.
    const most = name === 'has 8 bits' ? 0.03 * truth : 0;
    close(reading.value, truth, {
      abs: Math.max(most, STATED * reading.error),
      unit: '',
      why: 'what is stated; of 8 bits, whose tail sinks into its steps, what is promised of times: 3 %',
    });
  });

  it('of what holds nothing is refused', () => {
    expect(readOf(() => ({ sampleRate, samples: Float64Array.of(0.5) }))).toBe('too-short');
    expect(readOf(mapped(() => 0.5))).toBe(value);
    expect(readOf(mapped(() => -0))).toBe('silent');
  });
});

it('is the level of noise, whatever offset lies under it', () => {
  const noise = clip(sounding('kind: noise, level: 1 V', 'white'), 3);
  const [plain, offset] = [noise, mapped((value) => value + 0.05)(noise)].map((one) => {
    const found = noiseLevel(one, 'white');
    if (typeof found === 'string') throw new Error(found);
    return found.value;
  });
  close(offset, plain ?? Number.NaN, {
    rel: 1e-3,
    unit: '',
    why: 'next to nothing is left of an offset in what is measured',
  });
});
