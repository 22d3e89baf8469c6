// too-quiet: loudness held against a meter that is not ours, over the render.

import { beforeAll, describe, expect, it } from 'vitest';
import { close } from '../../close.ts';
import { type SecondReader, secondReader } from '../../measure/second-reader.ts';
import { by, figure, RATE, rendered, voice } from '../voice.ts';

/** A steady sine of 1 kHz at so many percent of 5 V, in front of an output of 10 V; of the voice nothing. */
const tone = (percent: number) =>
  voice({
    modules: [
      'tone: { kind: oscillator, at-zero: 1 kHz }',
      `down: { kind: mixer, level-1: ${percent} %, level-2: 0 % }`,
    ],
    sound: ['tone.sine -> down.in-1', 'level.out -> down.in-2', 'down.out -> out.left'],
  });

/** Noise by itself through a mixer, and the voice beside it at a level in percent. */
const beside = (percent: number) =>
  voice({
    modules: [
      'rush: { kind: noise, level: 2 V }',
      `mix: { kind: mixer, level-1: 100 %, level-2: ${percent} % }`,
    ],
    sound: ['rush.white -> mix.in-1', 'level.out -> mix.in-2', 'mix.out -> out.left'],
    hiss: 'level: 2 V',
    hit: 'xxxx xxxx',
  });

describe('too-quiet', () => {
  let meter: SecondReader;
  beforeAll(async () => {
    meter = await secondReader();
  });
  const whole = (text: string) => {
    const [left] = rendered(text, []).mix as [Float64Array];
    return meter.loudnessMono(RATE, left);
  };

  it('finds a mix under -30 LUFS, and none just over it', () => {
    // A sine on one side: LUFS = 20 log10(amplitude) - 3.01, so 5 V x 9 % is -30 LUFS.
    const [soft, ...others] = by('too-quiet', tone(8.5));
    expect(others).toEqual([]);
    expect(soft?.severity).toBe('note');
    expect(soft?.jack).toEqual({ module: 'out', jack: 'left' });
    close(figure(soft, 'loudnessLufs'), whole(tone(8.5)), {
      abs: 0.05,
      unit: 'LU',
      why: 'half of a tenth, to which loudness is told',
    });
    expect(by('too-quiet', tone(9.5))).toEqual([]);
    expect(whole(tone(8.5))).toBeLessThan(-30);
    expect(whole(tone(9.5))).toBeGreaterThan(-30);
  });

  it('says by how much to turn it up, and what comes of that is no clip', () => {
    const [finding] = by('too-quiet', tone(5));
    const more = Number(/by (\d+) dB/.exec(finding?.fix ?? '')?.[1]);
    const louder = tone(5 * 10 ** (more / 20));
    expect(by('too-quiet', louder)).toEqual([]);
    expect(by('clips', louder)).toEqual([]);
  });

  it('finds a voice more than 25 LU under the whole, and none just over that', () => {
    const text = beside(100);
    const { volts, mix } = rendered(text, ['level.out']);
    const alone = (volts[0] as Float64Array).map((v) => v / 10);
    const [left] = mix as [Float64Array];
    // How far under the whole the voice is at 100 %; less of it is as many dB less.
    const under = meter.loudnessMono(RATE, left) - meter.loudnessMono(RATE, alone);
    const at = (lu: number) => beside(100 * 10 ** ((under - lu) / 20));
    const [drowned, ...others] = by('too-quiet', at(26));
    expect(others).toEqual([]);
    expect(drowned?.jack).toEqual({ module: 'level', jack: 'out' });
    expect(figure(drowned, 'underLu')).toBeGreaterThan(25);
    expect(by('too-quiet', at(24))).toEqual([]);
  });

  it('takes no voice of a mix that swells for drowned, however soft both begin', () => {
    const swelling = voice({
      rhythm: 'gate: 1.9 s',
      hit: 'x---------------',
      hiss: 'level: 3 V',
      shape: 'attack: 1.9 s, curve: linear',
      level: 'response: exponential',
      modules: ['place: { kind: reverberator }'],
      sound: ['level.out -> place.in', 'place.left -> out.left', 'place.right -> out.right'],
    });
    expect(by('too-quiet', swelling)).toEqual([]);
  });

  it('says that what rings on after the last step is not in it', () => {
    expect(by('too-quiet', tone(5))[0]?.message).toContain('LUFS up to its last step');
  });

  it('says nothing while there is a fault: how loud it will be is not known yet', () => {
    const text = tone(5);
    expect(by('too-quiet', text)).toHaveLength(1);
    expect(
      by('too-quiet', text.replace('drums.hit -> shape.trigger', 'drums.run -> shape.cut')),
    ).toEqual([]);
  });

  it('says nothing of what is silent: other rules do', () => {
    const silent = voice({ hit: '---- ----' });
    expect(by('too-quiet', silent)).toEqual([]);
    expect(by('too-quiet', beside(0))).toEqual([]);
  });
});
