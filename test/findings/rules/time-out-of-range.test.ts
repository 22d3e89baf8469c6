// time-out-of-range: time x 2^-V against four times the time set, and the render: beyond, more volts change
// nothing.

import { describe, expect, it } from 'vitest';
import { check } from '../../../src/findings/check.ts';
import { close } from '../../close.ts';
import { patchFrom } from '../../patch-of.ts';
import { voltsOf } from '../hear.ts';
import { figure } from '../voice.ts';

/** A loop plucked by noise, its time moved by steady volts at one of its inputs. */
const moved = (volts: string, input: string, settings = '') => `modules:
  drums: { kind: rhythm, channels: [hit], gate: 10 ms, patterns: { one: { hit: "x---" } }, song: [one] }
  hiss:  { kind: noise }
  level: { kind: amplifier }
  bend:  { kind: attenuator, offset: ${volts} }
  line:  { kind: delay-line${settings} }
  out:   { kind: output }
cables:
  - drums.hit  -> level.control
  - hiss.white -> level.in
  - level.out  -> line.in
  - bend.out   -> line.${input}
  - line.out   -> out.left
`;
const found = (text: string) =>
  check(patchFrom(text)).filter(({ rule }) => rule === 'time-out-of-range');
const heard = (text: string) => voltsOf(patchFrom(text), 0.4, 'line.out')[0] as Float64Array;

describe('time-out-of-range', () => {
  it('finds a pitch more than two octaves down, and the render is as at two', () => {
    const [finding] = found(moved('-3 V', 'pitch'));
    expect(finding?.severity).toBe('caution');
    // 3 V behind 1 kohm into 100 kohm.
    close(figure(finding, 'askedSeconds'), 2 ** (300 / 101) / 65.406, {
      abs: 5e-5,
      unit: 's',
      why: 'the pitch that it starts from has five digits',
    });
    close(figure(finding, 'limitSeconds'), 4 / 65.406, {
      abs: 5e-6,
      unit: 's',
      why: 'the pitch that it starts from has five digits',
    });
    expect(heard(moved('-3 V', 'pitch'))).toEqual(heard(moved('-4 V', 'pitch')));
    expect(heard(moved('-3 V', 'pitch'))).not.toEqual(heard(moved('-1 V', 'pitch')));
  });

  it('finds volts at control that leave less than four samples', () => {
    const [finding] = found(moved('-5.5 V', 'control'));
    expect(finding?.figures.limitSeconds).toBe(4 / 48_000);
    expect(heard(moved('-5.5 V', 'control'))).toEqual(heard(moved('-7 V', 'control')));
  });

  it('finds nothing within a semitone of the limit, or where the volts do not reach it', () => {
    expect(found(moved('-2.05 V', 'pitch'))).toEqual([]);
    expect(found(moved('-2.2 V', 'pitch'))).toHaveLength(1);
    expect(found(moved('2 V', 'pitch'))).toEqual([]);
    expect(found(moved('-4.9 V', 'control'))).toEqual([]);
    expect(found(moved('10 V', 'control'))).toEqual([]);
    // Half a volt down is enough where 5 s are set: 10 s is the longest.
    expect(found(moved('-1.2 V', 'pitch', ', time: 5 s'))).toHaveLength(1);
  });
});
