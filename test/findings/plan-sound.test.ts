// The cheapest way out of a rack that is short of what makes the sound, and of what fires envelopes at once, against
// every possible way: small random patches, in which each voice is fired by a switch or by voltage, follows the gates
// or has the envelope of another, and has its own noise or oscillator or takes another's, alone or behind an equal
// filter, keeps its filter and its accents or is plugged past them, or is left out. A hit that is lost sounds no other way as well, and noise meets where it is played.

import fc from 'fast-check';
import { expect, it } from 'vitest';
import { check } from '../../src/findings/check.ts';
import { patchFrom } from '../patch-of.ts';
import { runs } from '../runs.ts';

interface Voice {
  readonly pattern: string;
  readonly trigger: 'switch' | 'voltage';
  /** ms. */
  readonly decay: 20 | 30;
  readonly source: 'noise' | 'oscillator';
  /** V of its noise, or by which its oscillator is tuned. */
  readonly level: 1 | 2;
  /** kHz; undefined without one. */
  readonly filter: 4 | 7 | undefined;
  readonly accents: boolean;
}
const KINDS = {
  converter: 'trigger-converter',
  switched: 'envelope',
  fired: 'envelope',
  noise: 'noise',
  oscillator: 'oscillator',
  filter: 'filter',
  amplifier: 'amplifier',
  attenuator: 'attenuator',
  multiple: 'multiple',
} as const;
type Rack = Readonly<Record<keyof typeof KINDS, number>>;

const OUT = { noise: 'white', oscillator: 'saw' } as const;

function patchOf(voices: readonly Voice[]): string {
  const names = voices.map((_, i) => `c${i}`);
  const modules = voices.flatMap(({ trigger, decay, source, level, filter, accents }, i) => [
    ...(trigger === 'switch' ? [`adapt${i}: { kind: trigger-converter }`] : []),
    `shape${i}: { kind: envelope, trigger: ${trigger}, release: ${decay} ms }`,
    source === 'noise'
      ? `hiss${i}: { kind: noise, level: ${level} V }`
      : `hiss${i}: { kind: oscillator, at-zero: ${level}00 Hz }`,
    `level${i}: { kind: amplifier }`,
    ...(filter ? [`bright${i}: { kind: filter, cutoff: ${filter} kHz }`] : []),
    ...(accents
      ? [
          `accent${i}: { kind: attenuator, level: 40 %, offset: 3 V }`,
          `touch${i}: { kind: amplifier }`,
        ]
      : []),
  ]);
  const cables = voices.flatMap(({ trigger, source, filter, accents }, i) => [
    ...(trigger === 'switch'
      ? [`drums.c${i} -> adapt${i}.voltage-in`, `adapt${i}.switch-out -> shape${i}.trigger`]
      : [`drums.c${i} -> shape${i}.trigger`]),
    `shape${i}.out -> level${i}.control`,
    ...(filter
      ? [`hiss${i}.${OUT[source]} -> bright${i}.in`, `bright${i}.high -> level${i}.in`]
      : [`hiss${i}.${OUT[source]} -> level${i}.in`]),
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

const FIXED: Partial<Record<string, string>> = {
  switched: ', fixed: { trigger: switch }',
  fired: ', fixed: { trigger: voltage }',
  multiple: ', fixed: { jacks: 8 }',
};
function rackOf(owned: Rack): string {
  const units = Object.entries(owned).map(([name, count]) =>
    count === 0
      ? ''
      : `  ${name}: { kind: ${KINDS[name as keyof Rack]}, count: ${count}${FIXED[name] ?? ''} }\n`,
  );
  const rest = ['rhythm', 'mixer', 'output'].map((kind) => `  own-${kind}: { kind: ${kind} }\n`);
  return `units:\n${[...units, ...rest].join('')}`;
}

/** What is done about one voice; undefined where it is left out. */
type Choice =
  | {
      readonly fired:
        | 'switch'
        | 'voltage'
        | { readonly by: 'gates' | 'envelope'; readonly of: number };
      /** Whose noise it has, and whether that comes behind the filter of that one. */
      readonly noise: number;
      readonly behind: boolean;
      readonly filter: boolean;
      readonly accents: boolean;
    }
  | undefined;

/** Hits that are lost or too many, and how often one sounds otherwise; undefined where the rack has not enough. */
function costOf(
  voices: readonly Voice[],
  choices: readonly Choice[],
  owned: Rack,
): readonly [number, number] | undefined {
  const need = {
    converter: 0,
    switched: 0,
    fired: 0,
    noise: 0,
    oscillator: 0,
    filter: 0,
    amplifier: 0,
    attenuator: 0,
  };
  const split = new Set<string>();
  let [wrong, altered] = [0, 0];
  const written = voices.map(({ pattern }) => [...pattern].map((step) => step !== '-'));
  const played: (readonly boolean[])[] = voices.map(() => []);
  for (const [i, choice] of choices.entries()) {
    const own = voices[i] as Voice;
    const hits = written[i] as readonly boolean[];
    if (choice === undefined) {
      wrong += hits.filter(Boolean).length;
      continue;
    }
    const { fired, noise, behind, filter, accents } = choice;
    let instead = hits;
    if (typeof fired !== 'object') {
      if (fired === 'switch') {
        need.converter += 1;
        need.switched += 1;
      } else need.fired += 1;
    } else {
      const leader = choices[fired.of];
      if (leader === undefined || typeof leader.fired === 'object') return undefined;
      if (fired.by === 'gates' && leader.fired !== 'switch') return undefined;
      if (fired.by === 'gates') need.switched += 1;
      split.add(`${fired.by} ${fired.of}`);
      instead = written[fired.of] as readonly boolean[];
    }
    played[i] = instead;
    const kept = hits.map((hit, at) => hit && instead[at]);
    const count = kept.filter(Boolean).length;
    wrong += hits.filter((hit, at) => hit !== instead[at]).length;
    if (
      typeof fired === 'object' &&
      fired.by === 'envelope' &&
      voices[fired.of]?.decay !== own.decay
    )
      altered += count;
    need.amplifier += 1;
    if (own.accents && accents) {
      need.amplifier += 1;
      need.attenuator += 1;
    } else if (own.accents)
      altered += kept.filter((hit, at) => hit && own.pattern[at] === 'X').length;
    if (own.filter && filter && !behind) need.filter += 1;
    if (own.filter && !filter) altered += count;
    if (noise === i) need[own.source] += 1;
    else {
      const leader = choices[noise];
      if (leader === undefined || leader.noise !== noise) return undefined;
      if (behind && !leader.filter) return undefined;
      const other = voices[noise] as Voice;
      if (other.source !== own.source) return undefined;
      // What is tuned otherwise is another tone.
      if (own.source === 'oscillator' && other.level !== own.level) altered += count;
      split.add(`${noise} ${behind}`);
    }
  }
  // Of those that have one noise at once, one sounds as written; one whose noise is louder than before never does.
  voices.forEach((own, leader) => {
    // Of one oscillator all voices sound as of their own.
    if (own.source === 'oscillator') return;
    const group = choices.flatMap((choice, i) => (choice?.noise === leader ? [i] : []));
    for (let at = 0; at < own.pattern.length; at++) {
      const sounding = group.filter((i) => played[i]?.[at] && written[i]?.[at]);
      const isAsWritten = sounding.some((i) => voices[i]?.level === own.level);
      altered += sounding.length - (isAsWritten ? 1 : 0);
    }
  });
  const isThere = (Object.keys(need) as (keyof typeof need)[]).every(
    (name) => need[name] <= owned[name],
  );
  if (!isThere || split.size > owned.multiple) return undefined;
  return choices.every((choice) => choice === undefined) ? undefined : [wrong, altered];
}

function cheapest(voices: readonly Voice[], owned: Rack): readonly [number, number] | undefined {
  const others = (i: number): readonly number[] => [...voices.keys()].filter((of) => of !== i);
  const each = voices.map((own, i): Choice[] => {
    const ways = isEnoughToFire(owned)
      ? [own.trigger]
      : [
          'switch' as const,
          'voltage' as const,
          ...others(i).flatMap((of) => [
            { by: 'gates' as const, of },
            { by: 'envelope' as const, of },
          ]),
        ];
    const noises = [
      { noise: i, behind: false },
      ...others(i).flatMap((noise) => [
        { noise, behind: false },
        ...(own.filter && voices[noise]?.filter === own.filter ? [{ noise, behind: true }] : []),
      ]),
    ];
    return [
      undefined,
      ...ways.flatMap((fired) =>
        noises.flatMap((one) =>
          (own.filter && !one.behind ? [true, false] : [true]).flatMap((filter) =>
            (own.accents ? [true, false] : [true]).map((accents) => ({
              fired,
              ...one,
              filter,
              accents,
            })),
          ),
        ),
      ),
    ];
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
  trigger: fc.constantFrom('switch', 'switch', 'voltage'),
  decay: fc.constantFrom(20, 30),
  source: fc.constantFrom('noise', 'noise', 'oscillator'),
  level: fc.constantFrom(1, 1, 2),
  filter: fc.constantFrom(undefined, 7, 7, 4),
  accents: fc.boolean(),
});
const plainVoice = voice.map((one): Voice => ({ ...one, filter: undefined, accents: false }));
const few = fc.integer({ min: 0, max: 3 });
const rack: fc.Arbitrary<Rack> = fc.record({
  converter: few,
  switched: few,
  fired: few,
  noise: fc.integer({ min: 1, max: 2 }),
  oscillator: fc.integer({ min: 0, max: 2 }),
  filter: few,
  amplifier: fc.integer({ min: 1, max: 6 }),
  attenuator: few,
  multiple: fc.integer({ min: 0, max: 3 }),
});

/** All that fires. */
const FIRING = { converter: 9, switched: 9, fired: 9 };
function isEnoughToFire({ fired }: Rack): boolean {
  return fired === FIRING.fired;
}

it('what shared sources, filters and accents cost, and what fires beside them, is the least that there is', () => {
  let told = 0;
  const patches = fc.oneof(
    fc.tuple(fc.array(voice, { minLength: 2, maxLength: 2 }), rack),
    fc.tuple(fc.array(plainVoice, { minLength: 3, maxLength: 3 }), rack),
    fc.tuple(
      fc.array(voice, { minLength: 2, maxLength: 3 }),
      rack.map((owned) => ({ ...owned, ...FIRING })),
    ),
  );
  fc.assert(
    fc.property(patches, ([voices, owned]) => {
      const patch = patchFrom(patchOf(voices), { 'own.yaml': rackOf(owned) });
      const [short] = check(patch).filter(({ rule }) => rule === 'rack-short');
      const way = short?.ways?.find((one) => one.way === 'cheapest');
      const found = way && [way.cost.lostHits + way.cost.addedHits, way.cost.alteredHits];
      const best = cheapest(voices, owned);
      expect(short === undefined ? [0, 0] : found).toEqual(best && [...best]);
      if ((way?.steps.length ?? 0) > 1) told += 1;
    }),
    runs(40),
  );
  expect(told).toBeGreaterThan(5);
});
