// Undo and redo against a list that is walked by hand.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Act } from '../../../../src/page/ui/versions/gestures.ts';
import { NO_HISTORY, noted, redone, undone } from '../../../../src/page/ui/versions/history.ts';
import type { PatchTexts } from '../../../../src/patch/texts.ts';

function files(text: string): PatchTexts {
  return { main: 'a.yaml', set: [], texts: { 'a.yaml': text } };
}

describe('history', () => {
  it('goes back through every step and forth again, whatever was done', () => {
    const steps = fc.array(fc.string(), { minLength: 1, maxLength: 30 });
    fc.assert(
      fc.property(steps, (texts) => {
        const all = ['start', ...texts].map(files);
        let history = NO_HISTORY;
        all.slice(1).forEach((_, index) => {
          // Each at a place of its own, so that none are taken together.
          history = noted(history, all[index] as PatchTexts, { place: `place ${index}`, time: 0 });
        });
        const seen: PatchTexts[] = [];
        let now = all.at(-1) as PatchTexts;
        for (let back = undone(history, now); back !== undefined; back = undone(history, now)) {
          [history, now] = back;
          seen.push(now);
        }
        expect(seen).toEqual(all.slice(0, -1).reverse());
        for (let forth = redone(history, now); forth !== undefined; forth = redone(history, now))
          [history, now] = forth;
        expect(now).toBe(all.at(-1));
      }),
    );
  });

  it('takes what a hand does in one go as one step', () => {
    const decay = (time: number): Act => ({ place: 'shape.decay', time });
    let history = noted(NO_HISTORY, files('1'), decay(0));
    history = noted(history, files('2'), decay(40));
    history = noted(history, files('3'), decay(900));
    expect(history.past).toEqual([files('1')]);
    history = noted(history, files('4'), decay(5000));
    history = noted(history, files('5'), { place: 'shape.attack', time: 5010 });
    expect(history.past).toEqual([files('1'), files('4'), files('5')]);
  });

  it('forgets what was undone once something else is done', () => {
    const [history] = undone(
      noted(NO_HISTORY, files('1'), { place: 'a', time: 0 }),
      files('2'),
    ) ?? [NO_HISTORY];
    expect(history.future).toEqual([files('2')]);
    expect(noted(history, files('1'), { place: 'b', time: 0 }).future).toEqual([]);
  });
});
