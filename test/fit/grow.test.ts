// What a fit cannot reach, and the layers that add it: a known map of differences, patches that
// the layers are written into, and recordings of a patch with a layer that another lacks.

import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { concernsOf } from '../../src/cli/fit/concerns.ts';
import { growthWords, shortfallWords } from '../../src/cli/reports/fit-shortfalls.ts';
import { channelOf, fitPatch } from '../../src/fit/fit.ts';
import { type Grown, grownFit, lackOf, WORTH_DB } from '../../src/fit/grow.ts';
import { layerFor, MOST_LAYERS } from '../../src/fit/layer.ts';
import { limited } from '../../src/fit/limits.ts';
import { type VoiceChannel, voicePath } from '../../src/fit/path.ts';
import { recordedHits } from '../../src/fit/recording.ts';
import { usualKnobs } from '../../src/fit/settings.ts';
import type { Concern } from '../../src/fit/settle.ts';
import { type Shortfall, shortfallsOf } from '../../src/fit/shortfall.ts';
import type { HitSound } from '../../src/measure/likeness/band-frames.ts';
import type { HitDistance } from '../../src/measure/likeness/hit-distance.ts';
import type { Patch } from '../../src/patch/patch.ts';
import { fileText } from '../../src/patch/texts.ts';
import { close } from '../close.ts';
import { rendered, source, uniform } from '../compare/fit-recordings.ts';
import { example, PATCHES, written } from '../compare/written.ts';

const PARTS = readdirSync(join(PATCHES, 'parts')).map((name) => `parts/${name}`);
const RATE = 12_000;
const BANDS = 26;
const FRAMES = 40;

/** A map in which the recording has so many dB more in one box. */
function mapWith(bands: [number, number], frames: [number, number], db: number): HitDistance {
  const next = uniform(521288629);
  const differences = Array.from({ length: BANDS }, (_, b) =>
    new Float64Array(FRAMES).map((_, k) => {
      const isIn = b >= bands[0] && b <= bands[1] && k >= frames[0] && k <= frames[1];
      return (isIn ? db : 0) + 3 * next();
    }),
  );
  const zero = { db: 0, bandsDb: 0, tonalityDb: 0, pitchDb: 0, gainDb: 0 };
  return { ...zero, frames: FRAMES, compared: FRAMES, differences };
}

/** Noise, or a sine, that falls by 60 dB in 200 ms in every band. */
function recorded(of: (time: number) => number) {
  const samples = new Float64Array((FRAMES * RATE) / 100).map((_, n) => of(n / RATE));
  const sound: HitSound = {
    samples,
    sampleRate: RATE,
    onset: 0,
    end: samples.length,
    hasEnded: true,
  };
  const bands = Array.from({ length: BANDS }, () =>
    new Float64Array(FRAMES).map((_, k) => 10 ** ((-6 * 0.01 * k) / 0.2)),
  );
  return { sound, frames: { bands, frames: FRAMES, hasEnded: true } };
}
const next = uniform(2463534242);
const HISS = recorded(() => next());

describe('what is left of a difference', () => {
  // Band 13 is 1 kHz (50 Hz is 13 third octaves below), band 19 is 4 kHz.
  const [found, ...others] = shortfallsOf(mapWith([13, 19], [2, 14], 20), HISS);

  it('is told as the box of bands and time that it is', () => {
    expect(others).toEqual([]);
    expect(found).toMatchObject({ louder: 'recording', nominal: [1000, 4000], partial: null });
    close(found?.from, 0.02, { abs: 5e-10, unit: 's', why: 'rounding' });
    close(found?.to, 0.15, { abs: 5e-10, unit: 's', why: 'rounding' });
    close(found?.byDb, 20, {
      abs: 0.8,
      unit: 'dB',
      why: 'the noise of the map has 91 cells: 0.2 dB is the standard error of its mean',
    });
    close(found?.fall, 0.2, { abs: 5e-7, unit: 's', why: '60 dB in 200 ms, by construction' });
    expect(
      shortfallWords([found as Shortfall], undefined, false)
        .join(' ')
        .replace(/\s+/g, ' '),
    ).toMatch(
      /The recording has 20 dB more at 1 kHz to 4 kHz from 20 ms to 150 ms .*noise at 1 kHz to 4 kHz with an envelope of its own, which falls by 60 dB in 200 ms, would give that/,
    );
  });

  it('is told of the patch where that has more', () => {
    const [less] = shortfallsOf(mapWith([20, 25], [0, 20], -15), HISS);
    expect(less).toMatchObject({ louder: 'patch', isHighest: true, isLowest: false });
    expect(shortfallWords([less as Shortfall], undefined, false).join(' ')).toMatch(/low-pass/);
  });

  it('is a partial where one is most of what sounds there', () => {
    const tone = recorded(
      (time) => Math.sin(2 * Math.PI * 1500 * time) * 10 ** ((-3 * time) / 0.2),
    );
    const [one] = shortfallsOf(mapWith([13, 16], [0, 20], 20), tone);
    close(one?.partial?.hz, 1500, { abs: 8, unit: 'Hz', why: 'a tenth of a semitone' });
  });

  it('is nothing where no more differs than chance does', () => {
    expect(shortfallsOf(mapWith([0, 0], [0, 0], 0), HISS)).toEqual([]);
  });
});

describe('a layer', () => {
  const [noise] = shortfallsOf(mapWith([13, 19], [2, 14], 20), HISS) as [Shortfall];
  const tone: Shortfall = {
    ...noise,
    partial: { hz: 431, amplitude: 0.1, decay: 0.3, reliability: 1 },
  };
  const { written: texts, patch } = example('kick.yaml', PARTS);
  const channel = channelOf(patch, undefined) as VoiceChannel;

  it.each([
    ['noise', noise],
    ['a tone', tone],
  ])('of %s is written in beside what is there, and adds no finding', (_, shortfall) => {
    const layer = layerFor(shortfall, patch, texts, channel);
    const before = concernsOf(patch).length;
    expect(concernsOf(layer?.patch as Patch)).toHaveLength(before);
    const text = fileText(layer?.written as typeof texts, 'test.yaml') ?? '';
    const kept = (fileText(texts, 'test.yaml') ?? '').split('\n');
    // All lines but those of the two cables that are pulled.
    expect(kept.filter((line) => !text.includes(line))).toHaveLength(2);
    for (const line of layer?.modules ?? []) expect(text).toContain(line);
    for (const line of layer?.cables ?? []) expect(text.replace(/ +->/g, ' ->')).toContain(line);
  });

  it('may be followed by another, and by no more than there are jacks for', () => {
    let now = { texts, patch };
    for (let count = 1; count <= MOST_LAYERS; count++) {
      const layer = layerFor(count === 1 ? noise : tone, now.patch, now.texts, channel);
      if (layer === undefined) throw new Error(`no place for layer ${count}`);
      now = { texts: layer.written, patch: layer.patch };
    }
    expect(concernsOf(now.patch)).toHaveLength(concernsOf(patch).length);
    expect(layerFor(noise, now.patch, now.texts, channel)).toBeUndefined();
  });

  it('has no place where the output has several cables, and that is said', () => {
    const kit = example('kit-of-eight.yaml', PARTS);
    const kick = channelOf(kit.patch, 'kick') as VoiceChannel;
    expect(layerFor(noise, kit.patch, kit.written, kick)).toBeUndefined();
    const growth = { shortfall: noise, layer: undefined, concerns: [], before: 9, isKept: false };
    expect(growthWords([growth]).join(' ')).toMatch(/No layer was added/);
  });

  it('is not offered where the patch would have a finding with it, and that is said', () => {
    const layer = layerFor(noise, patch, texts, channel);
    const command = 'forehear fit kick.yaml kick.wav --grow';
    const offer = (concerns: readonly Concern[]): string =>
      shortfallWords([noise], { shortfall: noise, layer, concerns }, false, command).join(' ');
    expect(offer([])).toContain(command);
    const refused = offer([
      { about: 'layer-1-part', weight: 1, message: 'the rack has no other filter.' },
    ]);
    expect(refused).not.toContain('--grow');
    expect(refused).toMatch(/would find with it: the rack has no\s+other filter/);
  });

  it('is found lacking with the findings that it would bring', () => {
    const fit = { text: fileText(texts, texts.main) ?? '', shortfalls: [noise] };
    const concern = { about: 'layer-1-part', weight: 1, message: 'the rack has no other filter.' };
    const concernsOfLayers = (one: Patch): readonly Concern[] =>
      one.modules.some(({ name }) => name.startsWith('layer-')) ? [concern] : [];
    const request = { written: texts, channel, concernsOf: concernsOfLayers };
    expect(lackOf(request, fit)?.concerns).toEqual([concern]);
  });
});

const TOM = `# keep this line
modules:
  drums: { kind: rhythm, tempo: 40 bpm, channels: [tom], patterns: { beat: { tom: "x---------------" } } }
  body: { kind: resonator, at-zero: 150 Hz, decay: 300 ms }
  out: { kind: output }
cables:
  - drums.tom -> body.strike
  - body.out -> out.left
`;
const WITH_NOISE = `modules:
  drums: { kind: rhythm, tempo: 40 bpm, channels: [tom], patterns: { beat: { tom: "x---------------" } } }
  split: { kind: multiple, jacks: 3 }
  body: { kind: resonator, at-zero: 150 Hz, decay: 300 ms }
  hiss: { kind: noise }
  bright: { kind: filter, cutoff: 2.5 kHz, q: 1 }
  shape: { kind: envelope, mode: trigger, decay: 150 ms, release: 150 ms }
  level: { kind: amplifier }
  both: { kind: mixer, level-2: 60 % }
  out: { kind: output }
cables: [drums.tom -> split.in, split.out-1 -> body.strike, split.out-2 -> shape.trigger, hiss.white -> bright.in, bright.band -> level.in, shape.out -> level.control, body.out -> both.in-1, level.out -> both.in-2, both.out -> out.left]
`;

async function grown(text: string, isStopped = () => false): Promise<Grown> {
  const { written: texts, patch } = written(TOM);
  const samples = rendered(written(text).written, [], { sampleRate: RATE, seconds: 1 });
  const recording = recordedHits(source(RATE, samples), 'take.wav');
  const channel = channelOf(patch, undefined);
  const knobsOf = (one: Patch) =>
    limited(usualKnobs(one, voicePath(one, channel)), one, recording.longest);
  const request = {
    ...{ written: texts, recording, channel, knobs: knobsOf(patch), knobsOf, concernsOf },
    tries: 120,
    isLevelled: true,
    onProgress: () => {},
    breathe: () => Promise.resolve(),
    isStopped,
  };
  return grownFit(request, await fitPatch(request));
}

describe('a fit that grows', () => {
  let made: Grown;
  beforeAll(async () => {
    made = await grown(WITH_NOISE);
  }, 60_000);

  it('adds the noise that the recording has, and comes nearer by what it says', () => {
    const [first] = made.growths;
    expect(first?.isKept).toBe(true);
    expect(first?.layer?.modules.join(' ')).toMatch(/kind: noise/);
    expect((first?.before ?? 0) - (first?.after ?? 0)).toBeGreaterThan(WORTH_DB);
    expect(made.fit.distanceAfter).toBeLessThan(0.5 * (first?.before ?? 0));
    expect(made.fit.text).toMatch(/^# keep this line/);
    expect(made.fit.text).toContain('layer-1-noise');
  });

  it('tells of each setting what it was in the patch, and of new ones where they began', () => {
    const paths = made.fit.settings.map(({ knob }) => knob.path);
    expect(new Set(paths).size).toBe(paths.length);
    expect(made.fit.settings.find(({ knob }) => knob.path === 'body.decay')?.knob.before).toBe(0.3);
  });

  it('adds nothing to a patch that lacks nothing', async () => {
    const { fit, growths } = await grown(TOM);
    expect(growths.filter(({ isKept }) => isKept)).toEqual([]);
    expect(fit.text).toBe(TOM);
  });

  it('ends with the best so far once it is stopped', async () => {
    const { fit, growths } = await grown(WITH_NOISE, () => true);
    expect(growths).toEqual([]);
    expect(fit.isStopped).toBe(true);
  });
});
