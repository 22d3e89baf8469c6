// Kept versions: what differs, and the gains that make them equally loud.

import { describe, expect, it } from 'vitest';
import type { PatchView, SettingView } from '../../../../src/page/protocol.ts';
import { differences, equalGain, type Version } from '../../../../src/page/ui/versions/bank.ts';

function view(decay: string, steps: string, more: readonly SettingView[] = []): PatchView {
  const setting = (name: string, text: string): SettingView => ({
    name,
    about: '',
    text,
    isGiven: true,
    control: { type: 'text', expected: '' },
  });
  return {
    title: '',
    modules: [
      {
        name: 'shape',
        kind: 'envelope',
        about: '',
        settings: [setting('attack', '1 ms'), setting('decay', decay), ...more],
      },
    ],
    rhythms: [
      {
        module: 'drums',
        song: [],
        channels: '',
        patterns: [
          { name: 'groove', stepsPerQuarter: 4, channels: [{ name: 'hat', steps, isOwn: true }] },
        ],
      },
    ],
    voices: [],
    loop: { sampleRate: 48_000, frames: 1, bars: [], shortened: false },
  };
}

function version(id: number, loudnessLufs: number | undefined): Version {
  const files = { main: 'a', set: [], texts: { a: String(id) } };
  const loop =
    loudnessLufs === undefined
      ? undefined
      : { channels: [], frames: 0, ready: 0, isWhole: true, loudnessLufs };
  return { id, name: '', files, view: undefined, loop };
}

describe('the bank of versions', () => {
  it('tells which settings and steps are others than in the first', () => {
    expect(differences(view('50 ms', 'x---'), view('50 ms', 'x---'))).toEqual([]);
    expect(differences(view('50 ms', 'x---'), view('80 ms', 'x-x-'))).toEqual([
      'shape.decay 80 ms (first 50 ms)',
      'groove hat x-x-',
    ]);
    const hold: SettingView = {
      name: 'hold',
      about: '',
      text: '1 ms',
      isGiven: true,
      control: { type: 'text', expected: '' },
    };
    expect(differences(view('1 s', 'x'), view('1 s', 'x', [hold]))).toEqual([
      'shape.hold 1 ms (new)',
    ]);
  });

  it('turns each down to the quietest, and none up', () => {
    const kept = [version(1, -20), version(2, -26.5), version(3, -Infinity), version(4, undefined)];
    // A gain in dB moves loudness in LUFS by as much (ITU-R BS.1770-5).
    expect(equalGain(-20, kept)).toBe(-6.5);
    expect(equalGain(-26.5, kept)).toBe(0);
    expect(equalGain(-40, kept)).toBe(0);
    expect(equalGain(-Infinity, kept)).toBe(0);
    expect(equalGain(undefined, kept)).toBe(0);
    expect(equalGain(-20, [])).toBe(0);
  });
});
