// Patches at the limits of what can be written: the check gives its findings and never throws.

import { describe, expect, it } from 'vitest';
import { by, troubles, voice } from './voice.ts';

const base = voice();

describe('the check of odd patches', () => {
  it.each([
    ['a pattern of rests', voice({ hit: '--------' }), []],
    ['a pattern of one rest', voice({ hit: '-' }), []],
    [
      'no rhythm at all',
      'title: t\nmodules:\n  hiss: { kind: noise }\n  out: { kind: output }\ncables:\n  - hiss.white -> out.left\n',
      [],
    ],
    ['stages of no time', voice({ shape: 'attack: 0 s, decay: 0 s, release: 0 s' }), []],
    [
      'straight stages of no time',
      voice({ shape: 'curve: linear, attack: 0 s, decay: 0 s, release: 0 s, sustain: 50 %' }),
      [],
    ],
    [
      'stages of a minute',
      voice({ shape: 'curve: linear, attack: 60 s, decay: 60 s, release: 60 s' }),
      ['amplifier-never-opens fault', 'peak-not-reached caution'],
    ],
    [
      'gates of ten steps in a song of 999 repeats',
      voice({ hit: 'xXf2', rhythm: 'gate: 1000 %', song: '[{ pattern: groove, repeats: 999 }]' }),
      ['gates-merge fault', 'flam-too-tight caution'],
    ],
    [
      'a clock of 1 kHz that is nearly always high',
      voice({
        modules: ['tick: { kind: clock, rate: 1 kHz, duty: 99 % }'],
        trigger: ['tick.out -> shape.trigger'],
        cables: ['drums.hit -> out.right'],
      }),
      ['pulse-too-short fault', 'signal-mismatch caution'],
    ],
  ])('%s', (_, text, expected) => {
    expect(troubles(text)).toEqual(expected);
  });

  it.each([
    ['no output', base.replace(/.*kind: output.*\n/, '').replace(/.*out\.left\n/, '')],
    ['two outputs', base.replace('modules:', 'modules:\n  two: { kind: output }')],
  ])('with %s nothing is heard, and the rest is still worked out', (_, text) => {
    expect(by('clips', text)).toEqual([]);
    const short = text.replace('gate: 8 ms', 'gate: 0.5 ms');
    expect(by('pulse-too-short', short)).toHaveLength(1);
  });
});
