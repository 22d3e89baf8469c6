// No finding on a patch that works: what is shipped, and every kind's own example.

import { describe, expect, it } from 'vitest';
import { KINDS } from '../../src/modules/kinds.ts';
import { SHIPPED, shipped } from '../patch-of.ts';
import { checked, told } from './read.ts';

/** What moves by itself, so that it needs nothing. */
const SOURCES: ReadonlySet<string> = new Set(['clock', 'cluster', 'noise', 'oscillator', 'random']);

describe('what works is not found fault with', () => {
  it.each(SHIPPED)('%s', (name) => {
    const findings = checked(shipped(name));
    expect(told(findings.filter(({ severity }) => severity !== 'note'))).toEqual([]);
  });

  it.each(KINDS.map(({ kind, example }) => [kind, example]))('the example of %s', (_, example) => {
    // Rows of unlike lengths are what the step sequencer's example shows.
    const findings = checked(example).filter(({ rule }) => rule !== 'lengths-drift');
    expect(told(findings)).toEqual([]);
  });

  it.each(KINDS.filter(({ role, kind }) => role === 'circuit' && !SOURCES.has(kind)))(
    '$kind, which makes nothing of nothing, says what it needs',
    ({ needs }) => {
      expect(needs).toBeDefined();
    },
  );
});
