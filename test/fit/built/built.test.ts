// Voices that are built from a recording alone: sounds of closed form, whose parts are known, with
// all modules there are, with the workshop's cabinet, and with hardly any.

import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { concernsOf } from '../../../src/cli/fit/concerns.ts';
import { type BuiltVoice, builtVoice } from '../../../src/fit/built/built.ts';
import { fitPatch } from '../../../src/fit/fit.ts';
import { voicePath } from '../../../src/fit/path.ts';
import { rankedVoices } from '../../../src/fit/ranking.ts';
import { type RecordedHits, recordedHits } from '../../../src/fit/recording.ts';
import { readKnobs, usualKnobs } from '../../../src/fit/settings.ts';
import { fileText } from '../../../src/patch/texts.ts';
import { close } from '../../close.ts';
import { source, uniform } from '../../compare/fit-recordings.ts';
import { PATCHES, written } from '../../compare/written.ts';

/** As low as an engine takes, and sounds as short as tell their slopes: a build plays some dozen voices. */
const RATE = 8000;
const RACK = readFileSync(join(PATCHES, 'racks', 'teaching-cabinet.yaml'), 'utf8');

interface Made {
  readonly tones?: readonly { hz: number; level: number; decay: number }[];
  /** White, and when it is down by 60 dB, s. */
  readonly noise?: { level: number; decay: number };
}

/** A fifth of a second of silence, then sines and noise that fall by 60 dB in their time. */
function recorded({ tones = [], noise }: Made): RecordedHits {
  const next = uniform(2463534242);
  const fall = (time: number, decay: number): number => 10 ** ((-3 * time) / decay);
  const samples = new Float64Array(0.8 * RATE).map((_, n) => {
    const time = n / RATE - 0.2;
    if (time < 0) return 0;
    return tones.reduce(
      (sum, { hz, level, decay }) =>
        sum + level * fall(time, decay) * Math.sin(2 * Math.PI * hz * time),
      noise === undefined ? 0 : noise.level * fall(time, noise.decay) * next(),
    );
  });
  return recordedHits(source(RATE, samples), 'take.wav');
}

const TONES = [
  { hz: 210, level: 0.4, decay: 0.3 },
  { hz: 517, level: 0.15, decay: 0.15 },
];
const DRUM = recorded({ tones: TONES });
const HISS = recorded({ noise: { level: 0.3, decay: 0.12 } });
const BOTH = recorded({ tones: TONES, noise: { level: 0.1, decay: 0.08 } });

function built(
  recording: RecordedHits,
  rack?: string,
  isStopped = () => false,
): Promise<BuiltVoice> {
  return builtVoice({
    recording,
    name: 'take.wav',
    rack: rack && 'rack.yaml',
    texts: {
      main: 'voice.yaml',
      set: [],
      texts: { 'voice.yaml': '', ...(rack && { 'rack.yaml': rack }) },
      ...(rack && { rack: 'rack.yaml' }),
    },
    ...{ concernsOf, isStopped },
    onProgress: () => {},
    breathe: () => Promise.resolve(),
  });
}

/** Each is built once. */
const VOICES = new Map([DRUM, HISS, BOTH].map((recording) => [recording, built(recording)]));
const voiceOf = (recording: RecordedHits) => VOICES.get(recording) as Promise<BuiltVoice>;

const kindsOf = ({ patch }: BuiltVoice): readonly string[] =>
  patch.modules.map(({ definition }) => definition.kind);

describe('a voice built from a recording', () => {
  it('has the partials that the recording has, with their decays', async () => {
    const { patch, renders } = await voiceOf(DRUM);
    // Of the shape that was taken, each part by itself and all of them together.
    expect(renders).toBeGreaterThan(TONES.length);
    const tones = patch.modules.filter(({ definition }) => definition.kind === 'resonator');
    for (const { hz, decay } of TONES) {
      // A tenth of a semitone, and a tenth of the time, which a fit then finds exactly.
      const tone = tones.find(
        ({ settings }) => Math.abs((settings['at-zero'] as number) / hz - 1) < 0.006,
      );
      close(tone?.settings.decay as number, decay, {
        rel: 0.1,
        unit: '',
        why: 'a tenth of the time, which a fit then finds exactly',
      });
    }
  });

  it('is of noise alone where there is no partial', async () => {
    const kinds = kindsOf(await voiceOf(HISS));
    expect(kinds).toContain('noise');
    expect(kinds).not.toContain('resonator');
  });

  it.each([
    ['partials', DRUM],
    ['noise', HISS],
    ['both', BOTH],
  ])(
    'of %s has 16 modules at most, no finding, a comment, and comes near',
    async (_, recording) => {
      const voice = await voiceOf(recording);
      expect(voice.patch.modules.length).toBeLessThanOrEqual(16);
      expect(concernsOf(voice.patch)).toEqual([]);
      expect(fileText(voice.written, 'voice.yaml')).toMatch(/^ {2}# One stroke a bar/m);
      const knobs = [
        ...usualKnobs(voice.patch, voicePath(voice.patch, voice.channel)),
        ...readKnobs(voice.also, voice.patch),
      ];
      const fit = await fitPatch({
        ...{ ...voice, recording, knobs, concernsOf },
        tries: 150,
        isLevelled: true,
        onProgress: () => {},
        breathe: () => Promise.resolve(),
        isStopped: () => false,
      });
      // What built voices are to reach in the mean of recorded drums.
      expect(fit.distanceAfter).toBeLessThan(5);
    },
  );

  it('is the same for the same recording', async () => {
    const texts = [await voiceOf(HISS), await built(HISS)].map(({ written: made }) =>
      fileText(made, 'voice.yaml'),
    );
    expect(texts[0]).toBe(texts[1]);
  });

  it('is the first that is come to once it is stopped, and as sound as any', async () => {
    let looks = 0;
    const voice = await built(BOTH, undefined, () => ++looks > 0);
    // Each plan and each shape looks once whether it is to stop; all that it leaves out would make some thirty
    // looks.
    expect(looks).toBeLessThan(10);
    expect(concernsOf(voice.patch)).toEqual([]);
  });

  it('is made of what the rack has, and names it', async () => {
    const voice = await built(DRUM, RACK);
    expect(kindsOf(voice)).not.toContain('resonator');
    expect(concernsOf(voice.patch)).toEqual([]);
    expect(fileText(voice.written, 'voice.yaml')).toMatch(/^rack: "rack.yaml"$/m);
  });

  it('is refused where the rack has no voice in it, with what is missing', async () => {
    const rack = 'units: { drums: { kind: rhythm }, out: { kind: output } }\n';
    await expect(built(HISS, rack)).rejects.toThrow(
      /No voice can be built of what the rack has: .+/,
    );
  });
});

describe('voices that are ranked', () => {
  const voice = (body: string, out: string): string => `modules:
  drums: { kind: rhythm, tempo: 40 bpm, channels: [hit], patterns: { once: { hit: "x---------------" } } }
  ${body}
  out: { kind: output }
${out}`;
  const tone = voice(
    'body: { kind: resonator, at-zero: 150 Hz, decay: 300 ms }',
    'cables: [drums.hit -> body.strike, body.out -> out.left]\n',
  );
  const noise = voice(
    `hiss: { kind: noise }
  shape: { kind: envelope, mode: trigger, decay: 300 ms, release: 300 ms }
  level: { kind: amplifier }`,
    'cables: [drums.hit -> shape.trigger, hiss.white -> level.in, shape.out -> level.control, level.out -> out.left]\n',
  );
  const silent = tone.replace('x---', '----');
  const candidates = Object.entries({ tone, noise, silent }).map(([name, text]) => {
    const { written: texts, patch } = written(text);
    const channel = { module: 'drums', name: 'hit', index: 0 };
    return { name, written: texts, channel, knobs: usualKnobs(patch, voicePath(patch, channel)) };
  });
  const ranked = (recording: RecordedHits, isStopped = () => false) =>
    rankedVoices(candidates, {
      ...{ recording, isLevelled: true, concernsOf, isStopped },
      onProgress: (done, total) => expect(done).toBeLessThanOrEqual(total),
      breathe: () => Promise.resolve(),
    });

  it.each([
    ['a drum', recorded({ tones: TONES.slice(0, 1) }), 'tone', 'noise'],
    ['a hiss', HISS, 'noise', 'tone'],
  ])(
    'for %s have the one of its kind first, with what sets the other apart, and say of one that cannot be heard why',
    async (_, recording, first, second) => {
      const ranking = await ranked(recording);
      expect(ranking.ranked.map(({ candidate }) => candidate.name)).toEqual([first, second]);
      expect(ranking.leftOut).toMatchObject([{ name: 'silent' }]);
      expect(ranking.leftOut[0]?.why).toMatch(/plays no hit/);
      // Why the other is not it.
      const [own, other] = ranking.ranked.map(({ kind }) => kind);
      // A tone and a noise differ in how much of them is partials, if in nothing else.
      expect(['toneShare', 'flatnessDb']).toContain(other?.differences[0]?.figure);
      expect(other?.distance).toBeGreaterThan(own?.distance as number);
      expect(ranking.ranked[1]?.fit?.shortfalls.length).toBeGreaterThan(0);
    },
  );

  it('are those that were come to, once it is stopped', async () => {
    const { ranked: some, leftOut } = await ranked(HISS, () => true);
    expect(some).toEqual([]);
    expect(leftOut.map(({ why }) => why)).toContain('not reached before it was stopped');
  });
});
