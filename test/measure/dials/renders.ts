/** Renders of a patch as clips of one channel, with a floor of noise under them, as a recording has. */

import { Take } from '../../../src/engine/take.ts';
import type { MonoClip } from '../../../src/measure/dials/reading.ts';
import { KINDS } from '../../../src/modules/kinds.ts';
import { readPatch } from '../../../src/patch/read.ts';
import { gaussian } from '../pulses/synthetic.ts';

/** s of silence, the floor aside, ahead of each clip. */
const LEAD = 0.1;

interface Options {
  readonly seconds: number;
  readonly sampleRate?: number;
  /** Volts of this jack in place of the output; 10 V is full scale. */
  readonly jack?: string;
  /** dB under full scale, rms. */
  readonly floorDb?: number;
  readonly seed?: number;
}

/** As an interface records a real module: rendered at four times the rate, and low-passed to its own. */
export function recordedOf(text: string, options: Options): MonoClip {
  const { sampleRate = 48_000, floorDb = -70 } = options;
  // A floor is that of all samples: of four times as many, half as many decibels more.
  const fine = clipOf(text, {
    ...options,
    sampleRate: 4 * sampleRate,
    floorDb: floorDb + 20 * Math.log10(2),
  });
  const half = 120;
  // A sinc under a Blackman window: flat to 0.45 of the rate, 70 dB down from 0.55 on.
  const weights = new Float64Array(2 * half + 1).map((_, n) => {
    const x = n - half;
    const sinc = x === 0 ? 1 : Math.sin((Math.PI * x) / 4) / ((Math.PI * x) / 4);
    const turn = (Math.PI * x) / (half + 1);
    return (sinc / 4) * (0.42 + 0.5 * Math.cos(turn) + 0.08 * Math.cos(2 * turn));
  });
  // Silence before and after it, so that no place has to be looked at twice: this is a hundred million products.
  const padded = new Float64Array(fine.samples.length + 2 * half);
  padded.set(fine.samples, half);
  const samples = new Float64Array(Math.floor(fine.samples.length / 4));
  for (let n = 0; n < samples.length; n++) {
    let sum = 0;
    for (let k = 0; k < weights.length; k++)
      sum += (weights[k] as number) * (padded[4 * n + k] as number);
    samples[n] = sum;
  }
  return { sampleRate, samples };
}

export function clipOf(text: string, options: Options): MonoClip {
  const { seconds, sampleRate = 48_000, jack, floorDb = -70, seed = 1 } = options;
  const { patch, problems } = readPatch(`seed: ${seed}\n${text}`, {
    file: 'bench.yaml',
    kinds: KINDS,
  });
  if (patch === undefined) throw new Error(problems.map(({ message }) => message).join('; '));
  const [module = '', name = ''] = jack?.split('.') ?? [];
  const take = new Take(patch, {
    sampleRate,
    length: { unit: 'seconds', value: seconds },
    tail: { unit: 'seconds', value: 0 },
    ...(jack !== undefined && { probes: [{ module, jack: name }] }),
  });
  const lead = Math.round(LEAD * sampleRate);
  const samples = new Float64Array(lead + (take.totalFrames ?? 0));
  for (let frames = take.read(), at = lead; frames > 0; at += frames, frames = take.read()) {
    const heard = (jack === undefined ? take.channels[0] : take.probes[0]) as Float64Array;
    for (let n = 0; n < frames; n++)
      samples[at + n] = (heard[n] as number) / (jack === undefined ? 1 : 10);
  }
  const random = gaussian(seed);
  const floor = 10 ** (floorDb / 20);
  for (let n = 0; n < samples.length; n++) samples[n] = (samples[n] as number) + floor * random();
  return { sampleRate, samples };
}

/** An envelope that opens an amplifier for a tone or noise, struck again and again. */
export function struck(envelope: string, source: string, gate: string, beat = 'x-------'): string {
  return `modules:
  drums: { kind: rhythm, tempo: 60 bpm, channels: [hit], gate: ${gate}, patterns: { b: { hit: "${beat}" } }, song: [b] }
  shape: { kind: envelope, ${envelope} }
  tone: { kind: oscillator, at-zero: 1 kHz }
  hiss: { kind: noise, level: 1.25 V }
  level: { kind: amplifier }
  out: { kind: output }
cables:
  - drums.hit -> shape.trigger
  - shape.out -> level.control
  - ${source} -> level.in
  - level.out -> out.left
`;
}

/** A clock, and what its gate goes through. */
export function clocked(clock: string, module = 'kind: slew, rise: 1 ms', input = 'in'): string {
  return `modules:
  beat: { kind: clock, ${clock} }
  shape: { kind: envelope }
  one: { ${module} }
  out: { kind: output }
cables:
  - beat.out -> shape.trigger
  - beat.out -> one.${input}
`;
}

export function attenuated(level: string, source: string): string {
  return `modules:
  beat: { kind: clock }
  shape: { kind: envelope }
  tone: { kind: oscillator, at-zero: 330 Hz }
  hiss: { kind: noise, level: 1 V }
  less: { kind: attenuator, level: ${level} }
  out: { kind: output }
cables:
  - beat.out -> shape.trigger
  - ${source} -> less.in
  - less.out -> out.left
`;
}

export function filtered(filter: string, jack: string, level = 1): string {
  return `modules:
  drums: { kind: rhythm, tempo: 60 bpm, channels: [hit], patterns: { b: { hit: "x---" } }, song: [b] }
  hiss: { kind: noise, level: ${level} V }
  bright: { kind: filter, ${filter} }
  out: { kind: output }
cables:
  - hiss.white -> bright.in
  - bright.${jack} -> out.left
`;
}

export function sounding(module: string, jack: string): string {
  return `modules:
  drums: { kind: rhythm, tempo: 60 bpm, channels: [hit], patterns: { b: { hit: "x---" } }, song: [b] }
  one: { ${module} }
  out: { kind: output }
cables:
  - one.${jack} -> out.left
`;
}
