import { expect, it } from 'vitest';
import { quarterSine } from '../../../src/modules/dsp/quarter-sine.ts';
import { close } from '../../close.ts';

// 1.4e-11 is -217 dB: the first term left out, 2 J13(pi/2) = 1.3e-11, and a little for the rest.
it('is the sine over a quarter turn either side of zero', () => {
  for (let i = -1000; i <= 1000; i++) {
    const x = i / 1000;
    close(quarterSine(x), Math.sin((Math.PI * x) / 2), {
      abs: 1.4e-11,
      unit: '',
      why: 'the first term left out, and a little for the rest, as above',
    });
    expect(quarterSine(-x)).toBe(-quarterSine(x));
  }
});
