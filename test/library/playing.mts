// A patch as arrays, with the volts of a jack and its stems; and the same block by block.

import { KINDS, Loop, type Playing, Prepared, readPatch, render, stemsOf, Take } from 'forehear';

const PATCH = `
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [hat], patterns: { a: { hat: "x--- --x-" } } }
  tone: { kind: oscillator, at-zero: 300 Hz }
  shape: { kind: envelope, release: 300 ms }
  level: { kind: amplifier }
  out: { kind: output }
cables: [drums.hat -> shape.trigger, shape.out -> level.control, tone.sine -> level.in, level.out -> out.left]
`;

const { patch } = readPatch(PATCH, { file: 'hat.yaml', kinds: KINDS });
if (patch === undefined) throw new Error('the patch has problems');
const jack = { module: 'shape', jack: 'out' };
const whole = render(patch, { probes: [jack], stems: stemsOf(patch) });
const loop = render(patch, { loop: true });

function gathered(playing: Playing): number[] {
  const all: number[] = [];
  for (let frames = playing.read(); frames > 0; frames = playing.read())
    for (const value of playing.channels[0]?.subarray(0, frames) ?? []) all.push(value);
  return all;
}

function same(a: Float64Array | undefined, b: readonly number[]): boolean {
  return a?.length === b.length && b.every((value, index) => value === a[index]);
}

const options = { sampleRate: 48_000, length: { unit: 'song' } } as const;
const refused = [
  { sampleRate: 4_000 },
  { length: { unit: 'bars', value: -1 } },
  { length: { unit: 'seconds', value: Number.POSITIVE_INFINITY } },
  { tail: { unit: 'seconds', value: -1 } },
] as const;

export const seen = {
  music: whole.musicFrames,
  hasTail: whole.frames > whole.musicFrames,
  lengths: [whole.channels, whole.probes, ...whole.stems].map((signals) =>
    signals.every(({ length }) => length === whole.frames),
  ),
  peakVolts: whole.probes[0]?.reduce((a, b) => Math.max(a, b)).toFixed(2),
  loop: loop.frames,
  takeIsSame: same(
    whole.channels[0],
    gathered(new Take(patch, { ...options, tail: { unit: 'silence' } })),
  ),
  loopIsSame: same(loop.channels[0], gathered(new Loop(patch, options))),
  preparedIsSame: same(whole.channels[0], [...(render(new Prepared(patch)).channels[0] ?? [])]),
  refused: refused.map((wrong) => {
    try {
      return render(patch, wrong).frames;
    } catch (error) {
      return String(error);
    }
  }),
};
