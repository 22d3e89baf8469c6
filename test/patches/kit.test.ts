// What is shipped renders: every patch, and the kit of eight as a mix.

import { describe, expect, it } from 'vitest';
import { render } from '../../src/engine/render.ts';
import { stemsOf } from '../../src/engine/stems.ts';
import { LoudnessMeter } from '../../src/measure/loudness/loudness.ts';
import type { Patch } from '../../src/patch/patch.ts';
import { close } from '../close.ts';
import { patchFrom, SHIPPED, shipped } from '../patch-of.ts';
import { db, peakOf, played } from './listen.ts';

// Reading one with a problem throws, and says which.
const PATCHES = new Map(SHIPPED.map((name) => [name, patchFrom(shipped(name))]));
const SOUNDS = new Map([...PATCHES].map(([name, patch]) => [name, played(patch)]));

describe.each([...SOUNDS])('%s', (_, sides) => {
  it('renders, every sample finite', () => {
    for (const side of sides) expect(side.every(Number.isFinite)).toBe(true);
  });

  it('fills a file without clipping', () => {
    const peak = db(Math.max(...sides.map(peakOf)));
    expect(peak).toBeLessThan(0);
    // Softer than this it would be turned up, and the next clip is then too loud: common practice,
    // no source.
    expect(peak).toBeGreaterThan(-20);
  });
});

describe('the kit of eight', () => {
  const patch = PATCHES.get('kit-of-eight.yaml') as Patch;
  const [left, right] = SOUNDS.get('kit-of-eight.yaml') as [Float64Array, Float64Array];

  it('has eight voices', () => {
    expect(stemsOf(patch)).toHaveLength(8);
  });

  it('peaks between -6 and -1 dBFS', () => {
    const peak = db(Math.max(peakOf(left), peakOf(right)));
    expect(peak).toBeGreaterThan(-6);
    expect(peak).toBeLessThan(-1);
  });

  it('stands on both sides, alike in level and not in sound', () => {
    // With the beat in the middle neither side should pull: 2 dB is what one hears as a lean.
    close(10 * Math.log10(power(left) / power(right)), 0, {
      abs: 2,
      unit: 'dB',
      why: 'what one hears as a lean',
    });
    const difference = left.map((value, n) => value - (right[n] as number));
    expect(power(difference)).toBeGreaterThan(0.01 * power(left));
  });

  it('plays four bars, no two alike', () => {
    // 94 bpm: 16 quarters of 60/94 s.
    close(left.length / 48_000, (16 * 60) / 94, { abs: 0.0005, unit: 's', why: 'whole samples' });
    const quarter = Math.floor(left.length / 4);
    const bars = [0, 1, 2, 3].map((bar) => left.subarray(bar * quarter, (bar + 1) * quarter));
    for (let a = 0; a < 4; a++)
      for (let b = a + 1; b < 4; b++) {
        const one = bars[a] as Float64Array;
        const other = bars[b] as Float64Array;
        const distance = one.map((value, n) => value - (other[n] as number));
        expect(power(distance)).toBeGreaterThan(0.05 * power(one));
      }
  });
});

describe.each(['two-bar-kit.yaml', 'kit-of-eight.yaml'])('the voices of %s', (name) => {
  // What stands beside each part: `# 8 to 11 LU under the whole`.
  const said = [
    ...shipped(name).matchAll(/^ {2}([\w-]+):.* # (\d+) to (\d+) LU under the whole$/gm),
  ];
  const patch = PATCHES.get(name) as Patch;
  const stems = stemsOf(patch);
  const heard = render(patch, { stems, tail: { unit: 'seconds', value: 0 } });
  const whole = loudnessOf(heard.channels);

  it('each have a loudness that is said', () => {
    const parts = new Set(stems.map(({ jack }) => jack.module.split('.')[0]));
    expect(said.map(([, part]) => part).sort()).toEqual([...parts].sort());
  });

  it.each(said.map(([, part, low, high]) => [part, Number(low), Number(high)] as const))(
    '%s is %d to %d LU under the whole',
    (part, low, high) => {
      const own = stems.flatMap(({ jack }, index) =>
        jack.module.startsWith(`${part}.`) ? [heard.stems[index] as readonly Float64Array[]] : [],
      );
      const sum = heard.channels.map((channel, side) => {
        const all = new Float64Array(channel.length);
        for (const stem of own)
          stem[side]?.forEach((value, n) => {
            all[n] = (all[n] as number) + value;
          });
        return all;
      });
      const under = whole - loudnessOf(sum);
      expect(under).toBeGreaterThan(low);
      expect(under).toBeLessThan(high);
    },
  );
});

function loudnessOf(channels: readonly Float64Array[]): number {
  const meter = new LoudnessMeter(48_000, channels.length);
  meter.add(channels, channels[0]?.length ?? 0);
  return meter.integrated();
}

function power(samples: Float64Array): number {
  return samples.reduce((sum, value) => sum + value ** 2, 0);
}
