import { describe, expect, it } from 'vitest';
import { close } from './close.ts';

const loose = { abs: 0.1, unit: 'V', why: 'a trial' };

describe('close', () => {
  it('passes inside the tolerance and on its edge', () => {
    close(1.05, 1, loose);
    close(0.75, 0.5, { abs: 0.25, unit: 'V', why: 'exact in binary' });
    close(-99, -100, { rel: 0.02, unit: 'V', why: 'a trial' });
  });

  it('fails outside it and prints all four numbers and the reason', () => {
    expect(() => close(1.25, 1, { ...loose, abs: 0.125 })).toThrow(
      'got 1.25 V, expected 1 V: off by 0.25, allowed +-0.125: a trial',
    );
    expect(() => close(90, 100, { rel: 0.02, unit: 'Hz', why: 'a trial' })).toThrow('off by -10');
  });

  it('fails on NaN and on infinity', () => {
    expect(() => close(Number.NaN, 1, loose)).toThrow();
    expect(() => close(1, Number.NaN, loose)).toThrow();
    expect(() => close(Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY, loose)).toThrow();
  });

  it('refuses a tolerance of neither kind, of both, or of nothing', () => {
    expect(() => close(1, 1, { unit: 'V', why: '' })).toThrow('either abs or rel');
    expect(() => close(1, 1, { abs: 1, rel: 1, unit: 'V', why: '' })).toThrow('either abs or rel');
    expect(() => close(1, 0, { rel: 1, unit: 'V', why: '' })).toThrow('above 0');
  });
});
