// What the page does with samples: loops put together, waveforms, volts made safe to hear.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { peaksOf, waveformPath } from '../../src/page/pieces/peaks.ts';
import { Assembly } from '../../src/page/ui/strip/assembly.ts';
import { heardVolts } from '../../src/page/ui/strip/heard-volts.ts';
import { close } from '../close.ts';

const RATE = 48_000;

function made(frames: number, value: (frame: number) => number): Float32Array<ArrayBuffer> {
  return new Float32Array(frames).map((_, frame) => value(frame));
}

describe('a loop put together', () => {
  it('is what was rendered, however it was cut, with the head again at the end', () => {
    const cuts = fc.array(fc.integer({ min: 1, max: 99 }), { maxLength: 8 });
    fc.assert(
      fc.property(cuts, fc.integer({ min: 1, max: 100 }), (at, head) => {
        const dry = made(100, (frame) => frame);
        const wet = made(head, (frame) => -frame - 1);
        const ends = [...new Set(at), 100].sort((a, b) => a - b);
        const assembly = new Assembly(
          1,
          { from: 0, frames: 100, channels: [dry], isWhole: false },
          undefined,
        );
        let from = 0;
        for (const end of ends) {
          const piece = { from, frames: 100, channels: [dry.slice(from, end)], isWhole: false };
          const loop = assembly.add(piece);
          expect(loop.ready).toBe(end);
          expect(loop.isWhole).toBe(false);
          from = end;
        }
        const loop = assembly.add({ from: 0, frames: 100, channels: [wet], isWhole: true });
        expect(loop.channels[0]).toEqual(Float32Array.from([...wet, ...dry.slice(head)]));
        expect([loop.ready, loop.isWhole]).toEqual([100, true]);
      }),
    );
  });

  it('keeps the sound of before where nothing is rendered yet, if it is as long', () => {
    const sound = { from: 0, frames: 4, channels: [new Float32Array([9])], isWhole: false };
    const before = new Assembly(1, sound, undefined).add({
      ...sound,
      channels: [new Float32Array([1, 2, 3, 4])],
      isWhole: true,
    });
    expect(new Assembly(2, sound, before).add(sound).channels[0]).toEqual(
      new Float32Array([9, 2, 3, 4]),
    );
    const longer = { ...sound, frames: 5 };
    expect(new Assembly(3, longer, before).add(longer).channels[0]).toEqual(
      new Float32Array([9, 0, 0, 0, 0]),
    );
  });
});

describe('a waveform', () => {
  it('has every extreme in its columns', () => {
    const samples = made(1000, (frame) => (frame === 313 ? 0.9 : frame === 777 ? -0.4 : 0));
    const columns = peaksOf([samples], 1000, 60);
    expect(Math.max(...columns.map(({ high }) => high))).toBe(samples[313]);
    expect(Math.min(...columns.map(({ low }) => low))).toBe(samples[777]);
    expect(columns.filter(({ high, low }) => high > 0 || low < 0)).toHaveLength(2);
    // Fewer samples than columns, and none: each column still has its bounds.
    expect(peaksOf([samples], 10, 60)).toHaveLength(60);
    expect(peaksOf([], 0, 3)).toEqual([0, 1, 2].map(() => ({ low: 0, high: 0 })));
  });

  it('fills the height at full scale and never leaves it', () => {
    const path = waveformPath([{ low: -3, high: 7 }], 48, 1);
    expect(path).toBe('M0 0.0L0 48.0Z');
    // As loud as it sounds: half of full scale is half of the height.
    expect(waveformPath([{ low: -1, high: 1 }], 48, 0.5)).toBe('M0 12.0L0 36.0Z');
  });
});

describe('volts made fit for ears', () => {
  it('lets nothing of a steady voltage through', () => {
    // Exactly: the high-pass of a loop that never changes is silence from the first sample.
    expect(
      Math.max(
        ...heardVolts(
          made(4800, () => 5),
          RATE,
        ).map(Math.abs),
      ),
    ).toBe(0);
  });

  it('passes a sine of 1 kHz at a tenth of its volts, as its filter has it', () => {
    const heard = heardVolts(
      made(RATE, (frame) => 2 * Math.sin((2 * Math.PI * 1000 * frame) / RATE)),
      RATE,
    );
    // |H| of y = a (y + x - x of before) on the unit circle, a 0.13 % loss; whole periods, so the root
    // mean square is the amplitude over the square root of two. Rounding to 32 bits is 6e-8 a sample.
    const w = (2 * Math.PI * 1000) / RATE;
    const a = 1 / (1 + (2 * Math.PI * 20) / RATE);
    const gain = (a * 2 * Math.sin(w / 2)) / Math.sqrt(1 - 2 * a * Math.cos(w) + a * a);
    const rms = Math.sqrt(heard.reduce((sum, value) => sum + value * value, 0) / RATE);
    close(rms, (0.2 * gain) / Math.SQRT2, { rel: 1e-6, unit: '', why: 'rounding to 32 bits' });
    close(gain, 1, { abs: 0.002, unit: '', why: 'a loss of 0.13 %, as above' });
  });

  it('is never louder than half of full scale, from lowest to highest', () => {
    // Gates of 12 V in a loop: a square wave through a high-pass is at most its own height either way.
    const heard = heardVolts(
      made(4800, (frame) => (frame % 480 < 240 ? 12 : 0)),
      RATE,
    );
    expect(Math.max(...heard.map(Math.abs))).toBeLessThanOrEqual(0.5);
    expect(Math.max(...heard.map(Math.abs))).toBeGreaterThan(0.2);
  });

  it('closes the loop without a step', () => {
    const volts = made(4800, (frame) => 3 * Math.sin((2 * Math.PI * 10 * frame) / 4800) + 4);
    const heard = heardVolts(volts, RATE);
    const steps = [...heard].map((value, frame) =>
      Math.abs(value - (heard.at(frame - 1) as number)),
    );
    // The step across the seam is like any other: at most the steepest of a sine through this filter.
    expect(steps[0]).toBeLessThanOrEqual(Math.max(...steps.slice(1)) * 1.01);
  });
});
