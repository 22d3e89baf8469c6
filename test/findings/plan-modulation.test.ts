// The cheapest way out of a rack that is short of what moves the sound or plays it back, against every possible way:
// small random patches, in which each voice has its own random volts, slow oscillator or recording, or takes another's,
// goes without it, or is left out. By hand: what is set otherwise changes every hit that is left of the voice that takes it, random
// volts that are shared each hit at which another has them too, and a recording plays the hits of its own trigger.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { check } from '../../src/findings/check.ts';
import { KNOCK } from '../knock.ts';
import { patchFrom } from '../patch-of.ts';
import { runs } from '../runs.ts';

interface Voice {
  readonly pattern: string;
  readonly moved: 'random' | 'oscillator';
  /** V or Hz by which it is set. */
  readonly set: 1 | 2;
}

interface Played {
  readonly pattern: string;
  /** Semitones. */
  readonly tune: 0 | 5;
}

interface Owned {
  readonly count: number;
  readonly other: number;
  readonly multiple: number;
}

type Cost = readonly [wrong: number, altered: number];

const pattern = fc
  .array(fc.constantFrom('x', '-', '-'), { minLength: 8, maxLength: 8 })
  .map((steps) => `x${steps.slice(1).join('')}`);
const few = fc.integer({ min: 0, max: 2 });
const owned: fc.Arbitrary<Owned> = fc.record({
  count: fc.integer({ min: 1, max: 2 }),
  other: few,
  multiple: few,
});

function rhythmOf(voices: readonly { readonly pattern: string }[]): string {
  const names = voices.map((_, i) => `c${i}`).join(', ');
  const patterns = voices.map(({ pattern }, i) => `c${i}: "${pattern}"`).join(', ');
  return `drums: { kind: rhythm, channels: [${names}], gate: 8 ms, patterns: { a: { ${patterns} } } }`;
}

function patchOf(modules: readonly string[], cables: readonly string[]): string {
  return `rack: own.yaml
modules:
${modules.map((line) => `  ${line}`).join('\n')}
  mix: { kind: mixer }
  out: { kind: output }
cables: [${[...cables, 'mix.out -> out.left'].join(', ')}]
`;
}

function movedOf(voices: readonly Voice[]): string {
  const modules = voices.flatMap(({ moved, set }, i) => [
    `shape${i}: { kind: envelope }`,
    `hiss${i}: { kind: noise }`,
    moved === 'random'
      ? `any${i}: { kind: random, clock: own, range: ${set} V }`
      : `any${i}: { kind: oscillator, at-zero: ${20 * set} Hz }`,
    `tone${i}: { kind: filter, cutoff: ${i + 1} kHz }`,
    `level${i}: { kind: amplifier }`,
  ]);
  const cables = voices.flatMap(({ moved }, i) => [
    `drums.c${i} -> shape${i}.trigger`,
    `any${i}.${moved === 'random' ? 'smooth' : 'sine'} -> tone${i}.control`,
    `hiss${i}.white -> tone${i}.in`,
    `tone${i}.low -> level${i}.in`,
    `shape${i}.out -> level${i}.control`,
    `level${i}.out -> mix.in-${i + 1}`,
  ]);
  return patchOf([rhythmOf(voices), ...modules], cables);
}

function playedOf(voices: readonly Played[]): string {
  const modules = voices.map(
    ({ tune }, i) => `hit${i}: { kind: recording, file: "${KNOCK}", tune: ${tune} st }`,
  );
  const cables = voices.flatMap((_, i) => [
    `drums.c${i} -> hit${i}.trigger`,
    `hit${i}.out -> mix.in-${i + 1}`,
  ]);
  return patchOf([rhythmOf(voices), ...modules], cables);
}

function rackOf(counts: Readonly<Record<string, number>>): string {
  const units = Object.entries(counts).map(([kind, count]) => {
    const jacks = kind === 'multiple' ? ', fixed: { jacks: 8 }' : '';
    return count === 0 ? '' : `  own-${kind}: { kind: ${kind}, count: ${count}${jacks} }\n`;
  });
  return `units:\n${units.join('')}`;
}

const BASIC = { rhythm: 1, mixer: 1, output: 1 };

/** Whose it has, its own being its index; that it goes without, or is left out. */
type Choice = number | 'still' | 'silent';

function* choicesOf(count: number, others: readonly Choice[]): Generator<readonly Choice[]> {
  const all = [...Array.from({ length: count }, (_, i) => i), ...others];
  for (let number = 0; number < all.length ** count; number++)
    yield Array.from(
      { length: count },
      (_, i) => all[Math.floor(number / all.length ** i) % all.length] as Choice,
    );
}

function least(
  count: number,
  others: readonly Choice[],
  costOf: (choices: readonly Choice[]) => Cost | undefined,
) {
  let best: Cost | undefined;
  for (const choices of choicesOf(count, others)) {
    if (choices.every((one) => one === 'silent')) continue;
    // What is taken must be there.
    if (choices.some((one) => typeof one === 'number' && choices[one] !== one)) continue;
    const cost = costOf(choices);
    if (cost === undefined) continue;
    if (best === undefined || cost[0] < best[0] || (cost[0] === best[0] && cost[1] < best[1]))
      best = cost;
  }
  return best;
}

const hitsOf = ({ pattern }: { readonly pattern: string }): readonly boolean[] =>
  [...pattern].map((step) => step === 'x');
const counted = (hits: readonly boolean[]): number => hits.filter(Boolean).length;

/** How many multiples it takes: one for each that several have. */
function splits(choices: readonly Choice[]): number {
  return new Set(choices.filter((one, i) => typeof one === 'number' && one !== i)).size;
}

function movedCost(
  voices: readonly Voice[],
  choices: readonly Choice[],
  { count, other, multiple }: Owned,
): Cost | undefined {
  const need = { random: 0, oscillator: 0 };
  let [wrong, altered] = [0, 0];
  for (const [i, own] of voices.entries()) {
    const choice = choices[i];
    if (choice === 'silent') wrong += counted(hitsOf(own));
    else if (choice === 'still') altered += counted(hitsOf(own));
    else if (choice === i) need[own.moved] += 1;
    else if (voices[choice as number]?.moved !== own.moved) return undefined;
  }
  if (need.random > count || need.oscillator > other || splits(choices) > multiple)
    return undefined;
  for (const leader of voices.keys()) {
    const group = choices.flatMap((choice, i) => (choice === leader ? [i] : []));
    for (let at = 0; at < 8; at++) {
      const sounding = group.filter((i) => hitsOf(voices[i] as Voice)[at]);
      const alike = sounding.filter((i) => voices[i]?.set === voices[leader]?.set);
      altered += sounding.length - alike.length;
      // Random volts of its own would be others: of those that have the same at once, one has its own.
      if (voices[leader]?.moved === 'random') altered += Math.max(0, alike.length - 1);
    }
  }
  return [wrong, altered];
}

function playedCost(
  voices: readonly Played[],
  choices: readonly Choice[],
  { count, multiple }: Owned,
): Cost | undefined {
  if (choices.filter((choice, i) => choice === i).length > count) return undefined;
  if (splits(choices) > multiple) return undefined;
  let [wrong, altered] = [0, 0];
  for (const [i, own] of voices.entries()) {
    const choice = choices[i];
    const hits = hitsOf(own);
    const leader = typeof choice === 'number' ? voices[choice] : undefined;
    if (leader === undefined) {
      wrong += counted(hits);
      continue;
    }
    const instead = hitsOf(leader);
    wrong += counted(hits.map((hit, at) => hit !== instead[at]));
    if (leader.tune !== own.tune)
      altered += counted(hits.map((hit, at) => hit && instead[at] === true));
  }
  return [wrong, altered];
}

/** What the cheapest way costs; nothing where the rack is not short. */
function told(text: string, rack: string): Cost | undefined {
  const [short] = check(patchFrom(text, { 'own.yaml': rack })).filter(
    ({ rule }) => rule === 'rack-short',
  );
  if (short === undefined) return [0, 0];
  const way = short.ways?.find((one) => one.way === 'cheapest');
  return way && [way.cost.lostHits + way.cost.addedHits, way.cost.alteredHits];
}

describe('the least that there is', () => {
  it('is what shared modulation costs', () => {
    const voice: fc.Arbitrary<Voice> = fc.record({
      pattern,
      moved: fc.constantFrom('random', 'oscillator'),
      set: fc.constantFrom(1, 1, 2),
    });
    let altered = 0;
    fc.assert(
      fc.property(fc.array(voice, { minLength: 2, maxLength: 3 }), owned, (voices, rack) => {
        const plenty = { envelope: 3, noise: 3, filter: 3, amplifier: 3 };
        const counts = { random: rack.count, oscillator: rack.other, multiple: rack.multiple };
        const found = told(movedOf(voices), rackOf({ ...BASIC, ...plenty, ...counts }));
        const best = least(voices.length, ['still', 'silent'], (choices) =>
          movedCost(voices, choices, rack),
        );
        expect(found).toEqual(best);
        if ((best?.[1] ?? 0) > 0) altered += 1;
      }),
      runs(30),
    );
    expect(altered).toBeGreaterThan(3);
  });

  it('is what shared recordings cost', () => {
    const voice: fc.Arbitrary<Played> = fc.record({ pattern, tune: fc.constantFrom(0, 0, 5) });
    fc.assert(
      fc.property(fc.array(voice, { minLength: 2, maxLength: 3 }), owned, (voices, rack) => {
        const counts = { recording: rack.count, multiple: rack.multiple };
        const found = told(playedOf(voices), rackOf({ ...BASIC, ...counts }));
        expect(found).toEqual(
          least(voices.length, ['silent'], (choices) => playedCost(voices, choices, rack)),
        );
      }),
      runs(30),
    );
  });
});
