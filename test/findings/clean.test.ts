// No finding on a patch that works: what is shipped, and every kind's own example.

import { describe, expect, it } from 'vitest';
import { NEEDS } from '../../src/findings/rules/input-open.ts';
import { KINDS } from '../../src/modules/kinds.ts';
import { checked, SHIPPED, shipped, told } from './read.ts';

describe('what works is not found fault with', () => {
  it.each(SHIPPED)('%s', (name) => {
    const findings = checked(shipped(name));
    expect(told(findings.filter(({ severity }) => severity !== 'note'))).toEqual([]);
  });

  it.each(KINDS.map(({ kind, example }) => [kind, example]))('the example of %s', (_, example) => {
    const findings = checked(example);
    expect(told(findings.filter(({ severity }) => severity !== 'note'))).toEqual([]);
  });

  it('is known of every kind what it needs', () => {
    expect(Object.keys(NEEDS).sort()).toEqual(KINDS.map(({ kind }) => kind).sort());
  });
});
