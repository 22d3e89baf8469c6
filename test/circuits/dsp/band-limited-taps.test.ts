import { expect, test } from 'vitest';
import { tapsFile } from './band-limited-taps.design.ts';

// Exact text: the rounding leaves six digits of room for engines whose Math differs in the last bit.
test('the file of taps is what its design gives', async () => {
  await expect(tapsFile()).toMatchFileSnapshot('../../../src/circuits/dsp/band-limited-taps.ts');
});
