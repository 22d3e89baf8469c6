import { describe, it } from 'vitest';
import { close } from './close.ts';
import { averageSpectrum, powerSpectrum } from './fft.ts';

const rounding = { abs: 1e-11, unit: 'V^2', why: 'rounding of some hundred additions' };

describe('powerSpectrum', () => {
  it('agrees with the sum that defines it (independent recomputation)', () => {
    const frame = Array.from({ length: 32 }, (_, n) => Math.sin(n * n) + (n % 5) * 0.1);
    const power = powerSpectrum(frame);
    for (let k = 0; k <= 16; k++) {
      let re = 0;
      let im = 0;
      frame.forEach((x, n) => {
        re += x * Math.cos((2 * Math.PI * k * n) / 32);
        im -= x * Math.sin((2 * Math.PI * k * n) / 32);
      });
      close(power[k] as number, (re * re + im * im) / 32, rounding);
    }
  });

  it('puts a cosine of amplitude a into one bin, with power a^2 N/4 (closed form)', () => {
    const power = powerSpectrum(
      Array.from({ length: 64 }, (_, n) => 3 * Math.cos((2 * Math.PI * 5 * n) / 64)),
    );
    power.forEach((value, k) => {
      close(value, k === 5 ? (9 * 64) / 4 : 0, rounding);
    });
  });
});

describe('averageSpectrum', () => {
  it('leaves out the last part of a frame', () => {
    const samples = new Float64Array(20).fill(1, 16);
    samples[0] = 4;
    samples[8] = 2;
    close(averageSpectrum(samples, 8)[1] as number, (16 + 4) / 8 / 2, rounding);
  });
});
