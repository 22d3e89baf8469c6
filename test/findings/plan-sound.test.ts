// The cheapest way out of a rack with too few modules that make and shape the sound, against every possible way:
// small random patches, in which each voice keeps its own noise or takes another's, alone or behind an equal filter,
// keeps its filter and its accents or is plugged past them, or is left out.

import fc from 'fast-check';
import { expect, it } from 'vitest';
import { check } from '../../src/findings/check.ts';
import { runs } from '../runs.ts';
import { patchFrom } from './read.ts';

interface Voice {
  readonly pattern: string;
  /** V, of its noise. */
  readonly level: 1 | 2;
  /** kHz; undefined without one. */
  readonly filter: 4 | 7 | undefined;
  readonly accents: boolean;
}
interface Rack {
  readonly noise: number;
  readonly filter: number;
  readonly amplifier: number;
  readonly attenuator: number;
  readonly multiple: number;
}

function patchOf(voices: readonly Voice[]): string {
  const names = voices.map((_, i) => `c${i}`);
  const modules = voices.flatMap(({ level, filter, accents }, i) => [
    `shape${i}: { kind: envelope }`,
    `hiss${i}: { kind: noise, level: ${level} V }`,
    `level${i}: { kind: amplifier }`,
    ...(filter ? [`bright${i}: { kind: filter, cutoff: ${filter} kHz }`] : []),
    ...(accents
      ? [
          `accent${i}: { kind: attenuator, level: 40 %, offset: 3 V }`,
          `touch${i}: { kind: amplifier }`,
        ]
      : []),
  ]);
  const cables = voices.flatMap(({ filter, accents }, i) => [
    `drums.c${i} -> shape${i}.trigger`,
    `shape${i}.out -> level${i}.control`,
    ...(filter
      ? [`hiss${i}.white -> bright${i}.in`, `bright${i}.high -> level${i}.in`]
      : [`hiss${i}.white -> level${i}.in`]),
    ...(accents
      ? [
          `level${i}.out -> touch${i}.in`,
          `drums.c${i}-accent -> accent${i}.in`,
          `accent${i}.out -> touch${i}.control`,
          `touch${i}.out -> mix.in-${i + 1}`,
        ]
      : [`level${i}.out -> mix.in-${i + 1}`]),
  ]);
  const patterns = voices.map(({ pattern }, i) => `c${i}: "${pattern}"`).join(', ');
  return `rack: own.yaml
modules:
  drums: { kind: rhythm, channels: [${names.join(', ')}], gate: 8 ms, patterns: { a: { ${patterns} } } }
${modules.map((line) => `  ${line}`).join('\n')}
  mix: { kind: mixer }
  out: { kind: output }
cables: [${[...cables, 'mix.out -> out.left'].join(', ')}]
`;
}

function rackOf(owned: Rack): string {
  const units = Object.entries({ rhythm: 1, envelope: 9, mixer: 1, output: 1, ...owned });
  return `units:\n${units
    .map(([kind, count]) =>
      count === 0
        ? ''
        : `  own-${kind}: { kind: ${kind}, count: ${count}${kind === 'multiple' ? ', fixed: { jacks: 8 }' : ''} }\n`,
    )
    .join('')}`;
}

/** What is done about one voice; undefined where it is left out. */
type Choice =
  | {
      /** Whose noise it has, and whether that comes behind the filter of that one. */
      readonly of: number;
      readonly behind: boolean;
      readonly filter: boolean;
      readonly accents: boolean;
    }
  | undefined;

/** Hits that are lost, and how often one sounds otherwise; undefined where the rack has not enough. */
function costOf(
  voices: readonly Voice[],
  choices: readonly Choice[],
  owned: Rack,
): readonly [number, number] | undefined {
  const need = { noise: 0, filter: 0, amplifier: 0, attenuator: 0 };
  const split = new Set<string>();
  let [lost, altered] = [0, 0];
  const hitsOf = (i: number): readonly number[] =>
    [...(voices[i] as Voice).pattern].flatMap((step, at) => (step === '-' ? [] : [at]));
  for (const [i, choice] of choices.entries()) {
    const { pattern, filter, accents } = voices[i] as Voice;
    if (choice === undefined) {
      lost += hitsOf(i).length;
      continue;
    }
    need.amplifier += 1;
    if (accents && choice.accents) {
      need.amplifier += 1;
      need.attenuator += 1;
    } else if (accents) altered += pattern.split('X').length - 1;
    if (filter && choice.filter && !choice.behind) need.filter += 1;
    if (filter && !choice.filter) altered += hitsOf(i).length;
    if (choice.of === i) need.noise += 1;
    else {
      const leader = choices[choice.of];
      if (leader === undefined || leader.of !== choice.of) return undefined;
      if (choice.behind && !leader.filter) return undefined;
      split.add(`${choice.of} ${choice.behind}`);
    }
  }
  // Of those that have one noise at once, one sounds as written; one whose noise is louder than before never does.
  voices.forEach((own, leader) => {
    const group = choices.flatMap((choice, i) => (choice?.of === leader ? [i] : []));
    for (let at = 0; at < own.pattern.length; at++) {
      const sounding = group.filter((i) => hitsOf(i).includes(at));
      const isAsWritten = sounding.some((i) => voices[i]?.level === own.level);
      altered += sounding.length - (isAsWritten ? 1 : 0);
    }
  });
  const isThere = (Object.keys(need) as (keyof typeof need)[]).every(
    (kind) => need[kind] <= owned[kind],
  );
  if (!isThere || split.size > owned.multiple) return undefined;
  return choices.every((choice) => choice === undefined) ? undefined : [lost, altered];
}

function cheapest(voices: readonly Voice[], owned: Rack): readonly [number, number] | undefined {
  const each = voices.map(({ filter, accents }, i): Choice[] => {
    const all = voices.flatMap((other, of) =>
      [false, true].flatMap((behind) =>
        [false, true].flatMap((keeps) =>
          [false, true].map((accent) => ({ of, behind, filter: keeps, accents: accent, other })),
        ),
      ),
    );
    const can = all.filter(
      (one) =>
        (filter !== undefined || one.filter) &&
        (accents || one.accents) &&
        // Behind another's filter it has a filter of its own that is the same.
        (!one.behind || (one.of !== i && one.filter && filter && one.other.filter === filter)),
    );
    return [undefined, ...can];
  });
  let best: readonly [number, number] | undefined;
  const count = each.reduce((product, { length }) => product * length, 1);
  for (let number = 0; number < count; number++) {
    let rest = number;
    const choices = each.map((own) => {
      const choice = own[rest % own.length];
      rest = Math.floor(rest / own.length);
      return choice;
    });
    const cost = costOf(voices, choices, owned);
    if (cost === undefined) continue;
    if (best === undefined || cost[0] < best[0] || (cost[0] === best[0] && cost[1] < best[1]))
      best = cost;
  }
  return best;
}

const voice: fc.Arbitrary<Voice> = fc.record({
  pattern: fc
    .array(fc.constantFrom('x', 'X', '-', '-'), { minLength: 8, maxLength: 8 })
    .map((steps) => `x${steps.slice(1).join('')}`),
  level: fc.constantFrom(1, 1, 2),
  filter: fc.constantFrom(undefined, 7, 7, 4),
  accents: fc.boolean(),
});
const few = fc.integer({ min: 0, max: 3 });
const rack: fc.Arbitrary<Rack> = fc.record({
  noise: fc.integer({ min: 1, max: 2 }),
  filter: few,
  amplifier: fc.integer({ min: 1, max: 6 }),
  attenuator: few,
  multiple: fc.integer({ min: 0, max: 2 }),
});

it('what shared noise, filters and accents cost is the least that there is', () => {
  let told = 0;
  fc.assert(
    fc.property(fc.array(voice, { minLength: 2, maxLength: 3 }), rack, (voices, owned) => {
      const patch = patchFrom(patchOf(voices), { 'own.yaml': rackOf(owned) });
      const [short] = check(patch).filter(({ rule }) => rule === 'rack-short');
      const way = short?.ways?.find((one) => one.way === 'cheapest');
      const found = way && [way.cost.lostHits + way.cost.addedHits, way.cost.alteredHits];
      const best = cheapest(voices, owned);
      expect(short === undefined ? [0, 0] : found).toEqual(best && [...best]);
      if ((way?.steps.length ?? 0) > 1) told += 1;
    }),
    runs(25),
  );
  expect(told).toBeGreaterThan(5);
});
