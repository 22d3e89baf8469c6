// Changes on their way: one at a time, the newest of each place next, none left without an answer.

import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import type { PatchChange } from '../../../src/page/protocol.ts';
import { Moves } from '../../../src/page/ui/moves.ts';

beforeEach(() => {
  vi.useFakeTimers();
});
afterEach(() => {
  vi.useRealTimers();
});

function setting(name: string, text: string): PatchChange {
  return { type: 'setting', module: 'shape', setting: name, text };
}

function bench(): { moves: Moves; sent: PatchChange[] } {
  const sent: PatchChange[] = [];
  return { moves: new Moves((change) => sent.push(change)), sent };
}

describe('moves', () => {
  it('sends the newest of each place once what went before is heard', async () => {
    const { moves, sent } = bench();
    const outcomes = ['10 ms', '20 ms', '30 ms'].map((text) => moves.make(setting('decay', text)));
    const other = moves.make(setting('attack', '1 ms'));
    expect(sent).toEqual([setting('decay', '10 ms')]);
    expect(moves.answered(1, undefined)).toEqual(setting('decay', '10 ms'));
    expect(sent).toHaveLength(1);
    moves.heard(1);
    expect(sent.at(-1)).toEqual(setting('decay', '30 ms'));
    moves.answered(2, 'no such unit');
    // A refusal makes no sound to wait for.
    expect(sent.at(-1)).toEqual(setting('attack', '1 ms'));
    moves.answered(3, undefined);
    expect(await Promise.all([...outcomes, other])).toEqual([
      undefined,
      undefined,
      'no such unit',
      undefined,
    ]);
  });

  it('does not wait for a sound for ever', () => {
    const { moves, sent } = bench();
    void moves.make(setting('decay', '10 ms'));
    void moves.make(setting('decay', '20 ms'));
    moves.answered(1, undefined);
    expect(sent).toHaveLength(1);
    vi.advanceTimersByTime(1000);
    expect(sent).toHaveLength(2);
  });

  it('drops what has not been made, and takes no answer for it afterwards', async () => {
    const { moves, sent } = bench();
    const both = [moves.make(setting('decay', '10 ms')), moves.make(setting('decay', '20 ms'))];
    moves.drop();
    expect(await Promise.all(both)).toEqual([undefined, undefined]);
    expect(moves.answered(1, undefined)).toBeUndefined();
    void moves.make(setting('decay', '30 ms'));
    expect(sent.at(-1)).toEqual(setting('decay', '30 ms'));
  });
});
