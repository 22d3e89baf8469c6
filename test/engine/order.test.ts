// The running order: drivers before the driven, cycles kept together, and independent of the order in the file.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { runningOrder } from '../../src/engine/order.ts';

/** @param edges `driver>driven` pairs of single letters. */
function order(edges: string, names: readonly string[]): string[] {
  const drivers = names.map((name) =>
    edges
      .split(' ')
      .filter((edge) => edge.endsWith(`>${name}`))
      .map((edge) => names.indexOf(edge[0] as string)),
  );
  return runningOrder({ names, drivers }).map((group) => group.map((node) => names[node]).join(''));
}

describe('running order', () => {
  it('runs a driver before what it drives, whatever the names', () => {
    //  z --> y --> a
    expect(order('z>y y>a', ['a', 'y', 'z'])).toEqual(['z', 'y', 'a']);
  });

  it('keeps a cycle together, between what drives it and what it drives', () => {
    //  s --> a --> b --> t
    //        ^     |
    //        c <---+
    expect(order('s>a a>b b>c c>a b>t', ['a', 'b', 'c', 's', 't'])).toEqual(['s', 'abc', 't']);
  });

  it('is the same for every order of the lines in the file', () => {
    const edges = 's>a a>b b>c c>a b>t u>t';
    const names = ['a', 'b', 'c', 's', 't', 'u'];
    const expected = order(edges, names);
    fc.assert(
      fc.property(fc.shuffledSubarray(names, { minLength: names.length }), (shuffled) => {
        expect(order(edges, shuffled)).toEqual(expected);
      }),
    );
  });

  it('puts every driver first in any graph without cycles', () => {
    const pairs = fc.array(fc.tuple(fc.nat(30), fc.nat(30)), { maxLength: 100 });
    fc.assert(
      fc.property(pairs, (all) => {
        const forward = all.filter(([from, to]) => from < to);
        const names = Array.from({ length: 31 }, (_, i) => `m${(i * 17) % 31}`);
        const drivers = names.map((_, to) => forward.filter((p) => p[1] === to).map((p) => p[0]));
        const place = runningOrder({ names, drivers }).flat();
        expect(place).toHaveLength(31);
        for (const [from, to] of forward)
          expect(place.indexOf(from)).toBeLessThan(place.indexOf(to));
      }),
    );
  });

  it('orders a chain of 20 000 modules without exhausting the stack', () => {
    const names = Array.from({ length: 20_000 }, (_, i) => `m${i}`);
    const drivers = names.map((_, i) => (i === 0 ? [] : [i - 1]));
    expect(runningOrder({ names, drivers }).flat()).toEqual(names.map((_, i) => i));
  });
});
