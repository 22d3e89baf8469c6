// decay-cut-short: which stage sets the tail. Times to a tenth are also read off the render's samples.

import { describe, expect, it } from 'vitest';
import { close } from '../../close.ts';
import { by, figure, highest, RATE, rendered, troubles, voice } from '../voice.ts';

/** s from the highest sample to the first one under a tenth of it. */
function tail(text: string): number {
  const out = rendered(text, ['shape.out']).volts[0] as Float64Array;
  const peak = highest(out);
  const top = out.indexOf(peak);
  return (out.findIndex((volts, i) => i > top && volts < peak / 10) - top) / RATE;
}

describe('decay-cut-short', () => {
  it('says how long the tail is and how long it was meant to be', () => {
    const text = voice({ shape: 'attack: 1 ms, decay: 400 ms, release: 100 ms' });
    const [finding] = by('decay-cut-short', text);
    expect(finding?.severity).toBe('caution');
    const why = {
      rel: 0.01,
      unit: 's',
      why: 'a sample or two at either end of some 2000',
    } as const;
    close(figure(finding, 'heardTailSeconds'), tail(text), why);
    // The decay alone: ln 10 time constants of 80 ms.
    close(figure(finding, 'meantTailSeconds'), Math.log(10) * 0.08, why);
    const held = voice({
      rhythm: 'gate: 450 ms',
      shape: 'attack: 1 ms, decay: 400 ms, release: 100 ms',
    });
    close(tail(held), Math.log(10) * 0.08, why);
  });

  it('is a note where the difference is small, and longer tails are told too', () => {
    const [shorter] = by('decay-cut-short', voice({ shape: 'decay: 100 ms, release: 70 ms' }));
    expect(shorter?.severity).toBe('note');
    const [longer] = by('decay-cut-short', voice({ shape: 'decay: 60 ms, release: 100 ms' }));
    expect(longer?.severity).toBe('note');
    expect(longer?.message).toContain('longer');
  });

  it.each([
    ['decay and release are alike', 'decay: 300 ms, release: 300 ms'],
    ['they differ by less than a tenth', 'decay: 300 ms, release: 280 ms'],
    ['the decay runs whatever the gate does', 'mode: trigger, decay: 300 ms, release: 50 ms'],
    ['no decay was asked for', 'release: 40 ms'],
    ['the decay is over when the gate ends', 'attack: 0 s, decay: 6 ms, release: 50 ms'],
  ])('finds nothing where %s', (_, shape) => {
    expect(by('decay-cut-short', voice({ shape }))).toEqual([]);
    expect(troubles(voice({ shape }))).toEqual([]);
  });
});
