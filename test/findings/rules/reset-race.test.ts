// reset-race: the time between a reset and a clock, measured at the follower's jacks in the render.

import { describe, expect, it } from 'vitest';
import { findingsIn } from '../../../src/findings/check.ts';
import { contextOf } from '../../../src/findings/context.ts';
import { resetRace } from '../../../src/findings/rules/reset-race.ts';
import { applyEdits } from '../../../src/patch/edit/edit.ts';
import { close } from '../../close.ts';
import { patchFrom } from '../../patch-of.ts';
import { editsFor } from '../read.ts';
import { by, figure, followedVoice, RATE, rendered, rises, troubles, voice } from '../voice.ts';

function follower(
  clock: readonly string[],
  modules: readonly string[] = [],
  settings = '',
): string {
  return voice({
    hit: 'x---x---x---x---',
    modules: [
      `walk: { kind: step-sequencer, rows: { a: [C2, D2, E2, F2] }${settings} }`,
      'tone: { kind: oscillator }',
      ...modules,
    ],
    cables: [...clock, 'walk.a -> tone.pitch', 'tone.sine -> out.right'],
  });
}

/** Samples from each reset to the nearest clock. */
function gaps(text: string): number[] {
  const { volts } = rendered(text, ['walk.reset', 'walk.clock']);
  const [resets, clocks] = volts.map((one) => rises(one)) as [number[], number[]];
  return resets.map((reset) => Math.min(...clocks.map((clock) => Math.abs(clock - reset))));
}

const START = ['drums.start -> walk.reset', 'drums.clock -> walk.clock'];
function delayed(time: string): string {
  return follower(
    ['drums.start -> late.trigger', 'late.out -> walk.reset', 'drums.clock -> walk.clock'],
    [`late: { kind: delay, time: ${time}, length: 5 ms }`],
  );
}

describe('reset-race', () => {
  it('finds a start pulse that comes with the first clock', () => {
    const text = follower(START);
    const [finding] = by('reset-race', text);
    expect(finding?.severity).toBe('caution');
    expect(figure(finding, 'racingResets')).toBe(1);
    expect(figure(finding, 'gapSeconds')).toBe(0);
    expect(gaps(text)).toEqual([0]);
  });

  it('finds all under the settle time of 0.5 ms too close, and 0.5 ms enough, whatever samples make of it', () => {
    // 0.49 ms lasts as many samples as 0.5 ms, 24 at 48 kHz.
    for (const ms of [0.4, 0.49, 0.499]) {
      const [finding] = by('reset-race', delayed(`${ms} ms`));
      close(figure(finding, 'gapSeconds'), ms / 1000, {
        abs: 2e-8,
        unit: 's',
        why: 'edges are worked out to 20 ns',
      });
    }
    expect(gaps(delayed('0.49 ms'))).toEqual(gaps(delayed('0.5 ms')));
    expect(troubles(delayed('0.5 ms'))).toEqual([]);
    expect(gaps(delayed('0.4 ms'))).toEqual([19]);
  });

  it('finds the same of a clock that only playing tells, to half a sample of the highest rate', () => {
    const free = (time: string): string =>
      follower(
        ['beat.out -> walk.clock', 'beat.out -> late.trigger', 'late.out -> walk.reset'],
        ['beat: { kind: clock, rate: 8 Hz }', `late: { kind: delay, time: ${time}, length: 5 ms }`],
      );
    const [finding] = by('reset-race', free('0.49 ms'));
    close(figure(finding, 'gapSeconds'), 0.00049, {
      abs: 0.5 / 192_000,
      unit: 's',
      why: 'a delay lasts whole samples',
    });
    expect(by('reset-race', free('0.505 ms'))).toEqual([]);
    expect(by('reset-race', free('0.5 ms'))).toEqual([]);
  });

  it('goes by the follower’s own settle time', () => {
    expect(troubles(follower(START, [], ', settle: 0 s'))).toEqual([]);
    const slow = delayed('3 ms').replace('F2] }', 'F2] }, settle: 4 ms');
    expect(troubles(slow)).toEqual(['reset-race caution']);
    expect(gaps(slow)).toEqual([144]);
  });

  it('is mended by a delay in front of the clock, after which every step is sure', () => {
    const text = follower(START);
    const context = contextOf(patchFrom(text));
    const [finding] = resetRace.find(context);
    const edits = editsFor(resetRace, finding, context);
    const mended = applyEdits('test.yaml', text, edits) ?? '';
    const left = findingsIn(contextOf(patchFrom(mended)));
    // The voice is a soft one.
    expect(left.filter(({ rule }) => rule !== 'too-quiet')).toEqual([]);
    // The first clock lands on step 1 (C2, 0 V), the second on step 2 (D2, a sixth of a volt).
    const pitch = rendered(mended, ['walk.a']).volts[0] as Float64Array;
    expect(pitch[0.06 * RATE]).toBe(0);
    close(pitch[0.185 * RATE], 1 / 6, { abs: 5e-10, unit: 'V', why: 'rounding' });
  });
});

/** A rhythm on the clock and the start of another, whose pulses may be delayed on their way. */
function rhythmOn(
  cables: readonly string[],
  modules: readonly string[] = [],
  settings = '',
): string {
  return followedVoice(`follows: 4 per quarter, gate: 8 ms${settings}`, 'x---x---', {
    hit: 'x---x---',
    rhythm: 'gate: 8 ms, clock: 4 per quarter',
    modules,
    cables,
  });
}

describe('reset-race of a rhythm that follows pulses', () => {
  const late = (time: string) => [`late: { kind: delay, time: ${time}, length: 5 ms }`];
  const DELAYED = [
    'drums.start -> hats.reset-in',
    'drums.clock -> late.trigger',
    'late.out -> hats.clock-in',
  ];

  it('finds a start that comes with the first pulse, and says that it needs none', () => {
    const text = rhythmOn(['drums.start -> hats.reset-in', 'drums.clock -> hats.clock-in']);
    const [finding, ...others] = by('reset-race', text);
    expect(others).toEqual([]);
    expect(finding?.jack).toEqual({ module: 'hats', jack: 'reset-in' });
    expect(figure(finding, 'gapSeconds')).toBe(0);
    expect(finding?.fix).toContain('Take the cable out of hats.reset-in');
    const { volts } = rendered(text, ['hats.reset-in', 'hats.clock-in']);
    const [resets, clocks] = volts.map((one) => rises(one)[0]);
    expect(resets).toBe(clocks);
  });

  it('finds nothing once the clock comes late enough, nor where it settles at once', () => {
    // The rhythm wants half a millisecond, 24 samples, between the two.
    expect(by('reset-race', rhythmOn(DELAYED, late('0.4 ms')))).toHaveLength(1);
    expect(by('reset-race', rhythmOn(DELAYED, late('0.6 ms')))).toEqual([]);
    expect(
      by(
        'reset-race',
        rhythmOn(
          ['drums.start -> hats.reset-in', 'drums.clock -> hats.clock-in'],
          [],
          ', settle: 0 s',
        ),
      ),
    ).toEqual([]);
  });

  it('is mended by a delay before clock-in, after which it starts with its first step', () => {
    const text = rhythmOn(['drums.start -> hats.reset-in', 'drums.clock -> hats.clock-in']);
    const context = contextOf(patchFrom(text));
    const [finding] = resetRace.find(context);
    const mended = applyEdits('test.yaml', text, editsFor(resetRace, finding, context)) ?? '';
    expect(mended).toContain('-> hats.clock-in');
    expect(by('reset-race', mended)).toEqual([]);
    const { volts } = rendered(mended, ['hats.tick', 'drums.hit']);
    const [own, led] = volts.map((one) => rises(one)) as [number[], number[]];
    // 2 ms late, and noticed after a millisecond of pulse.
    expect(own).toHaveLength(2);
    close(((own[0] as number) - (led[0] as number)) / RATE, 0.003, {
      abs: 5e-5,
      unit: 's',
      why: 'edges lie on samples',
    });
  });
});
