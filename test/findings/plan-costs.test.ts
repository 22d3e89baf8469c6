// The cost of ways out that do not concern triggers: counted by hand from the patterns of one kit, on a rack
// that lacks one module of it.

import { describe, expect, it } from 'vitest';
import { check } from '../../src/findings/check.ts';
import { patchFrom } from '../patch-of.ts';

/** 9 hits of the hat, 4 of them accented; the snare plays with it at 2 of its 3. */
const KIT = `rack: own.yaml
modules:
  drums: { kind: rhythm, channels: [snare, hat], patterns: { p: { snare: "---- x--- ---x x---", hat: "x-X- x-X- x-X- x-Xx" } } }
  snap: { kind: envelope, release: 90 ms }
  rattle: { kind: noise }
  body: { kind: amplifier }
  tick: { kind: envelope, release: 30 ms }
  hiss: { kind: noise }
  bright: { kind: filter, cutoff: 7 kHz }
  level: { kind: amplifier }
  accent: { kind: attenuator, level: 40 %, offset: 3 V }
  touch: { kind: amplifier }
  mix: { kind: mixer }
  out: { kind: output }
cables:
  - drums.snare -> snap.trigger
  - snap.out -> body.control
  - rattle.white -> body.in
  - body.out -> mix.in-1
  - drums.hat -> tick.trigger
  - tick.out -> level.control
  - hiss.white -> bright.in
  - bright.high -> level.in
  - level.out -> touch.in
  - drums.hat-accent -> accent.in
  - accent.out -> touch.control
  - touch.out -> mix.in-2
  - mix.out -> out.left
`;

const ALL = {
  rhythm: 1,
  envelope: 2,
  noise: 2,
  filter: 1,
  amplifier: 3,
  attenuator: 1,
  mixer: 1,
  output: 1,
};

/** The cheapest way with so many of a kind, and a multiple. */
function cheapest(lack: Partial<typeof ALL>, kit = KIT) {
  const units = Object.entries({ ...ALL, ...lack }).flatMap(([kind, count]) =>
    count === 0 ? [] : [`  own-${kind}: { kind: ${kind}, count: ${count} }`],
  );
  const rack = `units:\n${units.join('\n')}\n  split: { kind: multiple, fixed: { jacks: 4 } }\n`;
  const [short] = check(patchFrom(kit, { 'own.yaml': rack })).filter(
    ({ rule }) => rule === 'rack-short',
  );
  const way = short?.ways?.find((one) => one.way === 'cheapest');
  return { steps: way?.steps.map(({ text, cost }) => [text, cost]), cost: way?.cost };
}

const NOTHING = { lostHits: 0, addedHits: 0, alteredHits: 0, silentVoices: [] };

describe('what it costs', () => {
  it('to plug past the amplifier of the accents: the accented hits', () => {
    const { steps, cost } = cheapest({ amplifier: 2 });
    expect(cost).toEqual({ ...NOTHING, alteredHits: 4 });
    expect(steps).toEqual([
      [
        'plug past touch, which is there for accents alone',
        'the 4 accents of drums.hat-accent are no louder than the other 5 of 9 hits',
      ],
    ]);
  });

  it('to take one noise for two voices: the hits at which both sound', () => {
    const { steps, cost } = cheapest({ noise: 1 });
    expect(cost).toEqual({ ...NOTHING, alteredHits: 2 });
    expect(steps).toHaveLength(1);
    expect(steps?.[0]?.[1]).toBe('at 2 hits both voices sound at once, of the same noise');
  });

  it('nothing, where the two voices never sound at once', () => {
    const apart = KIT.replace('"---- x--- ---x x---"', '"-x-- -x-- -x-x -x--"');
    expect(cheapest({ noise: 1 }, apart).cost).toEqual(NOTHING);
  });

  it('to take a noise that is louder: every hit of the voice that gets it', () => {
    const loud = KIT.replace('rattle: { kind: noise }', 'rattle: { kind: noise, level: 2 V }');
    // The snare takes that of the hat, since it has the fewer hits.
    expect(cheapest({ noise: 1 }, loud).cost).toEqual({ ...NOTHING, alteredHits: 3 });
  });

  it('to plug past a filter: every hit that goes through it', () => {
    const { steps, cost } = cheapest({ filter: 0 });
    expect(cost).toEqual({ ...NOTHING, alteredHits: 9 });
    expect(steps).toEqual([['plug past bright', '9 hits of touch.out sound without that filter']]);
  });

  it('to leave out a voice: its hits, of the voice that has the fewest', () => {
    const { steps, cost } = cheapest({ amplifier: 1, attenuator: 0 });
    // One amplifier is left for the hat, which goes without its accents.
    expect(cost).toEqual({ ...NOTHING, alteredHits: 4, lostHits: 3, silentVoices: ['body.out'] });
    expect(steps).toContainEqual([
      'leave out the voice of body.out, which plays drums.snare',
      '3 of 12 hits are silent',
    ]);
  });
});
