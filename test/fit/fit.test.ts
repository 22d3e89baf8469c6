// A fit finds the settings that a recording was made with: for renders, and for sounds of closed form.

import { describe, expect, it } from 'vitest';
import { readVariant } from '../../src/compare/variant.ts';
import { channelOf, type Fit, fewestTries, fitPatch } from '../../src/fit/fit.ts';
import { limited, movable } from '../../src/fit/limits.ts';
import { voiceAlone, voicePath } from '../../src/fit/path.ts';
import { type RecordedHits, recordedHits } from '../../src/fit/recording.ts';
import { knobsWith, movedBy, movedBy10, readKnobs, usualKnobs } from '../../src/fit/settings.ts';
import type { Concern } from '../../src/fit/settle.ts';
import { withPaths, withValues } from '../../src/fit/write.ts';
import type { Patch } from '../../src/patch/patch.ts';
import { close } from '../close.ts';
import { rendered, source, spoilt, uniform } from '../compare/fit-recordings.ts';
import { example, written } from '../compare/written.ts';

// Half the usual rate costs half the time.
const RATE = 24_000;

const HAT = written(`# the workshop's hat
title: Hat
modules:
  drums: { kind: rhythm, tempo: 60 bpm, channels: [hat], patterns: { beat: { hat: "x-x-x-x-" } }, song: [beat] }
  hiss: { kind: noise, level: 2 V }
  bright: { kind: filter, cutoff: 7 kHz, q: 0.9 }   # keeps the top
  shape: { kind: envelope, mode: trigger, attack: 0.4 ms, decay: 300 ms }
  level: { kind: amplifier, response: linear }
  out: { kind: output }
cables:
  - drums.hat   -> shape.trigger
  - shape.out   -> level.control
  - hiss.white  -> bright.in
  - bright.high -> level.in
  - level.out   -> out.left
`);
const KICK = example('kick.yaml', ['parts/kick.yaml']);

async function fitted(
  { written: text, patch }: ReturnType<typeof written>,
  recording: RecordedHits,
  vary: readonly string[],
  options: {
    tries?: number;
    stopAfter?: number;
    isLevelled?: boolean;
    concernsOf?: (patch: Patch) => readonly Concern[];
  } = {},
): Promise<{ made: Fit; values: Record<string, number> }> {
  let done = 0;
  const made = await fitPatch({
    written: text,
    recording,
    channel: channelOf(patch, undefined),
    knobs: readKnobs(vary, patch),
    tries: options.tries ?? 70,
    isLevelled: options.isLevelled ?? true,
    concernsOf: options.concernsOf ?? (() => []),
    onProgress: (count) => {
      done = count;
    },
    breathe: () => Promise.resolve(),
    isStopped: () => done >= (options.stopAfter ?? Number.POSITIVE_INFINITY),
  });
  const values = Object.fromEntries(made.settings.map(({ knob, after }) => [knob.path, after]));
  return { made, values };
}

function octaves(found: number | undefined, true_: number): number {
  return Math.abs(Math.log2((found ?? 0) / true_));
}

function share(found: number | undefined, true_: number): number {
  return Math.abs((found ?? 0) / true_ - 1);
}

describe('a fit to renders with known settings', () => {
  const set = ['shape.decay=140ms', 'bright.cutoff=3kHz'];
  const vary = ['shape.decay=30ms..1s', 'bright.cutoff=1kHz..9kHz'];
  const clean = rendered(HAT.written, set, { sampleRate: RATE, seconds: 4 });

  // Tolerances as agreed for the command; another seed makes another noise, whose chance they cover.
  it('finds decay and cutoff of a hat', async () => {
    const { made, values } = await fitted(HAT, recordedHits(source(RATE, clean), 'hat'), vary);
    expect(share(values['shape.decay'], 0.14)).toBeLessThan(0.05);
    expect(octaves(values['bright.cutoff'], 3000)).toBeLessThan(1 / 12);
    expect(made.distanceAfter).toBeLessThan(made.distanceBefore / 3);
    expect(made.settings.map(({ isDecided }) => isDecided)).toEqual([true, true]);
  });

  it('finds them under noise and hum 30 dB down, on an offset, in stereo', async () => {
    const noisy = spoilt(clean, RATE, 30);
    const other = noisy.map((value) => 0.5 * value);
    const recording = recordedHits(source(RATE, noisy, other), 'hat');
    const { made, values } = await fitted(HAT, recording, vary);
    expect(share(values['shape.decay'], 0.14)).toBeLessThan(0.15);
    expect(octaves(values['bright.cutoff'], 3000)).toBeLessThan(1 / 6);
    expect(made.distanceAfter).toBeLessThan(made.distanceBefore);
  });

  it("finds how fast a kick's pitch falls, and gives the same result again", async () => {
    const sound = rendered(KICK.written, ['kick.fall.decay=45ms'], {
      sampleRate: RATE,
      seconds: 2,
    });
    const recording = recordedHits(source(RATE, sound), 'kick');
    const once = await fitted(KICK, recording, ['kick.fall.decay=10ms..400ms']);
    expect(share(once.values['kick.fall.decay'], 0.045)).toBeLessThan(0.05);
    expect(once.made.distanceAfter).toBeLessThan(0.1);
    const again = await fitted(KICK, recording, ['kick.fall.decay=10ms..400ms']);
    expect(again.values).toEqual(once.values);
    // What the new text says sounds as near as was told. Half as far as two figures differ.
    const knob = readKnobs(['kick.fall.decay'], KICK.patch)[0];
    if (knob === undefined) throw new Error('no knob');
    const text = withValues(KICK.written, [
      { knob, value: once.values['kick.fall.decay'] as number },
    ]);
    const texts = { ...KICK.written.texts, 'test.yaml': text };
    const next = written(text, ['parts/kick.yaml']);
    const read = { written: { ...KICK.written, texts }, patch: next.patch };
    const { made } = await fitted(read, recording, ['kick.fall.decay=10ms..400ms'], {
      stopAfter: 1,
    });
    close(made.distanceBefore, once.made.distanceAfter, {
      abs: 0.005,
      unit: 'dB',
      why: 'the same patch, in settings of three digits',
    });
  });
});

// What is known of these is their settings; another seed makes another noise.
describe('the shape of an envelope', () => {
  const shapeOf = async (set: readonly string[]) => {
    const sound = rendered(HAT.written, set, { sampleRate: RATE, seconds: 0.5 });
    const recording = recordedHits(source(RATE, sound), 'hat');
    const path = voicePath(HAT.patch, channelOf(HAT.patch, undefined));
    const vary = usualKnobs(HAT.patch, path);
    const made = await fitPatch({
      ...{ written: HAT.written, recording, channel: channelOf(HAT.patch, undefined) },
      knobs: limited(vary, HAT.patch, recording.longest),
      tries: 260,
      isLevelled: true,
      concernsOf: () => [],
      onProgress: () => {},
      breathe: () => Promise.resolve(),
      isStopped: () => false,
    });
    const { patch } = written(made.text);
    return { made, shape: patch.modules.find(({ name }) => name === 'shape')?.settings ?? {} };
  };

  it('gets two slopes where the recording has them', async () => {
    const { made, shape } = await shapeOf([
      'shape.decay=60ms',
      'shape.sustain=12%',
      'shape.release=500ms',
    ]);
    // Where the first slope ends is told by little: 3 dB, and the second by a tenth.
    close(20 * Math.log10((shape.sustain as number) / 0.12), 0, {
      abs: 3,
      unit: 'dB',
      why: 'where the first slope ends is told by little',
    });
    expect(share(shape.release as number, 0.5)).toBeLessThan(0.1);
    expect(made.distanceAfter).toBeLessThan(made.distanceBefore / 3);
  });

  it('falls straight where the recording does, and stays as it is where that bends', async () => {
    const straight = await shapeOf(['shape.curve=linear', 'shape.decay=200ms']);
    expect(straight.shape.curve).toBe('linear');
    expect(share(straight.shape.decay as number, 0.2)).toBeLessThan(0.1);
    const bent = await shapeOf(['shape.decay=150ms']);
    expect(bent.shape).toMatchObject({ curve: 'exponential', sustain: 0 });
  });
});

describe('a fit to a sound of closed form', () => {
  /** exp(-t/tau) times noise that is not ours, or a sine; four hits, 0.5 s apart. */
  function decays(tau: number, wave: (n: number) => number): Float64Array {
    const samples = new Float64Array(Math.round(2.1 * RATE));
    for (let hit = 0; hit < 4; hit++)
      for (let n = 0; n < 0.48 * RATE; n++)
        samples[Math.round((0.1 + 0.5 * hit) * RATE) + n] =
          0.4 * Math.exp(-n / RATE / tau) * wave(n);
    return samples;
  }

  // A decay is 5 time constants: the meaning that the format gives it.
  it('finds the time constant of decaying noise within 5 %', async () => {
    const next = uniform(88172645);
    const plain = written(
      Object.values(HAT.written.texts).join('').replace('bright.high', 'bright.low'),
    );
    const open = {
      ...plain,
      written: { ...plain.written, set: ['bright.cutoff=11kHz', 'bright.q=0.5'] },
    };
    const recording = recordedHits(
      source(
        RATE,
        decays(0.03, () => next()),
      ),
      'noise',
    );
    const { values } = await fitted(open, recording, ['shape.decay=20ms..1s']);
    expect(share((values['shape.decay'] as number) / 5, 0.03)).toBeLessThan(0.05);
  });

  it('finds the time constant and the frequency of a decaying sine within 5 % and 1 %', async () => {
    const tone = written(`modules:
  drums: { kind: rhythm, channels: [tom], patterns: { beat: { tom: "x---" } }, song: [beat] }
  body: { kind: oscillator, at-zero: 300 Hz }
  shape: { kind: envelope, mode: trigger, attack: 0 s, decay: 900 ms }
  level: { kind: amplifier, response: linear }
  out: { kind: output }
cables: [drums.tom -> shape.trigger, shape.out -> level.control, body.sine -> level.in, level.out -> out.left]
`);
    const sine = decays(0.06, (n) => Math.sin((2 * Math.PI * 220 * n) / RATE));
    const recording = recordedHits(source(RATE, sine), 'sine');
    const { values } = await fitted(
      tone,
      recording,
      ['shape.decay=50ms..3s', 'body.at-zero=100Hz..1kHz'],
      { tries: 200 },
    );
    expect(share((values['shape.decay'] as number) / 5, 0.06)).toBeLessThan(0.05);
    expect(share(values['body.at-zero'], 220)).toBeLessThan(0.01);
  });
});

describe('what a fit says of itself', () => {
  const sound = rendered(HAT.written, ['shape.decay=140ms'], { sampleRate: RATE, seconds: 2 });
  const recording = recordedHits(source(RATE, sound), 'hat');

  it('leaves a setting that makes no difference as it was, and calls it undecided', async () => {
    const { made } = await fitted(HAT, recording, ['shape.decay=30ms..1s', 'shape.release'], {
      tries: 60,
    });
    const release = made.settings[1];
    expect(release).toMatchObject({ after: 0.1, isDecided: false, end: null });
  });

  it('does not mind the level, unless it is asked to', async () => {
    const vary = ['hiss.level=0.2V..3V'];
    const deaf = await fitted(HAT, recording, vary, { tries: 30 });
    expect(deaf.made.settings[0]).toMatchObject({ after: 2, isDecided: false });
    const more = rendered(HAT.written, ['shape.decay=140ms'], { sampleRate: RATE, seconds: 8 });
    const half = recordedHits(
      source(
        RATE,
        more.map((value) => value / 2),
      ),
      'hat',
    );
    const trueDecay = { ...HAT, written: { ...HAT.written, set: ['shape.decay=140ms'] } };
    const { values } = await fitted(trueDecay, half, vary, { tries: 40, isLevelled: false });
    // Half the level is half the volts. Onsets are known to a frame of 2 ms, which is worth 0.6 dB, or
    // 7 %, of a sound that decays in 28 ms; the rest is chance between the two noises.
    expect(share(values['hiss.level'], 1)).toBeLessThan(0.1);
  });

  it('keeps the best so far when it is stopped', async () => {
    const { made } = await fitted(HAT, recording, ['shape.decay=30ms..1s'], { stopAfter: 4 });
    expect(made).toMatchObject({ isStopped: true, tries: 4 });
    expect(made.distanceAfter).toBeLessThanOrEqual(made.distanceBefore);
    expect(made.settings[0]?.riseDb).toBeNull();
  });

  it('comes to the end of a range that does not hold the answer', async () => {
    const { made } = await fitted(HAT, recording, ['shape.decay=250ms..1s'], { tries: 40 });
    expect(made.settings[0]).toMatchObject({ after: 0.25, end: 'low' });
  });

  it('takes no more tries than it is given', async () => {
    const tries = fewestTries(1);
    const { made } = await fitted(HAT, recording, ['shape.decay'], { tries });
    expect(made.tries).toBeLessThanOrEqual(tries + 1);
  });
});

describe('what a fit gives back', () => {
  // A sine at 3 kHz through a high-pass: it does not tell cutoffs apart that are well below it.
  const tone = (cutoff: string) =>
    written(`modules:
  drums: { kind: rhythm, tempo: 60 bpm, channels: [tom], patterns: { beat: { tom: "x-x-x-x-" } }, song: [beat] }
  body: { kind: oscillator, at-zero: 3 kHz }
  thin: { kind: filter, cutoff: ${cutoff} }
  shape: { kind: envelope, mode: trigger, attack: 5 ms, decay: 200 ms }
  level: { kind: amplifier, response: linear }
  out: { kind: output }
cables: [drums.tom -> shape.trigger, shape.out -> level.control, body.triangle -> thin.in, thin.high -> level.in, level.out -> out.left]
`);
  const full = rendered(tone('20 Hz').written, [], { sampleRate: RATE, seconds: 2 });
  const recording = recordedHits(source(RATE, full), 'tone');
  const vary = ['thin.cutoff=20Hz..11kHz'];

  it('is a setting whose value is as good as what was found, told with how far that goes', async () => {
    const { made } = await fitted(tone('150 Hz'), recording, vary);
    const [cutoff] = made.settings;
    expect(cutoff).toMatchObject({ after: 150, isDecided: false, alike: { low: null } });
    // Further than it is, and not as far as the tone, from which a cutoff there takes 3 dB or more.
    expect(cutoff?.alike?.high).toBeGreaterThan(150);
    expect(cutoff?.alike?.high).toBeLessThan(3000);
  });

  it('is no further from what it was than the recording asks', async () => {
    const { made } = await fitted(tone('6 kHz'), recording, vary);
    const [cutoff] = made.settings;
    expect(cutoff?.isDecided).toBe(false);
    expect(cutoff?.alike?.low).toBeNull();
    // The highest of the values that are alike, not some value far below.
    expect(cutoff?.after).toBeGreaterThan(0.7 * (cutoff?.alike?.high ?? 0));
    expect(made.distanceAfter).toBeLessThan(made.distanceBefore / 5);
  });

  it('is what would bring a concern, one setting after the other, and no more than needed', async () => {
    const sound = rendered(HAT.written, ['shape.decay=270ms', 'bright.cutoff=3kHz'], {
      sampleRate: RATE,
      seconds: 2,
    });
    const hat = recordedHits(source(RATE, sound), 'hat');
    const concernsOf = ({ modules }: Patch): readonly Concern[] =>
      modules.some(({ settings }) => typeof settings.decay === 'number' && settings.decay < 0.29)
        ? [{ about: 'too-short', weight: 1, message: 'It is too short.' }]
        : [];
    const { made, values } = await fitted(
      HAT,
      hat,
      ['shape.decay=30ms..1s', 'bright.cutoff=1kHz..9kHz'],
      { concernsOf },
    );
    expect(values['shape.decay']).toBe(0.3);
    expect(octaves(values['bright.cutoff'], 3000)).toBeLessThan(1 / 4);
    expect(made.refused.map(({ knob }) => knob.path)).toEqual(['shape.decay']);
    expect(made.refused[0]?.concerns[0]?.message).toBe('It is too short.');
    expect(made.distanceAfter).toBeLessThan(made.distanceBefore);
  });

  it('is not what the patch had a concern with before', async () => {
    const always = () => [{ about: 'too-short', weight: 1, message: 'It is too short.' }];
    const { made } = await fitted(tone('6 kHz'), recording, vary, { concernsOf: always });
    expect(made.refused).toEqual([]);
    expect(made.settings[0]?.after).not.toBe(6000);
  });

  it('is all, where nothing in the ranges is nearer than the patch', async () => {
    const { made, values } = await fitted(tone('20 Hz'), recording, ['thin.cutoff=4kHz..11kHz']);
    expect(values['thin.cutoff']).toBe(20);
    expect(made.text).toBe(tone('20 Hz').written.texts['test.yaml']);
    expect(made.distanceAfter).toBe(made.distanceBefore);
  });

  it('is a level near silence, whose last decibels would be like the recording', async () => {
    // A hiss above 8 kHz, of which a tone at 110 Hz has only the 73rd harmonic and above.
    const next = uniform(88172645);
    let last = 0;
    const hiss = new Float64Array(2 * RATE).map((_, n) => {
      const now = next();
      const high = now - last;
      last = now;
      return 0.3 * high * (n % RATE < 2400 ? 0 : Math.exp(-((n % RATE) - 2400) / RATE / 0.04));
    });
    const low = written(
      Object.values(tone('20 Hz').written.texts).join('').replace('3 kHz', '110 Hz'),
    );
    const { made } = await fitted(low, recordedHits(source(RATE, hiss), 'hiss'), vary);
    expect(made.louderDb).toBeGreaterThan(-25);
  });

  it('spends the tries that it has left on a last polish of all that moved', async () => {
    const sound = rendered(HAT.written, ['shape.decay=140ms', 'bright.cutoff=3kHz'], {
      sampleRate: RATE,
      seconds: 2,
    });
    const tries = 40;
    const { made } = await fitted(
      HAT,
      recordedHits(source(RATE, sound), 'hat'),
      ['shape.decay=30ms..1s', 'bright.cutoff=1kHz..9kHz'],
      { tries },
    );
    // Four a setting are kept for how sharply each is decided, of which two are needed.
    expect(made.tries).toBeGreaterThanOrEqual(tries - 4);
    expect(made.tries).toBeLessThanOrEqual(tries + 2);
  });
});

describe('how far settings go', () => {
  const CABINET = `units:
  drums: { kind: rhythm }
  hiss: { kind: noise }
  bright: { kind: filter, dials: { cutoff: { 0: 900 Hz, 10: 5 kHz } } }
  shape: { kind: envelope, fixed: { attack: 1 ms }, dials: { decay: { 0: 20 ms, 10: 8 s } } }
  level: { kind: amplifier }
  out: { kind: output }
`;
  const owned = (() => {
    const text = Object.values(HAT.written.texts).join('').replace('attack: 0.4 ms, ', '');
    const texts = new Map([
      ['test.yaml', `rack: rack.yaml\n${text.replace('7 kHz', '4 kHz')}`],
      ['rack.yaml', CABINET],
    ]);
    const { patch, problems } = readVariant(
      { main: 'test.yaml', texts: Object.fromEntries(texts), set: [] },
      [],
    );
    if (patch === undefined) throw new Error(JSON.stringify(problems));
    return patch;
  })();

  it('is four times the longest hit for times, and what a dial has', () => {
    const knobs = readKnobs(['shape.decay', 'bright.cutoff', 'shape.release=1ms..1s'], owned);
    expect(limited(knobs, owned, 0.5)).toMatchObject([
      { low: 0.02, high: 2, isRatio: true },
      { low: 900, high: 5000 },
      { low: 0.001, high: 1 },
    ]);
    expect(limited(readKnobs(['shape.attack'], HAT.patch), HAT.patch, 0.5)).toMatchObject([
      { low: 0, high: 2, isRatio: true },
    ]);
  });

  it('is nowhere for what is fixed, which is left out or refused', () => {
    const path = voicePath(owned, channelOf(owned, undefined));
    const names = movable(usualKnobs(owned, path), owned).map((knob) => knob.path);
    expect(names).toEqual([
      'bright.cutoff',
      'bright.q',
      'shape.decay',
      'shape.sustain',
      'shape.release',
      'shape.curve',
    ]);
    const fixed = readKnobs(['shape.attack'], owned);
    expect(() => limited(fixed, owned, 0.5)).toThrow(/shape\.attack is fixed on the unit "shape"/);
  });

  it('is refused where nothing is left of it', () => {
    const far = (text: string) => () => limited(readKnobs([text], owned), owned, 0.5);
    expect(far('shape.decay=3s..5s')).toThrow(/longest hit has 500 ms.*over 4 times/);
    expect(far('bright.cutoff=6kHz..9kHz')).toThrow(/dial of the rack goes from 900 Hz to 5 kHz/);
  });

  it('is a tenth of the value, and of no time the shortest, not a tenth of its range', () => {
    const [attack, decay] = readKnobs(['shape.attack', 'shape.decay'], HAT.patch);
    if (attack === undefined || decay === undefined) throw new Error('no knobs');
    for (const moved of movedBy10(attack, 0)) expect(moved).toBeLessThan(0.001);
    expect(movedBy10(decay, 0.1)).toEqual([0.1 / 1.1, 0.1 * 1.1]);
  });
});

describe('what a recording must be', () => {
  const rate = 48_000;
  const refuses = (samples: Float64Array, sampleRate = rate) =>
    expect(() => recordedHits(source(sampleRate, samples), 'rec.wav'));

  it('is refused with what to do', () => {
    refuses(new Float64Array(rate)).toThrow(/rec\.wav: it is silent/);
    refuses(new Float64Array(0)).toThrow(/rec\.wav: it is silent/);
    refuses(new Float64Array(rate).fill(0.5).map((v, n) => v * (n % 2))).toThrow(
      /no hit was found/,
    );
    refuses(new Float64Array(900).map((_, n) => Math.sin(n) * Math.exp(-n / 200))).toThrow(
      /18\.8 ms long, too short/,
    );
    refuses(new Float64Array(4000), 4000).toThrow(/4000 Hz.*Convert/);
    refuses(new Float64Array(4000), 384_000).toThrow(/384000 Hz.*Convert/);
  });

  it.each([8000, 44_100, 192_000])('is taken at %d Hz', (sampleRate) => {
    const samples = new Float64Array(0.5 * sampleRate).map((_, n) =>
      n < 0.1 * sampleRate
        ? 0
        : Math.exp(-(n / sampleRate - 0.1) / 0.03) * Math.sin((2 * Math.PI * 300 * n) / sampleRate),
    );
    const { used, target } = recordedHits(source(sampleRate, samples), 'rec.wav');
    expect(used).toBe(1);
    // 60 dB down after tau ln 1000 = 207 ms; 120 ms more are played, and windows of 80 ms smear.
    expect(target.seconds).toBeGreaterThan(0.3);
    expect(target.seconds).toBeLessThan(0.4);
  });

  it('says when it is cut short', () => {
    const samples = new Float64Array(12_000).map((_, n) =>
      n < 2400 ? 0 : Math.exp(-(n - 2400) / 9600) * Math.sin((2 * Math.PI * 300 * n) / rate),
    );
    expect(recordedHits(source(rate, samples), 'rec.wav').isCut).toBe(true);
  });
});

describe('which settings and modules', () => {
  const kit = example('two-bar-kit.yaml', [
    'parts/kick.yaml',
    'parts/snare.yaml',
    'parts/hats.yaml',
  ]);

  it('wants to know the channel where several are heard', () => {
    expect(() => channelOf(kit.patch, undefined)).toThrow(/kick, snare, closed, open.*--channel/);
    expect(() => channelOf(kit.patch, 'cowbell')).toThrow(/--channel cowbell.*kick, snare/);
    expect(channelOf(kit.patch, 'drums.snare')?.name).toBe('snare');
  });

  it('takes the voice of a channel, and leaves the others out', () => {
    const path = voicePath(kit.patch, channelOf(kit.patch, 'kick'));
    expect(path.has('kick.body')).toBe(true);
    expect([...path].filter((name) => /^(snare|hats)\./.test(name))).toEqual([]);
    const names = usualKnobs(kit.patch, path).map((knob) => knob.path);
    expect(names).toContain('kick.fall.decay');
    const channel = channelOf(kit.patch, 'kick');
    if (channel === undefined) throw new Error('no channel');
    const running = voiceAlone(kit.patch, channel).modules.filter(
      ({ definition }) => definition.create !== undefined,
    );
    expect(running.some(({ name }) => name.startsWith('snare.'))).toBe(false);
  });

  it('takes the filter and the envelope of a hat', () => {
    const path = voicePath(HAT.patch, channelOf(HAT.patch, undefined));
    expect(usualKnobs(HAT.patch, path).map((knob) => knob.path)).toEqual([
      'bright.cutoff',
      'bright.q',
      'shape.attack',
      'shape.decay',
      'shape.sustain',
      'shape.release',
      'shape.curve',
    ]);
  });

  it('takes no second slope and no curve of an envelope that opens no amplifier', () => {
    const names = usualKnobs(KICK.patch, voicePath(KICK.patch, channelOf(KICK.patch, undefined)))
      .map(({ path }) => path)
      .filter((path) => /sustain|release|curve/.test(path));
    expect(names).toEqual([
      'kick.loudness.sustain',
      'kick.loudness.release',
      'kick.loudness.curve',
    ]);
  });

  it('turns a release with the decay that it goes on from, as long as it is not moved by itself', () => {
    const text = Object.values(HAT.written.texts).join('');
    const knobsOf = (release: string) => {
      const { patch } = written(text.replace('decay: 300 ms', `decay: 300 ms${release}`));
      return usualKnobs(patch, voicePath(patch, channelOf(patch, undefined)));
    };
    const twins = (release: string) =>
      knobsOf(release)
        .filter(({ setting }) => setting === 'decay')
        .map(({ path, twin }) => [path, twin]);
    expect(twins(', release: 300 ms')).toEqual([['shape.decay', 'release']]);
    expect(twins('')).toEqual([['shape.decay', undefined]]);
    const knobs = knobsOf(', release: 300 ms').filter(({ setting }) =>
      /decay|release/.test(setting),
    );
    const moved = (...values: readonly number[]) =>
      movedBy(knobs, values).map(({ knob, value }) => [knob.path, value]);
    expect(moved(0.1, 0.3)).toEqual([
      ['shape.decay', 0.1],
      ['shape.release', 0.1],
    ]);
    expect(moved(0.1, 0.2)).toEqual([
      ['shape.decay', 0.1],
      ['shape.release', 0.2],
    ]);
    expect(moved(0.3, 0.3)).toEqual([]);
  });

  it('takes pitches and levels, of a mixer only those that have a cable', () => {
    const names = usualKnobs(kit.patch, voicePath(kit.patch, channelOf(kit.patch, 'kick'))).map(
      (knob) => knob.path,
    );
    expect(names).toContain('kick.body.at-zero');
    expect(names.filter((name) => name.startsWith('kick.depth.'))).toEqual([
      'kick.depth.level-1',
      'kick.depth.level-2',
    ]);
  });

  it('takes the times of a low-pass gate, and the damping of a string', () => {
    const { patch } = example('plucked-and-struck.yaml', [
      'parts/string.yaml',
      'parts/hand-drum.yaml',
    ]);
    const names = (channel: string): readonly string[] =>
      usualKnobs(patch, voicePath(patch, channelOf(patch, channel))).map(({ path }) => path);
    expect(names('hand').filter((name) => name.includes('.hand.'))).toEqual(
      ['low', 'high'].flatMap((drum) =>
        ['cutoff', 'q', 'rise', 'fall'].map((setting) => `${drum}.hand.${setting}`),
      ),
    );
    expect(names('pluck')).toContain('pluck.string.damping');
    expect(names('pluck')).not.toContain('pluck.string.time');
  });

  it.each([
    ['shape.decay=10ms..90s', /"decay" is out of range: "90s"\.\n.*expected a time/],
    ['shape.decay=500ms..10ms', /lower value to the higher/],
    ['shape.decay=10..20', /"decay" has no unit/],
    ['shape.decay=10ms', /two values with "\.\."/],
    ['shape.mode', /not a single number/],
    ['drums.song', /not a single number/],
    ['shap.decay', /no module "shap"\.\n.*did you mean shape/],
    ['shape.decai', /no setting "decai"\.\n.*did you mean decay/],
    ['decay', /no module ""/],
  ])('refuses --vary %s', (text, message) => {
    expect(() => readKnobs([text], HAT.patch)).toThrow(message);
  });

  it('refuses a setting that is varied twice', () => {
    expect(() => readKnobs(['shape.decay', 'shape.decay'], HAT.patch)).toThrow(/varied twice/);
  });
});

describe('the new text', () => {
  it('keeps comments, layout and time constants, and sets parts where they are used', () => {
    const tau = written(
      (Object.values(HAT.written.texts)[0] as string).replace('decay: 300 ms', 'decay: 60 ms tau'),
    );
    const [decay, cutoff] = readKnobs(['shape.decay', 'bright.cutoff'], tau.patch);
    if (decay === undefined || cutoff === undefined) throw new Error('no knobs');
    const before = tau.written.texts['test.yaml'] as string;
    expect(
      withValues(tau.written, [
        { knob: decay, value: 0.1 },
        { knob: cutoff, value: 4500 },
      ]),
    ).toBe(before.replace('60 ms tau', '20 ms tau').replace('7 kHz', '4.5 kHz'));
  });

  it('has one knob a setting, the range that is asked for in place of the usual', () => {
    const { patch } = HAT;
    const usual = readKnobs(['shape.decay', 'bright.cutoff'], patch);
    const asked = readKnobs(['shape.decay=20ms..50ms'], patch);
    expect(knobsWith(usual, asked)).toEqual([usual[1], asked[0]]);
  });

  it('has paths that hold from another folder', () => {
    const text =
      'rack: racks/a.yaml\nparts:\n  one: parts/b.yaml # its part\n  two: { file: parts/c.yaml, set: { tape.file: d.wav } }\nmodules: { tape: { kind: recording, file: e.wav } }\n';
    expect(withPaths('x.yaml', text, (path) => `../old/${path}`)).toBe(
      'rack: "../old/racks/a.yaml"\nparts:\n  one: "../old/parts/b.yaml" # its part\n  two: { file: "../old/parts/c.yaml", set: { tape.file: "../old/d.wav" } }\nmodules: { tape: { kind: recording, file: "../old/e.wav" } }\n',
    );
  });
});
