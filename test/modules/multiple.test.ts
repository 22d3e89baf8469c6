import { describe, expect, it } from 'vitest';
import { multiple } from '../../src/modules/multiple.ts';
import { output } from '../../src/modules/output.ts';

describe('the multiple', () => {
  it('has as many jacks as set, all of them one node, and no circuit', () => {
    for (const count of [3, 4, 16]) {
      const jacks = multiple.jacks({ jacks: count });
      expect(jacks.map(({ name }) => name)).toEqual([
        'in',
        ...Array.from({ length: count - 1 }, (_, k) => `out-${k + 1}`),
      ]);
      expect(jacks.every(({ direction }) => direction === 'through')).toBe(true);
    }
    expect(multiple.role).toBe('passive');
    expect(multiple.create).toBeUndefined();
  });
});

describe('the output', () => {
  it('takes left and right, and has no circuit', () => {
    expect(output.jacks({ 'full-scale': 10 }).map(({ name }) => name)).toEqual(['left', 'right']);
    expect(output.role).toBe('output');
    expect(output.create).toBeUndefined();
  });
});
