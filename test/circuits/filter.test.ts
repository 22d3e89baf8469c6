import './shim';
import { expect, test } from 'vitest';
import { Wire } from '../../src/circuits/core/wire';
import { Filter } from '../../src/circuits/filter';

test('runs as plain JavaScript: low of a steady volt comes to a volt', () => {
  const [input, control, low] = [new Wire(), new Wire(), new Wire()];
  const filter = new Filter(input, control, low, null, null, null, 1000, 1, 0, 48000);
  for (let i = 0; i < 128; i++) input.volts[i] = 1;
  for (let block = 0; block < 50; block++) filter.process(0, 128);
  expect(Math.abs((low.volts[127] as number) - 1)).toBeLessThan(1e-12);
});
