// clock-mismatch: the clocks that arrive, counted in the render, against what the follower expects.

import { describe, expect, it } from 'vitest';
import { contextOf } from '../../../src/findings/context.ts';
import { clockMismatch } from '../../../src/findings/rules/clock-mismatch.ts';
import { close } from '../../close.ts';
import { patchFrom } from '../../patch-of.ts';
import { editsFor } from '../read.ts';
import {
  by,
  figure,
  followedVoice,
  RATE,
  rendered,
  rises,
  troubles,
  voice,
  type Wanted,
} from '../voice.ts';

/** A bar of 16 steps with a follower on its clock, or on another. */
function follower(expects: string, wanted: Wanted & { clock?: readonly string[] } = {}): string {
  const { clock = ['drums.clock -> walk.clock'], modules = [], cables = [] } = wanted;
  return voice({
    hit: 'x---x---x---x---',
    ...wanted,
    modules: [
      `walk: { kind: step-sequencer, rows: { a: [C2, D2, E2, F2] }, expects: ${expects} }`,
      'tone: { kind: oscillator }',
      ...modules,
    ],
    cables: [...clock, 'walk.a -> tone.pitch', 'tone.sine -> out.right', ...cables],
  });
}

function clocks(text: string): number {
  return rises(rendered(text, ['walk.clock']).volts[0] as Float64Array).length;
}

describe('clock-mismatch', () => {
  it('finds a clock of eighths where sixteenths are expected', () => {
    const text = follower('4 per quarter', { rhythm: 'gate: 8 ms, clock: 2 per quarter' });
    const [finding] = by('clock-mismatch', text);
    expect(finding?.severity).toBe('fault');
    expect(figure(finding, 'arrivingClocks')).toBe(2);
    expect(figure(finding, 'expectedClocks')).toBe(4);
    expect(figure(finding, 'dueClocks')).toBe(16);
    expect(figure(finding, 'clocks')).toBe(clocks(text));
  });

  it.each([
    ['4 per quarter', 'clock: 4 per quarter', 16],
    ['1 per step', 'clock: 1 per step', 16],
    ['1 per step', 'clock: 4 per quarter, swing: 66 %', 16],
    ['4 per quarter', 'clock: 1 per step, swing: 66 %', 16],
    ['24 per quarter', 'clock: 24 per quarter', 96],
  ])('finds nothing where %s is expected of %s', (expects, clock, count) => {
    const text = follower(expects, { rhythm: `gate: 8 ms, ${clock}` });
    expect(troubles(text)).toEqual([]);
    expect(clocks(text)).toBe(count);
  });

  it('says nothing where nothing was expected', () => {
    const text = follower('1 per step', { rhythm: 'gate: 8 ms, clock: 3 per quarter' });
    expect(troubles(text)).toEqual(['clock-mismatch fault']);
    expect(troubles(text.replace(', expects: 1 per step', ''))).toEqual([]);
  });

  it('counts the first clock of a pattern that begins between two samples in that pattern', () => {
    // A step at 92.3 bpm is 7800.65 samples.
    const text = follower('1 per step', {
      patterns:
        '{ groove: { tempo: 92.3 bpm, hit: "x---x---" }, other: { tempo: 92.3 bpm, hit: "x-x-x-x-" } }',
      song: '[groove, other, groove, other]',
    });
    expect(troubles(text)).toEqual([]);
  });

  it('names the pattern in which the clock differs', () => {
    const text = follower('1 per step', {
      patterns: '{ groove: { hit: "x---x---" }, fill: { hit: "x-x-x-x-", clock: 1 per quarter } }',
      song: '[groove, fill, groove]',
    });
    const [finding] = by('clock-mismatch', text);
    expect(finding?.message).toContain('pattern fill');
    expect(figure(finding, 'clocks')).toBe(2);
    expect(clocks(text)).toBe(8 + 2 + 8);
  });

  it('counts what a divider and a multiplier leave', () => {
    const through = (output: string, settings: string) =>
      follower('2 per quarter', {
        modules: [`count: { kind: clock-divider, ${settings} }`],
        clock: ['drums.clock -> count.clock', `count.${output} -> walk.clock`],
      });
    expect(troubles(through('divided', 'divide: 2'))).toEqual([]);
    expect(clocks(through('divided', 'divide: 2'))).toBe(8);
    const [finding] = by('clock-mismatch', through('divided', 'divide: 4'));
    expect(figure(finding, 'arrivingClocks')).toBe(1);
    expect(clocks(through('divided', 'divide: 4'))).toBe(4);
    // Silent until its second clock, and right from there.
    const twice = follower('8 per quarter', {
      modules: ['count: { kind: clock-divider, multiply: 2 }'],
      clock: ['drums.clock -> count.clock', 'count.multiplied -> walk.clock'],
    });
    expect(troubles(twice)).toEqual([]);
    expect(clocks(twice)).toBe(30);
  });

  it('finds a clock of its own that runs at another tempo', () => {
    // A quarter is half a second: 8 Hz is 4 per quarter. The song is long enough to tell 8 % apart.
    const free = (rate: number) =>
      follower('4 per quarter', {
        song: '[groove, groove, groove, groove]',
        modules: [`tick: { kind: clock, rate: ${rate} Hz }`],
        clock: ['tick.out -> walk.clock'],
      });
    expect(troubles(free(8))).toEqual([]);
    const [finding] = by('clock-mismatch', free(7.4));
    expect(figure(finding, 'clocks')).toBe(clocks(free(7.4)));
    close(Number(figure(finding, 'arrivingClocks')), 3.7, {
      abs: 1 / 8,
      unit: 'clocks',
      why: 'eight quarters are heard: a clock more or less at their ends is an eighth a quarter',
    });
  });
});

/** A rhythm on the clock of another, or on a clock of its own. */
function chain(hats: string, wanted: Wanted = {}): string {
  const tab = 'x---x---x---x---';
  return followedVoice(`tempo: 120 bpm, gate: 8 ms, ${hats}`, tab, { hit: tab, ...wanted });
}

/** s between the hits of the follower. */
function spacing(text: string, seconds?: number): number {
  const [first, second] = rises(rendered(text, ['hats.tick'], seconds).volts[0] as Float64Array);
  return ((second as number) - (first as number)) / RATE;
}

describe('clock-mismatch of a rhythm that follows pulses', () => {
  it('finds half as many pulses as it takes a quarter to be, at which it plays half as fast', () => {
    const text = chain('follows: 4 per quarter', { rhythm: 'gate: 8 ms, clock: 2 per quarter' });
    const [finding, ...others] = by('clock-mismatch', text);
    expect(others).toEqual([]);
    expect(finding?.severity).toBe('fault');
    expect([figure(finding, 'arrivingClocks'), figure(finding, 'expectedClocks')]).toEqual([2, 4]);
    // A quarter is half a second.
    close(spacing(text, 3), 1, { abs: 0.0005, unit: 's', why: 'edges lie on samples' });
    const right = text.replace('clock: 2 per quarter', 'clock: 4 per quarter');
    expect(by('clock-mismatch', right)).toEqual([]);
    close(spacing(right, 3), 0.5, { abs: 0.0005, unit: 's', why: 'edges lie on samples' });
  });

  it('tells the tempo that a clock of its own makes, where that is another', () => {
    const free = (rate: number) =>
      chain('follows: 4 per quarter', {
        modules: [`tick: { kind: clock, rate: ${rate} Hz }`],
        cables: ['tick.out -> hats.clock-in'],
      });
    const [finding] = by('clock-mismatch', free(6));
    expect(finding?.severity).toBe('note');
    // 6 pulses a second at four a quarter.
    close(figure(finding, 'playsBpm'), 90, {
      abs: 0.05,
      unit: 'bpm',
      why: 'the tempo of pulses that lie on samples',
    });
    close(spacing(free(6), 3), 60 / 90, { abs: 0.0005, unit: 's', why: 'edges lie on samples' });
    // 8 Hz are 120 bpm; a hundredth of that is let pass.
    for (const rate of [8, 8.07]) expect(by('clock-mismatch', free(rate))).toEqual([]);
    expect(by('clock-mismatch', free(8.1))).toHaveLength(1);
  });

  it('finds a rhythm that stands: in a ring, or by a clock that hardly comes', () => {
    const stands = (modules: readonly string[], cables: readonly string[]) => {
      const text = chain('follows: 4 per quarter', { modules, cables });
      expect(rises(rendered(text, ['hats.tick']).volts[0] as Float64Array).length).toBeLessThan(2);
      return by('clock-mismatch', text);
    };
    const [own] = stands([], ['hats.clock -> hats.clock-in']);
    expect([own?.severity, own?.message]).toEqual([
      'fault',
      'hats follows itself: nothing gives the first pulse, so it stands still.',
    ]);
    const ring = stands(
      ['mid: { kind: rhythm, channels: [k], patterns: { a: { k: "x---" } }, song: [a] }'],
      ['hats.clock -> mid.clock-in', 'mid.clock -> hats.clock-in'],
    );
    // Told once, at all that are in it.
    expect(ring.map(({ jacks }) => jacks?.map(({ module }) => module))).toEqual([['hats', 'mid']]);
    const [slow] = stands(['tick: { kind: clock, rate: 0.1 Hz }'], ['tick.out -> hats.clock-in']);
    expect([figure(slow, 'pulses'), figure(slow, 'duePulses')]).toEqual([1, 16]);
    // Through tau = 90 ms, half a period of 62.5 ms goes down to 5 V / (1 + e^(62.5/90)) = 1.67 V and no further.
    const [held] = stands(
      ['tick: { kind: clock, rate: 8 Hz }', 'soft: { kind: slew, rise: 450 ms, fall: 450 ms }'],
      ['tick.out -> soft.in', 'soft.out -> hats.clock-in'],
    );
    expect(held?.message).toMatch(/clock-in then stays on, never under 1\.5 V again\.$/);
    expect(held?.fix).toMatch(/^Let soft\.out fall under 1\.5 V between pulses/);
  });

  it('leaves a rhythm that waits at a plug without a source to input-open', () => {
    const text = chain('follows: 4 per quarter', {
      modules: ['split: { kind: multiple }'],
      cables: ['split.out-1 -> hats.clock-in'],
    });
    expect(by('clock-mismatch', text)).toEqual([]);
    expect(by('input-open', text).map(({ jack }) => jack)).toEqual([
      { module: 'hats', jack: 'clock-in' },
    ]);
  });

  it('does not take a ring for dead that a clock is led into', () => {
    const text = chain('follows: 4 per quarter', {
      modules: ['tick: { kind: clock, rate: 8 Hz, duty: 10 % }', 'both: { kind: logic }'],
      cables: ['tick.out -> both.a', 'hats.clock -> both.b', 'both.or -> hats.clock-in'],
    });
    expect(by('clock-mismatch', text).filter(({ severity }) => severity === 'fault')).toEqual([]);
  });

  it('tells pulses that are doubled on their way, and changes no tempo for them', () => {
    const text = chain('follows: 4 per quarter', {
      modules: [
        'tick: { kind: clock, rate: 8 Hz, duty: 10 % }',
        'split: { kind: multiple }',
        'echo: { kind: delay, time: 30 ms }',
        'both: { kind: logic }',
      ],
      cables: [
        'tick.out -> split.in',
        'split.out-1 -> echo.trigger',
        'split.out-2 -> both.a',
        'echo.out -> both.b',
        'both.or -> hats.clock-in',
      ],
    });
    const [finding] = by('clock-mismatch', text);
    expect(finding?.severity).toBe('caution');
    close(figure(finding, 'shortGapSeconds'), 0.03, {
      abs: 5e-5,
      unit: 's',
      why: 'edges lie on samples',
    });
    close(figure(finding, 'longGapSeconds'), 0.095, {
      abs: 5e-5,
      unit: 's',
      why: 'edges lie on samples',
    });
    expect(editsFor(clockMismatch, finding, contextOf(patchFrom(text)))).toEqual([]);
  });

  it('says what a pulse is where a clock of many pulses makes no tempo that is meant', () => {
    const fast = (follows: string) =>
      chain(`follows: ${follows}`, {
        modules: ['tick: { kind: clock, rate: 48 Hz }'],
        cables: ['tick.out -> hats.clock-in'],
      });
    const [finding] = by('clock-mismatch', fast('4 per quarter'));
    // 48 pulses a second are 24 a quarter note at 120 bpm, which is half a second.
    expect(finding?.fix).toContain('Set follows: 24 per quarter,');
    expect(by('clock-mismatch', fast('24 per quarter'))).toEqual([]);
    close(spacing(fast('24 per quarter'), 3), 0.5, {
      abs: 0.0005,
      unit: 's',
      why: 'edges lie on samples',
    });
  });

  it('counts what a follower hands on by the pulses that it gets itself', () => {
    const through = (clock: string) =>
      chain(`follows: 4 per quarter, clock: ${clock}`, {
        rhythm: 'gate: 8 ms, clock: 4 per quarter',
        modules: [
          'walk: { kind: step-sequencer, rows: { a: [C2, D2] }, expects: 1 per step }',
          'tone: { kind: oscillator }',
          'mix: { kind: mixer }',
        ],
        cables: [
          'drums.clock -> hats.clock-in',
          'hats.clock -> walk.clock',
          'walk.a -> tone.pitch',
        ],
        sound: ['level.out -> mix.in-1', 'tone.sine -> mix.in-2', 'mix.out -> out.left'],
      });
    expect(by('clock-mismatch', through('1 per step'))).toEqual([]);
    expect(clocks(through('1 per step'))).toBe(16);
    const [finding] = by('clock-mismatch', through('2 per quarter'));
    expect(finding?.jack).toEqual({ module: 'walk', jack: 'clock' });
    expect(figure(finding, 'dueClocks')).toBe(16);
    expect(figure(finding, 'clocks')).toBe(clocks(through('2 per quarter')));
  });
});
