// swing-mismatch: a straight clock beside swung hits; the distance is (swing - 50 %) x pair, and is
// measured in the render.

import { describe, expect, it } from 'vitest';
import { close } from '../../close.ts';
import { by, figure, followedVoice, RATE, rendered, rises, voice, type Wanted } from '../voice.ts';

const ON_SAMPLES = { abs: 5e-5, unit: 's', why: 'edges lie on samples, 21 us apart' };

const swung = (rhythm: string, hit = 'xxxxxxxx') =>
  voice({
    hit,
    rhythm: `gate: 8 ms, ${rhythm}`,
    modules: [
      'walk: { kind: step-sequencer, rows: { a: [C2, D2] } }',
      'tone: { kind: oscillator }',
    ],
    cables: ['drums.clock -> walk.clock', 'walk.a -> tone.pitch', 'tone.sine -> out.right'],
  });

describe('swing-mismatch', () => {
  it('tells how far the clock is from the swung hits', () => {
    const text = swung('swing: 60 %, clock: 4 per quarter');
    const [finding] = by('swing-mismatch', text);
    expect(finding?.severity).toBe('note');
    expect(figure(finding, 'apartSteps')).toBe(4);
    // A tenth of a pair of 250 ms.
    close(figure(finding, 'apartSeconds'), 0.025, { abs: 5e-7, unit: 's', why: 'rounding' });
    const { volts } = rendered(text, ['drums.hit', 'drums.clock']);
    const [hits, clocks] = volts.map((one) => rises(one)) as [number[], number[]];
    const apart = hits.map((hit, i) => (hit - (clocks[i] as number)) / RATE);
    expect(apart.filter((time) => time > 0.005)).toHaveLength(4);
    close(Math.max(...apart), 0.025, ON_SAMPLES);
  });

  it('finds a line with a swing of its own, which the clock does not follow', () => {
    const text = swung('clock: 1 per step').replace(
      'hit: "xxxxxxxx"',
      'hit: { steps: "xxxxxxxx", swing: 60 % }',
    );
    expect(by('swing-mismatch', text)).toHaveLength(1);
  });

  it.each([
    ['the clock swings along', 'swing: 60 %, clock: 1 per step', 'xxxxxxxx'],
    ['nothing swings', 'clock: 4 per quarter', 'xxxxxxxx'],
    ['no hit is on an off-step', 'swing: 60 %, clock: 4 per quarter', 'x-x-x-x-'],
    ['the clock has no off-steps', 'swing: 60 %, clock: 2 per quarter', 'xxxxxxxx'],
    ['they are less than 5 ms apart', 'swing: 51.9 %, clock: 4 per quarter', 'xxxxxxxx'],
  ])('finds nothing where %s', (_, rhythm, hit) => {
    expect(by('swing-mismatch', swung(rhythm, hit))).toEqual([]);
  });

  it('finds nothing where nobody takes the clock', () => {
    const text = voice({
      hit: 'xxxxxxxx',
      rhythm: 'gate: 8 ms, swing: 60 %, clock: 4 per quarter',
    });
    expect(by('swing-mismatch', text)).toEqual([]);
  });
});

/** A second rhythm on the clock of the first, both with a hit on every step. */
function followed(rhythm: string, hats: string, wanted: Wanted = {}): string {
  return followedVoice(`gate: 8 ms, ${hats}`, 'xxxxxxxx', {
    hit: 'xxxxxxxx',
    song: '[groove, groove]',
    rhythm: `gate: 8 ms, ${rhythm}`,
    ...wanted,
  });
}

/**
 * s by which each hit of the follower comes after the one of the same number that it follows, less what all
 * are late: `clock-in` notices a pulse once it has lasted a millisecond.
 */
function behind(text: string): number[] {
  const { volts } = rendered(text, ['drums.hit', 'hats.tick']);
  const [led, own] = volts.map((one) => rises(one)) as [number[], number[]];
  return own.map(
    (hit, i) => (hit - (own[0] as number) - (led[i] as number) + (led[0] as number)) / RATE,
  );
}

describe('swing-mismatch of a rhythm that follows pulses', () => {
  it('finds one that plays straight what the other swings', () => {
    const text = followed('swing: 60 %, clock: 4 per quarter', 'follows: 4 per quarter');
    const [finding, ...others] = by('swing-mismatch', text);
    expect(others).toEqual([]);
    expect(finding?.message).toContain('before drums at all 8 off-steps');
    // A tenth of a pair of 250 ms.
    close(figure(finding, 'apartSeconds'), 0.025, ON_SAMPLES);
    const early = behind(text).filter((time) => time < -0.005);
    expect(early).toHaveLength(figure(finding, 'apartSteps'));
    close(Math.min(...early), -figure(finding, 'apartSeconds'), ON_SAMPLES);
    expect(finding?.fix).toContain('Set the swing of hats to 60 %');
  });

  it('finds one that swings what swings already', () => {
    const text = followed('swing: 60 %, clock: 1 per step', 'follows: 1 per step, swing: 60 %');
    const [finding, ...others] = by('swing-mismatch', text);
    expect(others).toEqual([]);
    expect(finding?.message).toContain('after drums');
    expect(finding?.fix).toContain('to 50 %: its pulses swing already');
    const late = behind(text).filter((time) => time > 0.005);
    expect(late).toHaveLength(figure(finding, 'apartSteps'));
    close(Math.max(...late), figure(finding, 'apartSeconds'), ON_SAMPLES);
  });

  it('finds one that swings what swings already beside hits on the beat alone', () => {
    const text = followed('swing: 60 %, clock: 1 per step', 'follows: 1 per step, swing: 60 %', {
      hit: 'x-x-x-x-',
    });
    const [finding, ...others] = by('swing-mismatch', text);
    expect(others).toEqual([]);
    expect(finding?.message).toContain('swing already, and hats swings them by 60 % again');
    // From the pulse at 150 ms a fifth of what was between the two before it.
    close(figure(finding, 'apartSeconds'), 0.2 * 0.15, ON_SAMPLES);
    const { volts } = rendered(text, ['drums.clock', 'hats.tick']);
    const [pulses, hits] = volts.map((one) => rises(one)) as [number[], number[]];
    const late = hits.map((hit, i) => (hit - (pulses[i] as number)) / RATE);
    close(Math.max(...late) - Math.min(...late), figure(finding, 'apartSeconds'), ON_SAMPLES);
  });

  it.each([
    [
      'both swing over straight pulses',
      'swing: 60 %, clock: 4 per quarter',
      'follows: 4 per quarter, swing: 60 %',
    ],
    ['the pulses swing for both', 'swing: 60 %, clock: 1 per step', 'follows: 1 per step'],
    ['neither swings', 'clock: 4 per quarter', 'follows: 4 per quarter'],
    [
      'there are 24 pulses a quarter',
      'swing: 60 %, clock: 24 per quarter',
      'follows: 24 per quarter, swing: 60 %',
    ],
  ])('finds nothing where %s', (_, rhythm, hats) => {
    const text = followed(rhythm, hats);
    expect(by('swing-mismatch', text)).toEqual([]);
    expect(Math.max(...behind(text).map(Math.abs))).toBeLessThan(0.002);
  });

  it('says nothing of a clock that only a follower takes, however it is counted on its way', () => {
    const halved = (swing: string): string =>
      followed('swing: 60 %, clock: 4 per quarter', `follows: 2 per quarter, swing: ${swing}`, {
        modules: ['half: { kind: clock-divider, divide: 2 }'],
        cables: ['drums.clock -> half.clock', 'half.divided -> hats.clock-in'],
      });
    expect(by('swing-mismatch', halved('60 %'))).toEqual([]);
    const [finding, ...others] = by('swing-mismatch', halved('50 %'));
    expect(others).toEqual([]);
    // A divider gives no clock a step.
    expect(finding?.fix).toBe('Set the swing of hats to 60 %.');
  });

  it('is what its mend says that it is', () => {
    const straight = followed('swing: 60 %, clock: 4 per quarter', 'follows: 4 per quarter');
    const mended = straight.replace(
      'follows: 4 per quarter',
      'follows: 4 per quarter, swing: 60 %',
    );
    expect(by('swing-mismatch', mended)).toEqual([]);
    const twice = followed('swing: 60 %, clock: 1 per step', 'follows: 1 per step, swing: 60 %');
    const once = twice.replace(
      'follows: 1 per step, swing: 60 %',
      'follows: 1 per step, swing: 50 %',
    );
    expect(by('swing-mismatch', once)).toEqual([]);
  });

  it('takes no lateness of the clock for swing', () => {
    const late = { modules: ['late: { kind: delay, time: 12 ms, length: 5 ms }'] };
    const text = followed('swing: 60 %, clock: 1 per step', 'follows: 1 per step', {
      ...late,
      cables: ['drums.clock -> late.trigger', 'late.out -> hats.clock-in'],
    });
    const { volts } = rendered(text, ['drums.hit', 'hats.tick']);
    const [led, own] = volts.map((one) => rises(one)[0]) as [number, number];
    close((own - led) / RATE, 0.013, {
      abs: 0.0005,
      unit: 's',
      why: '12 ms, and some 1 ms until the pulse is noticed',
    });
    expect(by('swing-mismatch', text)).toEqual([]);
  });

  it('finds nothing of pulses that come from no rhythm, and goes by the tempo that they make', () => {
    const tick = { modules: ['tick: { kind: clock, rate: 6 Hz }'] };
    const free = followed('clock: 4 per quarter', 'follows: 4 per quarter, swing: 60 %', {
      ...tick,
      cables: ['tick.out -> hats.clock-in'],
    });
    expect(by('swing-mismatch', free)).toEqual([]);
    // Its own clock, straight beside its swing, is a tenth of a pair of 2/6 s away.
    const clocked = followed('clock: 4 per quarter', 'follows: 4 per quarter, swing: 60 %', {
      modules: [
        ...tick.modules,
        'walk: { kind: step-sequencer, rows: { a: [C2, D2] } }',
        'tone: { kind: oscillator }',
        'mix: { kind: mixer }',
      ],
      cables: ['tick.out -> hats.clock-in', 'hats.clock -> walk.clock', 'walk.a -> tone.pitch'],
      sound: ['level.out -> mix.in-1', 'tone.sine -> mix.in-2', 'mix.out -> out.left'],
    }).replace('follows: 4 per quarter,', 'follows: 4 per quarter, clock: 4 per quarter,');
    const [finding] = by('swing-mismatch', clocked);
    close(figure(finding, 'apartSeconds'), 1 / 30, {
      abs: 0.0005,
      unit: 's',
      why: 'pulses of a free clock, seen on samples',
    });
    const { volts } = rendered(clocked, ['hats.tick', 'hats.clock'], 3);
    const [ticks, clocks] = volts.map((one) => rises(one)) as [number[], number[]];
    const apart = ticks.map((hit, i) => (hit - (clocks[i] as number)) / RATE);
    close(Math.max(...apart), figure(finding, 'apartSeconds'), {
      abs: 0.0005,
      unit: 's',
      why: 'pulses of a free clock, seen on samples',
    });
  });
});
