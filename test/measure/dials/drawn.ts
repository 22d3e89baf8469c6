/**
 * Recordings of dials at positions drawn evenly over their ranges: renders over floors of noise, at
 * rates of 44.1 to 192 kHz, each with the figure that it was made with.
 */

import { type EnvelopeStage, envelopeStage } from '../../../src/measure/dials/envelope-stages.ts';
import {
  type Corner,
  type FilterOutput,
  filterCorner,
} from '../../../src/measure/dials/filter-corner.ts';
import { burstSpacing, gateTime, pulseLate } from '../../../src/measure/dials/gate-times.ts';
import { noiseLevel, SLOPES } from '../../../src/measure/dials/noise-colour.ts';
import { type DialReading, GUESS, type NoReading } from '../../../src/measure/dials/reading.ts';
import { sharePassed } from '../../../src/measure/dials/share-passed.ts';
import { steadyPitch } from '../../../src/measure/dials/steady-pitch.ts';
import { stepRate } from '../../../src/measure/dials/step-rate.ts';
import { Random } from '../../../src/modules/dsp/random.ts';
import { attenuated, clipOf, clocked, filtered, recordedOf, sounding, struck } from './renders.ts';

/** A reading beside what it should be. */
export interface Drawn {
  readonly words: string;
  readonly truth: number;
  readonly reading: DialReading | NoReading;
}

/** Draws evenly, by ratios where a range goes in ratios. */
export class Draw {
  private readonly random: Random;
  private readonly rates: readonly number[];

  /** @param rates Hz, of recordings; those of 96 kHz and more take several times as long. */
  constructor(seed: number, rates: readonly number[] = [44_100, 48_000, 96_000, 192_000]) {
    this.rates = rates;
    this.random = new Random(Uint32Array.of(seed, 77, 3, 9));
    for (let n = 0; n < 9; n++) this.random.bits();
  }

  even(from: number, to: number): number {
    return from + (to - from) * ((this.random.bits() >>> 0) / 2 ** 32);
  }

  ratio(from: number, to: number): number {
    return Number((from * (to / from) ** this.even(0, 1)).toPrecision(4));
  }

  one<T>(list: readonly T[]): T {
    return list[Math.floor(this.even(0, list.length))] as T;
  }

  /** Where and over what it is recorded. */
  bench(): { sampleRate: number; floorDb: number; seed: number } {
    return {
      sampleRate: this.one(this.rates),
      floorDb: this.even(-90, -60),
      seed: 1 + Math.floor(this.even(0, 2 ** 20)),
    };
  }
}

const ms = (seconds: number): string => `${1000 * seconds} ms`;

export type Kind = keyof typeof DRAWN;

function corner(draw: Draw, wanted: 'cutoff' | 'q', lowest = 30, most = 40): Drawn {
  const jack = draw.one<FilterOutput>(['low', 'band', 'high', 'notch']);
  const [hz, q] = [draw.ratio(lowest, 18_000), draw.ratio(0.5, most)];
  const bench = draw.bench();
  const seconds = draw.one([5, 10]);
  const isRender = bench.sampleRate > 48_000 || draw.even(0, 1) < 0.5;
  const clip = (isRender ? clipOf : recordedOf)(filtered(`cutoff: ${hz} Hz, q: ${q}`, jack, 0.5), {
    ...bench,
    seconds,
  });
  const found = filterCorner(clip, jack, 'white');
  return {
    words: `${jack} ${hz} Hz q ${q} ${bench.sampleRate} ${bench.floorDb.toFixed(0)} dB ${seconds} s ${isRender ? 'render' : ''}`,
    truth: wanted === 'q' ? q : hz,
    reading: told(found, wanted),
  };
}

/** A notch of a few bins, at a rate that is quick to play: chance makes such dips too. */
function narrowNotch(draw: Draw): Drawn {
  const [hz, q] = [draw.ratio(25, 250), draw.ratio(5, 100)];
  const bench = { ...draw.bench(), sampleRate: 8000 };
  const seconds = draw.one([5, 10]);
  const clip = clipOf(filtered(`cutoff: ${hz} Hz, q: ${q}`, 'notch', 0.5), { ...bench, seconds });
  return {
    words: `notch ${hz} Hz q ${q} ${seconds} s`,
    truth: hz,
    reading: told(filterCorner(clip, 'notch', 'white'), 'cutoff'),
  };
}

/** As the command refuses them. */
function told(found: Corner | NoReading, wanted: 'cutoff' | 'q'): DialReading | NoReading {
  if (typeof found === 'string') return found;
  if (wanted === 'cutoff') return found.needsHigherRate ? 'needs-higher-rate' : found.cutoff;
  return found.q.error < GUESS * found.q.value ? found.q : 'too-sharp';
}

function stage(draw: Draw, wanted: EnvelopeStage): Drawn {
  const source = draw.one(['volts', 'tone.sine', 'tone.saw', 'hiss.white', 'hiss.pink']);
  const curve = draw.one(['exponential', 'linear']);
  const isVolts = source === 'volts';
  const time = draw.ratio(isVolts ? 0.002 : source.startsWith('hiss') ? 0.02 : 0.005, 0.4);
  const sustain =
    wanted === 'sustain' ? Number(draw.even(0.1, 1).toFixed(3)) : wanted === 'decay' ? 0 : 1;
  const said = {
    attack: ms(wanted === 'attack' ? time : 0.001),
    decay: ms(wanted === 'decay' || wanted === 'sustain' ? time : 0.03),
    sustain: `${100 * sustain} %`,
    release: ms(wanted === 'release' ? time : 0.06),
    curve,
  };
  const text = Object.entries(said)
    .map(([name, value]) => `${name}: ${value}`)
    .join(', ');
  const bench = draw.bench();
  const gate = Math.max(250, wanted === 'release' ? 500 : 3000 * time);
  const beat = 'x---------------';
  const clip = clipOf(struck(text, isVolts ? 'tone.sine' : source, `${gate.toFixed(0)} ms`, beat), {
    ...bench,
    seconds: 8,
    ...(isVolts && { jack: 'shape.out' }),
  });
  return {
    words: `${wanted} of ${text} in ${source} gate ${gate.toFixed(0)} ${bench.sampleRate} ${bench.floorDb.toFixed(0)} dB`,
    truth: wanted === 'sustain' ? sustain : time,
    reading: envelopeStage(clip, wanted, isVolts ? 'volts' : 'sound'),
  };
}

function glide(draw: Draw, wanted: 'rise' | 'fall'): Drawn {
  const curve = draw.one(['exponential', 'linear'] as const);
  const time = draw.ratio(0.002, 0.4);
  const bench = draw.bench();
  const one = `kind: slew, ${wanted}: ${ms(time)}, curve: ${curve}`;
  const clip = clipOf(clocked('rate: 1 Hz', one), { ...bench, seconds: 3, jack: 'one.out' });
  const found = envelopeStage(clip, wanted, 'volts');
  return {
    words: `${one} ${bench.sampleRate} ${bench.floorDb.toFixed(0)} dB`,
    truth: (curve === 'linear' ? 4.9 / 5 : 1) * time,
    reading: found,
  };
}

function shutting(draw: Draw): Drawn {
  const source = draw.one(['tone.sine', 'hiss.pink', 'hiss.white', 'beat.out']);
  const isVolts = source === 'beat.out';
  const time = draw.ratio(0.03, 0.6);
  const bench = draw.bench();
  const text = `modules:
  beat: { kind: clock, rate: 0.1 Hz, duty: 90 %, resistance: 0 ohm }
  drums: { kind: clock, rate: 0.4 Hz, duty: 30 %, resistance: 0 ohm }
  shape: { kind: envelope }
  tone: { kind: oscillator, at-zero: 1 kHz }
  hiss: { kind: noise, level: 1 V }
  one: { kind: low-pass-gate, fall: ${ms(time)}, mode: ${isVolts ? 'both' : 'level'} }
  out: { kind: output }
cables: [drums.out -> one.control, drums.out -> shape.trigger, ${source} -> one.in, one.out -> out.left]
`;
  const clip = clipOf(text, { ...bench, seconds: 8, ...(isVolts && { jack: 'one.out' }) });
  return {
    words: `lpg ${source} ${ms(time)} ${bench.sampleRate} ${bench.floorDb.toFixed(0)} dB`,
    truth: time,
    reading: envelopeStage(clip, 'shutting', isVolts ? 'volts' : 'sound'),
  };
}

function gate(draw: Draw, wanted: 'rate' | 'length' | 'duty'): Drawn {
  const rate = draw.ratio(1, 60);
  const duty = Number(draw.even(0.05, 0.95).toFixed(3));
  const bench = draw.bench();
  const clip = clipOf(clocked(`rate: ${rate} Hz, duty: ${100 * duty} %`), {
    ...bench,
    seconds: Math.max(2, 8 / rate),
    jack: 'beat.out',
  });
  const truth = { rate, duty, length: duty / rate }[wanted];
  return {
    words: `${wanted} of ${rate} Hz ${duty} ${bench.sampleRate} ${bench.floorDb.toFixed(0)} dB`,
    truth,
    reading: gateTime(clip, wanted),
  };
}

function burst(draw: Draw): Drawn {
  const spacing = draw.ratio(0.003, 0.1);
  const spread = Number(draw.even(-0.4, 0.4).toFixed(2));
  const bench = draw.bench();
  const one = `kind: burst, count: ${2 + Math.floor(draw.even(0, 5))}, spacing: ${ms(spacing)}, spread: ${100 * spread} %, length: 1 ms`;
  const clip = clipOf(clocked('rate: 0.5 Hz', one, 'trigger'), {
    ...bench,
    seconds: 7,
    jack: 'one.out',
  });
  return { words: `${one} ${bench.sampleRate}`, truth: spacing, reading: burstSpacing(clip) };
}

function late(draw: Draw): Drawn {
  const time = draw.ratio(0.001, 2);
  const bench = draw.bench();
  const one = `kind: delay, time: ${ms(time)}`;
  const at = (jack: string) =>
    clipOf(clocked('rate: 1.3 Hz', one, 'trigger'), { ...bench, seconds: 6, jack });
  const reading = pulseLate(at('one.out'), at('beat.out'));
  return { words: `${one} ${bench.sampleRate}`, truth: time, reading };
}

function steps(draw: Draw): Drawn {
  const rate = draw.ratio(2, 500);
  const bench = draw.bench();
  const one = `kind: random, clock: own, rate: ${rate} Hz, range: ${draw.even(1, 8).toFixed(1)} V`;
  const clip = clipOf(sounding(one, 'stepped'), { ...bench, seconds: 10, jack: 'one.stepped' });
  return { words: `${one} ${bench.sampleRate}`, truth: rate, reading: stepRate(clip) };
}

function share(draw: Draw): Drawn {
  const source = draw.one(['tone.sine', 'tone.saw', 'hiss.white', 'hiss.pink']);
  const level = Number(draw.ratio(0.01, 1).toPrecision(3));
  const bench = draw.bench();
  const at = (part: number, seed: number) =>
    clipOf(attenuated(`${100 * part} %`, source), {
      ...bench,
      seconds: 3,
      seed: bench.seed + seed,
    });
  return {
    words: `${level} of ${source} ${bench.sampleRate} ${bench.floorDb.toFixed(0)} dB`,
    truth: level,
    reading: sharePassed(at(level, 1), at(1, 2)),
  };
}

function noise(draw: Draw, wanted: 'level' | 'slope'): Drawn {
  const colour = draw.one(['white', 'pink', 'red'] as const);
  const level = draw.ratio(0.1, 2);
  const bench = draw.bench();
  const clip = clipOf(sounding(`kind: noise, level: ${level} V`, colour), {
    ...bench,
    seconds: draw.one([3, 8]),
  });
  const found = noiseLevel(clip, colour);
  return {
    words: `${colour} ${level} V ${bench.sampleRate} ${bench.floorDb.toFixed(0)} dB ${clip.samples.length / bench.sampleRate} s`,
    truth: wanted === 'slope' ? SLOPES[colour] : level / 1.01 / 10,
    reading:
      typeof found === 'string' || wanted === 'level'
        ? found
        : { value: found.slope, error: found.slopeError },
  };
}

function pitch(draw: Draw): Drawn {
  const wave = draw.one(['sine', 'saw', 'pulse', 'triangle']);
  const hz = draw.ratio(20, 12_000);
  const bench = draw.bench();
  const clip = clipOf(
    sounding(`kind: oscillator, width: ${draw.even(5, 50).toFixed(0)} %, at-zero: ${hz} Hz`, wave),
    {
      ...bench,
      seconds: 2,
    },
  );
  return {
    words: `${wave} ${hz} Hz ${bench.sampleRate} ${bench.floorDb.toFixed(0)} dB`,
    truth: hz,
    reading: steadyPitch(clip),
  };
}

export const DRAWN = {
  cutoff: (draw: Draw) => corner(draw, 'cutoff'),
  q: (draw: Draw) => corner(draw, 'q'),
  'high cutoff': (draw: Draw) => corner(draw, 'cutoff', 8000, 4),
  'narrow notch': narrowNotch,
  'narrow q': (draw: Draw) => corner(draw, 'q', 30, 100),
  attack: (draw: Draw) => stage(draw, 'attack'),
  decay: (draw: Draw) => stage(draw, 'decay'),
  sustain: (draw: Draw) => stage(draw, 'sustain'),
  release: (draw: Draw) => stage(draw, 'release'),
  rise: (draw: Draw) => glide(draw, 'rise'),
  fall: (draw: Draw) => glide(draw, 'fall'),
  shutting,
  rate: (draw: Draw) => gate(draw, 'rate'),
  length: (draw: Draw) => gate(draw, 'length'),
  duty: (draw: Draw) => gate(draw, 'duty'),
  spacing: burst,
  late,
  steps,
  share,
  level: (draw: Draw) => noise(draw, 'level'),
  slope: (draw: Draw) => noise(draw, 'slope'),
  frequency: pitch,
} as const;
