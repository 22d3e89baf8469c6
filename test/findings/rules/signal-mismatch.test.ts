// signal-mismatch where a sound and the volts that open it are exchanged, and where they are not.

import { expect, it } from 'vitest';
import { check } from '../../../src/findings/check.ts';
import { patchFrom } from '../../patch-of.ts';
import { loudest } from '../hear.ts';

const plugged = (sound: string, volts: string) => `modules:
  drums: { kind: rhythm, channels: [hit], gate: 8 ms, patterns: { one: { hit: "x---" } }, song: [one] }
  shape: { kind: envelope, release: 80 ms }
  tone:  { kind: noise, level: 2 V }
  hand:  { kind: low-pass-gate, mode: level }
  out:   { kind: output }
cables:
  - drums.hit  -> shape.trigger
  - tone.white -> hand.${sound}
  - shape.out  -> hand.${volts}
  - hand.out   -> out.left
`;

it('finds the sound at the control of a low-pass gate, and its volts at the input', () => {
  const [finding] = check(patchFrom(plugged('control', 'in')));
  expect(finding?.rule).toBe('signal-mismatch');
  expect(finding?.fix).toContain('hand.in and hand.control');
  expect(check(patchFrom(plugged('in', 'control')))).toEqual([]);
  expect(loudest(patchFrom(plugged('in', 'control')), 0.2)).toBeGreaterThan(0.05);
});
