// The cheapest way out of a rack with too few modules, against every possible way: small random patches, in
// which each voice stays as it is, is fired by voltage without a converter, follows the gates of another, or is
// left out; and with one module more of each kind. What a way costs is counted from the patterns as they are
// written, and what it needs by hand. `check --fix` goes that way where it costs nothing: then the mix is what
// it was, to the sample.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { findingsIn } from '../../src/findings/check.ts';
import { contextOf } from '../../src/findings/context.ts';
import { mended } from '../../src/findings/mend/mending.ts';
import type { WayOut } from '../../src/findings/plan/way-out.ts';
import { rackShort } from '../../src/findings/rules/rack-short.ts';
import { patchFrom } from '../patch-of.ts';
import { runs } from '../runs.ts';
import { rendered } from './voice.ts';

interface Voice {
  readonly pattern: string;
  readonly trigger: 'switch' | 'voltage';
  /** ms. */
  readonly decay: number;
}
interface Rack {
  readonly converters: number;
  readonly switched: number;
  readonly fired: number;
  readonly multiples: number;
}

const patchOf = (voices: readonly Voice[]): string => `rack: own.yaml
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [${voices.map((_, i) => `c${i}`).join(', ')}], gate: 8 ms, patterns: { a: { ${voices.map(({ pattern }, i) => `c${i}: "${pattern}"`).join(', ')} } } }
${voices
  .map(({ trigger, decay }, i) =>
    [
      ...(trigger === 'switch' ? [`  adapt${i}: { kind: trigger-converter }`] : []),
      `  shape${i}: { kind: envelope, trigger: ${trigger}, release: ${decay} ms }`,
      `  tone${i}: { kind: oscillator }`,
      `  level${i}: { kind: amplifier }`,
    ].join('\n'),
  )
  .join('\n')}
  mix: { kind: mixer }
  out: { kind: output }
cables:
${voices
  .map(({ trigger }, i) =>
    [
      ...(trigger === 'switch'
        ? [
            `  - drums.c${i} -> adapt${i}.voltage-in`,
            `  - adapt${i}.switch-out -> shape${i}.trigger`,
          ]
        : [`  - drums.c${i} -> shape${i}.trigger`]),
      `  - shape${i}.out -> level${i}.control`,
      `  - tone${i}.saw -> level${i}.in`,
      `  - level${i}.out -> mix.in-${i + 1}`,
    ].join('\n'),
  )
  .join('\n')}
  - mix.out -> out.left
`;

const rackOf = ({ converters, switched, fired, multiples }: Rack): string =>
  [
    'units:',
    '  drums: { kind: rhythm }',
    ...(converters > 0 ? [`  adapter: { kind: trigger-converter, count: ${converters} }`] : []),
    ...(switched > 0
      ? [`  old: { kind: envelope, count: ${switched}, fixed: { trigger: switch } }`]
      : []),
    ...(fired > 0
      ? [`  new: { kind: envelope, count: ${fired}, fixed: { trigger: voltage } }`]
      : []),
    ...(multiples > 0
      ? [`  split: { kind: multiple, count: ${multiples}, fixed: { jacks: 8 } }`]
      : []),
    '  tone: { kind: oscillator, count: 9 }',
    '  level: { kind: amplifier, count: 9 }',
    '  mix: { kind: mixer }',
    '  out: { kind: output }',
    '',
  ].join('\n');

/** What is done about one voice; of those that follow, whose gates or whose envelope they take. */
type Choice =
  | { readonly type: 'switch' | 'voltage' | 'out' }
  | { readonly type: 'gates' | 'envelope'; readonly of: number };

/** Hits that are lost or too many, then those that sound otherwise; undefined where the rack has not enough. */
function costOf(
  voices: readonly Voice[],
  choices: readonly Choice[],
  rack: Rack,
): readonly [number, number] | undefined {
  const need = { converters: 0, switched: 0, fired: 0 };
  const split = new Set<string>();
  let [wrong, altered, heard] = [0, 0, 0];
  for (const [i, choice] of choices.entries()) {
    const own = voices[i] as Voice;
    const hits = [...own.pattern].map((step) => step === 'x');
    if (choice.type === 'out') {
      wrong += hits.filter(Boolean).length;
      continue;
    }
    heard += 1;
    if (!('of' in choice)) {
      if (choice.type === 'switch') {
        need.converters += 1;
        need.switched += 1;
      } else need.fired += 1;
      continue;
    }
    const leader = choices[choice.of] as Choice;
    if (leader.type === 'out' || 'of' in leader) return undefined;
    if (choice.type === 'gates') {
      // A converter is shared, and both envelopes wait for a switch.
      if (leader.type !== 'switch') return undefined;
      need.switched += 1;
    }
    split.add(`${choice.type} ${choice.of}`);
    const other = voices[choice.of] as Voice;
    hits.forEach((hit, step) => {
      const instead = other.pattern[step] === 'x';
      if (hit !== instead) wrong += 1;
      if (hit && instead && choice.type === 'envelope' && other.decay !== own.decay) altered += 1;
    });
  }
  if (heard === 0 || need.converters > rack.converters || split.size > rack.multiples)
    return undefined;
  if (need.switched > rack.switched || need.fired > rack.fired) return undefined;
  return [wrong, altered];
}

/** @param allowed which of what could be done about a voice is looked at. */
function cheapest(
  voices: readonly Voice[],
  rack: Rack,
  allowed: (cost: readonly [number, number], choices: readonly Choice[]) => boolean = () => true,
): readonly [number, number] | undefined {
  const each = voices.map((_, i): Choice[] => [
    { type: 'switch' },
    { type: 'voltage' },
    { type: 'out' },
    ...voices.flatMap((_, of): Choice[] =>
      of === i
        ? []
        : [
            { type: 'gates', of },
            { type: 'envelope', of },
          ],
    ),
  ]);
  let best: readonly [number, number] | undefined;
  const count = each.reduce((product, { length }) => product * length, 1);
  for (let number = 0; number < count; number++) {
    let rest = number;
    const choices = each.map((own) => {
      const choice = own[rest % own.length] as Choice;
      rest = Math.floor(rest / own.length);
      return choice;
    });
    const cost = costOf(voices, choices, rack);
    if (cost === undefined || !allowed(cost, choices)) continue;
    if (best === undefined || cost[0] < best[0] || (cost[0] === best[0] && cost[1] < best[1]))
      best = cost;
  }
  return best;
}

const voice: fc.Arbitrary<Voice> = fc.record({
  pattern: fc
    .array(fc.constantFrom('x', 'x', '-'), { minLength: 8, maxLength: 8 })
    .map((steps) => `x${steps.slice(1).join('')}`),
  trigger: fc.constantFrom('switch', 'switch', 'voltage'),
  decay: fc.constantFrom(20, 30),
});
const few = fc.integer({ min: 0, max: 3 });
const rack: fc.Arbitrary<Rack> = fc.record({
  converters: few,
  switched: few,
  fired: few,
  multiples: fc.integer({ min: 0, max: 2 }),
});

/** What one unit more of each kind makes of a rack; an envelope that is got may be either. */
const MORE: Readonly<Record<string, readonly (keyof Rack)[]>> = {
  'trigger-converter': ['converters'],
  envelope: ['switched', 'fired'],
  multiple: ['multiples'],
};

const isFree = ([wrong, altered]: readonly [number, number]): boolean => wrong + altered === 0;

/** Hits of the voices that are left out. */
function leftOut(voices: readonly Voice[], choices: readonly Choice[]): number {
  return choices.reduce((sum, { type }, i) => {
    const hits = voices[i]?.pattern.match(/x/g)?.length ?? 0;
    return sum + (type === 'out' ? hits : 0);
  }, 0);
}

const TWO: Voice[] = [
  { pattern: 'xx-xx-x-', trigger: 'voltage', decay: 20 },
  { pattern: 'x-x--xxx', trigger: 'voltage', decay: 20 },
];

/** What the check says of a patch, and what its cheapest way costs by exhaustion: worked out once for both tests. */
const worked = new Map<string, ReturnType<typeof workOut>>();

function workedOut(voices: readonly Voice[], owned: Rack): ReturnType<typeof workOut> {
  const key = JSON.stringify([voices, owned]);
  const known = worked.get(key) ?? workOut(voices, owned);
  worked.set(key, known);
  return known;
}

function workOut(voices: readonly Voice[], owned: Rack) {
  const texts = { 'test.yaml': patchOf(voices), 'own.yaml': rackOf(owned) };
  const patch = patchFrom(texts['test.yaml'], texts);
  // No other rule hides what this one says, and none is asked for it: nothing need be played.
  const [short] = findingsIn(contextOf(patch), [rackShort]);
  return { texts, patch, short, best: cheapest(voices, owned) };
}

describe('the ways out', () => {
  it('are those that there are: the cheapest, each kind to get one more of, what to leave out first', () => {
    const told = { 'one-more': 0, 'leave-out': 0 };
    fc.assert(
      fc.property(fc.array(voice, { minLength: 2, maxLength: 3 }), rack, (voices, owned) => {
        const { short, best } = workedOut(voices, owned);
        const ways = short?.ways ?? [];
        const way = ways.find((one) => one.way === 'cheapest');
        expect(short === undefined ? [0, 0] : way && costIn(way)).toEqual(best && [...best]);
        if (short === undefined) return;
        // Every step names the unit that it takes, also where the rack stays short of it.
        for (const { steps } of ways) for (const { text } of steps) expect(text).not.toMatch(/ ,/);

        const would = Object.entries(MORE).filter(([, keys]) =>
          keys.some((key) => cheapest(voices, { ...owned, [key]: owned[key] + 1 }, isFree)),
        );
        const wanted = best !== undefined && isFree(best) ? [] : would.map(([kind]) => kind);
        const more = ways.filter((one) => one.way === 'one-more');
        expect(more.map((one) => one.get).toSorted()).toEqual(wanted.toSorted());
        for (const one of more) expect(costIn(one)).toEqual([0, 0]);
        told['one-more'] += more.length;

        // The other voices sound as written.
        const least = cheapest(
          voices,
          owned,
          ([wrong, altered], choices) => altered === 0 && wrong === leftOut(voices, choices),
        );
        const out = ways.find((one) => one.way === 'leave-out');
        // It is not told where it is the cheapest way, or nothing need be left out.
        if (out === undefined)
          expect(best && least && costIn(way as WayOut)).toEqual(least && [...least]);
        else expect(costIn(out)).toEqual(least && [...least]);
        told['leave-out'] += out === undefined ? 0 : 1;
      }),
      // One more converter lets an envelope that waits for a switch stand in for one that takes voltage.
      {
        ...runs(40),
        examples: [[TWO, { converters: 0, switched: 1, fired: 1, multiples: 0 }]],
      },
    );
    expect(told['one-more']).toBeGreaterThan(3);
    expect(told['leave-out']).toBeGreaterThan(3);
  });
});

/** Hits that are lost or too many, and those that sound otherwise. */
function costIn({ cost }: WayOut): readonly number[] {
  return [cost.lostHits + cost.addedHits, cost.alteredHits];
}

/** The mix, once through the song, as the kinds are and not as the rack measures them. */
const mixOf = (text: string) => rendered(text.replace('rack: own.yaml\n', ''), []).mix[0];

describe('check --fix', () => {
  it('makes the change where the cheapest way costs nothing, and otherwise none', () => {
    let made = 0;
    fc.assert(
      fc.property(fc.array(voice, { minLength: 2, maxLength: 3 }), rack, (voices, owned) => {
        const { texts, patch, short, best } = workedOut(voices, owned);
        const after = mended(patch, { main: 'test.yaml', set: [], texts });
        const text = after.texts.texts['test.yaml'] as string;
        const costsNothing = best !== undefined && isFree(best);
        expect(text !== texts['test.yaml']).toBe(short !== undefined && costsNothing);
        const left = after.left.filter(({ rule }) => rule === 'rack-short');
        expect(left.length > 0).toBe(!costsNothing);
        if (!costsNothing && best !== undefined)
          expect(after.barred.map(({ why }) => why)).toEqual(
            left.map(({ fix }) => expect.stringContaining(fix.replace(/\.$/, ''))),
          );
        if (text === texts['test.yaml']) return;
        made += 1;
        // What costs nothing is the same to the sample; a few are enough of that.
        if (made <= 4) expect(mixOf(text)).toEqual(mixOf(texts['test.yaml']));
      }),
      runs(40),
    );
    expect(made).toBeGreaterThan(3);
  });
});
