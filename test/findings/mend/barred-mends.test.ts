// No mend uses what the rack does not have or forbids: every mend, on a rack that states each sort of fact
// that a rack can state. On a rack that allows all that the mend needs it is made, and its result is allowed;
// on one that forbids any of it nothing is changed, and the obstacle is named. What each mend needs is written
// down here, by hand.

import { describe, expect, it } from 'vitest';
import { parse, stringify } from 'yaml';
import { check } from '../../../src/findings/check.ts';
import { mended } from '../../../src/findings/mend/mending.ts';
import { RULES } from '../../../src/findings/rules/rules.ts';
import { UNIT_KEYS } from '../../../src/patch/rack/rack.ts';
import { patchFrom } from '../../patch-of.ts';
import { voice } from '../voice.ts';

const MAIN = 'test.yaml';
const RACK = 'own.yaml';

interface Unit {
  kind: string;
  count?: number;
  has?: Record<string, number>;
  fixed?: Record<string, unknown>;
  dials?: Record<string, Record<string, string>>;
  jacks?: Record<string, Record<string, string>>;
}
interface Rack {
  cables: number;
  units: Record<string, Unit>;
}

interface Mend {
  readonly rule: string;
  readonly text: string;
  /** The part `voice.yaml`, where there is one. */
  readonly part?: string;
  /** What the mend takes: a module of this kind, with these settings, and so many cables more. */
  readonly kind?: string;
  readonly settings?: Readonly<Record<string, string>>;
  readonly cables?: number;
  /** What the mend sets, what it is before, and a value that is too far the other way for it. */
  readonly set?: {
    readonly module: string;
    readonly setting: string;
    readonly is: string;
    /** The dial to and past it: two values, and a third that reaches what is wanted. Absent without a knob. */
    readonly dial?: readonly [string, string, string];
  };
  /** Further racks: what they state of a unit, and what then is in the way. */
  readonly forbidden?: readonly (readonly [
    fact: string,
    change: (rack: Rack) => void,
    why: RegExp,
  ])[];
}

const of = (rack: Rack, unit: string): Unit => rack.units[unit] as Unit;
const jack = (unit: string, name: string, facts: Record<string, string>) => (rack: Rack) => {
  of(rack, unit).jacks = { [name]: facts };
};
const fixed = (unit: string, settings: Record<string, unknown>) => (rack: Rack) => {
  of(rack, unit).fixed = settings;
};

/** Of two units of a kind either may be the one that is added. */
const both = (one: (rack: Rack) => void, other: (rack: Rack) => void) => (rack: Rack) => {
  one(rack);
  other(rack);
};
const ONE_WAY = { way: 'voltage-to-switch' };
const WEAK = { high: '1 V' };

const BY_LESS = ['drums.hit -> less.in', 'less.out -> shape.trigger'];
const converter = { kind: 'trigger-converter', cables: 1 };
const tuned = {
  modules: [
    'walk: { kind: step-sequencer, rows: { a: [C2, D2] }, expects: 1 per step }',
    'tone: { kind: oscillator }',
  ],
  cables: ['drums.clock -> walk.clock', 'walk.a -> tone.pitch', 'tone.sine -> out.right'],
};
const levelled = (level: string, rule: string): Mend => ({
  rule,
  text: voice({ rhythm: `gate: 8 ms, level: ${level}` }),
  set: { module: 'drums', setting: 'level', is: level, dial: ['1 V', '3.2 V', '3.4 V'] },
  forbidden: [
    [
      'a level by itself',
      jack('drums', 'hit', { high: level }),
      /the rack gives drums\.hit a high level/,
    ],
    [
      'levels of all',
      jack('drums', 'outputs', { high: level }),
      /the rack gives drums\.hit a high level/,
    ],
    ['what is safe', jack('shape', 'trigger', { safe: '3 V' }), /level-too-high/],
  ],
});

const MENDS: readonly Mend[] = [
  {
    rule: 'voltage-into-switch',
    text: voice({ shape: 'trigger: switch' }),
    ...converter,
    forbidden: [
      ['the one way', fixed('spare', { way: 'switch-to-voltage' }), /trigger-converter/],
      [
        'a switch that hardly closes',
        jack('spare', 'switch-out', { resistance: '100 kohm' }),
        /level-too-low/,
      ],
    ],
  },
  {
    rule: 'switch-into-voltage',
    text: voice({
      modules: ['adapt: { kind: trigger-converter }'],
      trigger: ['drums.hit -> adapt.voltage-in', 'adapt.switch-out -> shape.trigger'],
    }),
    ...converter,
    forbidden: [
      [
        'the other way',
        both(fixed('adapt', ONE_WAY), fixed('spare', ONE_WAY)),
        /trigger-converter/,
      ],
      [
        'a weak gate',
        both(jack('adapt', 'voltage-out', WEAK), jack('spare', 'voltage-out', WEAK)),
        /level-too-low/,
      ],
    ],
  },
  levelled('2 V', 'level-too-low'),
  levelled('2.6 V', 'level-marginal'),
  {
    rule: 'level-too-low',
    // So high that only the attenuator can give more.
    text: voice({
      rhythm: 'gate: 8 ms, level: 10 V',
      modules: ['less: { kind: attenuator, level: 20 % }'],
      trigger: BY_LESS,
    }),
    set: { module: 'less', setting: 'level', is: '20 %', dial: ['0 %', '30 %', '60 %'] },
  },
  {
    rule: 'level-too-low',
    // Only what comes before the attenuator can give more.
    text: voice({
      rhythm: 'gate: 8 ms, level: 2.4 V',
      modules: ['less: { kind: attenuator, level: 100 % }'],
      trigger: BY_LESS,
    }),
    set: { module: 'drums', setting: 'level', is: '2.4 V', dial: ['1 V', '3.2 V', '4 V'] },
    forbidden: [
      [
        'a level by itself',
        jack('drums', 'hit', { high: '2.4 V' }),
        /the rack gives drums\.hit a high level/,
      ],
    ],
  },
  {
    rule: 'jack-doubled',
    text: voice({
      modules: ['second: { kind: amplifier }'],
      cables: ['shape.out -> second.control', 'hiss.pink -> second.in', 'second.out -> out.right'],
    }),
    kind: 'multiple',
    settings: { jacks: '3' },
    cables: 1,
  },
  {
    rule: 'jack-doubled',
    text: voice({
      modules: [
        'split: { kind: multiple, jacks: 3 }',
        'second: { kind: amplifier }',
        'third: { kind: amplifier }',
      ],
      control: [
        'shape.out -> split.in',
        'split.out-1 -> level.control',
        'split.out-2 -> second.control',
      ],
      cables: [
        'split.out-2 -> third.control',
        'hiss.pink -> second.in',
        'hiss.red -> third.in',
        'second.out -> mix.in-1',
        'third.out -> mix.in-2',
        'mix.out -> out.right',
      ],
    }).replace('  out:', '  mix: { kind: mixer }\n  out:'),
    forbidden: [['a multiple of three jacks', fixed('split', { jacks: 3 }), /4 plugs/]],
  },
  {
    rule: 'outputs-joined',
    text: voice({
      patterns: '{ a: { hit: "x---", other: "--x-" } }',
      channels: '[hit, other]',
      song: '[a]',
      cables: ['drums.other -> shape.trigger'],
    }),
    kind: 'logic',
    cables: 1,
  },
  {
    rule: 'outputs-joined',
    text: voice({ cables: ['hiss.pink -> level.in'] }),
    kind: 'mixer',
    cables: 1,
  },
  {
    rule: 'outputs-joined',
    text: voice({
      modules: ['mix: { kind: mixer }'],
      sound: ['level.out -> mix.in-1', 'mix.out -> out.left'],
      cables: ['hiss.pink -> mix.in-1'],
    }),
  },
  {
    rule: 'signal-mismatch',
    text: voice({ control: ['shape.out -> level.in'] }).replace(
      'hiss.white -> level.in',
      'hiss.white -> level.control',
    ),
  },
  { rule: 'input-open', text: voice({ control: [] }), cables: 1 },
  {
    rule: 'clock-mismatch',
    text: voice({ rhythm: 'gate: 8 ms, clock: 2 per step', ...tuned }),
    set: { module: 'drums', setting: 'clock', is: '2 per step' },
  },
  {
    rule: 'clock-mismatch',
    text: voice({
      rhythm: 'gate: 8 ms, follows: 1 per step',
      modules: ['tick: { kind: clock, rate: 10 Hz }'],
      cables: ['tick.out -> drums.clock-in'],
    }),
    set: {
      module: 'drums',
      setting: 'tempo',
      is: '120 bpm',
      dial: ['40 bpm', '120 bpm', '180 bpm'],
    },
  },
  {
    rule: 'decay-cut-short',
    text: voice({ shape: 'mode: gate, attack: 1 ms, decay: 80 ms, release: 20 ms' }),
    set: { module: 'shape', setting: 'release', is: '20 ms', dial: ['1 ms', '60 ms', '1 s'] },
  },
  {
    rule: 'peak-not-reached',
    text: voice({ shape: 'mode: gate, attack: 30 ms, decay: 80 ms, release: 80 ms' }),
    set: { module: 'shape', setting: 'mode', is: 'gate' },
  },
  {
    rule: 'gates-merge',
    text: voice({ rhythm: 'gate: 600 ms' }),
    set: { module: 'drums', setting: 'gate', is: '600 ms' },
    forbidden: [
      [
        'a width by itself',
        jack('drums', 'hit', { width: '600 ms' }),
        /the rack gives drums\.hit pulses of 600 ms/,
      ],
      [
        'a trigger that wants more',
        jack('shape', 'trigger', { shortest: '0.4 s' }),
        /pulse-too-short/,
      ],
    ],
  },
  {
    rule: 'gates-merge',
    text: voice({
      rhythm: 'gate: 600 ms',
      modules: ['less: { kind: attenuator, level: 90 % }'],
      trigger: BY_LESS,
    }),
    set: { module: 'drums', setting: 'gate', is: '600 ms' },
  },
  {
    rule: 'flam-too-tight',
    text: voice({ rhythm: 'gate: 20 ms, flam: 20 ms', hit: 'f---f---' }),
    set: { module: 'drums', setting: 'gate', is: '20 ms' },
    forbidden: [
      [
        'a width of all',
        jack('drums', 'outputs', { width: '20 ms' }),
        /the rack gives drums\.hit pulses of 20 ms/,
      ],
    ],
  },
  {
    rule: 'pulse-too-short',
    text: voice({ rhythm: 'gate: 0.3 ms' }),
    set: { module: 'drums', setting: 'gate', is: '0.3 ms' },
    forbidden: [
      ['a width', jack('drums', 'hit', { width: '0.3 ms' }), /the rack gives drums\.hit pulses of/],
    ],
  },
  {
    rule: 'reset-race',
    text: voice({
      modules: [
        'walk: { kind: step-sequencer, rows: { a: [C2, D2] } }',
        'tone: { kind: oscillator }',
      ],
      cables: ['drums.start -> walk.reset', ...tuned.cables],
    }),
    kind: 'delay',
    settings: { time: '2 ms', length: '5 ms' },
    cables: 1,
  },
  {
    rule: 'accent-unheard',
    text: `modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [hit], gate: 8 ms, patterns: { a: { hit: "X---x---" } } }
  out: { kind: output, full-scale: 10 V }
parts: { one: voice.yaml }
cables:
  - drums.hit -> one.shape.trigger
  - one.last.out -> out.left
`,
    part: `modules:
  shape: { kind: envelope }
  hiss: { kind: noise }
  level: { kind: amplifier }
  accent: { kind: attenuator, level: 40 %, offset: 3 V }
  last: { kind: amplifier }
cables:
  - shape.out -> level.control
  - hiss.white -> level.in
  - level.out -> last.in
  - accent.out -> last.control
`,
    cables: 1,
  },
];

interface Text {
  modules: Record<string, { kind: string } & Record<string, unknown>>;
  cables: string[];
}

/** As many channels and rows as the patch has, and no more. */
function hasOf({ channels, rows }: Text['modules'][string]): Pick<Unit, 'has'> {
  if (Array.isArray(channels)) return { has: { channels: channels.length } };
  return rows === undefined ? {} : { has: { rows: Object.keys(rows as object).length } };
}

/** A rack that has what a patch has and what its mend takes, and nothing else. */
function rackFor({ text, part, kind, cables = 0 }: Mend): Rack {
  const texts = [text, ...(part === undefined ? [] : [part])].map((one) => parse(one) as Text);
  const units: Rack['units'] = {};
  for (const { modules } of texts)
    for (const [name, module] of Object.entries(modules))
      units[name] = {
        kind: module.kind,
        count: 1,
        ...hasOf(module),
        ...(module.kind === 'multiple' && { fixed: { jacks: 8 } }),
      };
  if (kind !== undefined)
    units.spare = { kind, ...(kind === 'multiple' && { fixed: { jacks: 3 } }) };
  return { units, cables: cables + texts.reduce((sum, one) => sum + one.cables.length, 0) };
}

interface Outcome {
  readonly isChanged: boolean;
  readonly left: readonly string[];
  readonly why: readonly string[];
  /** What of the mended patch the rack does not allow. */
  readonly forbidden: readonly string[];
}

function mend({ rule, text, part }: Mend, rack: Rack): Outcome {
  const texts = {
    [MAIN]: `rack: ${RACK}\n${text}`,
    [RACK]: stringify(rack, { aliasDuplicateObjects: false }),
    ...(part !== undefined && { 'voice.yaml': part }),
  };
  const patch = patchFrom(texts[MAIN] as string, texts);
  expect(check(patch).map((one) => one.rule)).toContain(rule);
  const { texts: after, left, barred } = mended(patch, { main: MAIN, set: [], texts });
  const now = after.texts[MAIN] as string;
  return {
    isChanged: now !== texts[MAIN],
    left: left.map((one) => one.rule).filter((one) => one === rule),
    why: barred.filter(({ finding }) => finding.rule === rule).map(({ why }) => why),
    forbidden: forbiddenBy(rack, now, part),
  };
}

/** By hand: more of a kind than there are, more cables, and knobs past their ends. */
function forbiddenBy(rack: Rack, text: string, part: string | undefined): string[] {
  const units = Object.values(rack.units);
  const texts = [text, ...(part === undefined ? [] : [part])].map((one) => parse(one) as Text);
  const modules = texts.flatMap((one) => Object.entries(one.modules));
  const kinds = [...new Set(modules.map(([, { kind }]) => kind))].filter(
    (kind) =>
      modules.filter(([, module]) => module.kind === kind).length >
      units.reduce((sum, unit) => sum + (unit.kind === kind ? (unit.count ?? 1) : 0), 0),
  );
  const turned = modules.flatMap(([name, module]) => {
    const { fixed = {}, dials = {} } =
      rack.units[name] ??
      (module.kind === units.at(-1)?.kind ? (units.at(-1) as Unit) : { kind: '' });
    return [
      ...Object.entries(fixed).filter(
        ([setting, value]) =>
          setting !== 'jacks' && setting in module && String(module[setting]) !== String(value),
      ),
      ...Object.entries(dials).filter(([setting, dial]) => {
        const [low, high] = Object.values(dial).map(amount) as [number, number];
        const value = setting in module ? amount(String(module[setting])) : low;
        return value < low || value > high;
      }),
    ].map(([setting]) => `${name} ${setting}`);
  });
  const cables = texts.reduce((sum, one) => sum + one.cables.length, 0);
  return [...kinds, ...turned, ...(cables > rack.cables ? ['cables'] : [])];
}

/** ms, V, %, bpm: only what the racks here have on their dials. */
function amount(text: string): number {
  const value = Number.parseFloat(text);
  return / s$/.test(text) ? 1000 * value : value;
}

type Racks = readonly (readonly [
  fact: string,
  change: (rack: Rack) => void,
  why: RegExp | undefined,
])[];

/** Every sort of fact that bears on a mend: what it then says, undefined where the mend is made. */
function racksFor({ kind, settings = {}, cables = 0, set, forbidden = [] }: Mend): Racks {
  const racks: Racks[number][] = [['all that it takes and no more', () => {}, undefined]];
  if (kind !== undefined)
    racks.push([
      `no ${kind} to spare`,
      (rack) => {
        delete rack.units.spare;
      },
      new RegExp(`rack-short: .*${kind}`),
    ]);
  if (cables > 0)
    racks.push([
      'no cable to spare',
      (rack) => {
        rack.cables -= 1;
      },
      /cable-short/,
    ]);
  for (const [setting, value] of Object.entries(settings)) {
    if (kind === 'multiple') continue;
    racks.push(
      [`${setting} of it as it is wanted`, fixed('spare', { [setting]: value }), undefined],
      [
        `another ${setting} of it`,
        fixed('spare', { [setting]: '50 ms' }),
        /rack-short: .*fixed at/,
      ],
      [
        `${setting} of it past its dial`,
        dialled('spare', setting, '20 ms', '1 s'),
        /the dial for .* goes from 20 ms/,
      ],
      [`${setting} of it on its dial`, dialled('spare', setting, '1 ms', '1 s'), undefined],
    );
  }
  if (set !== undefined) {
    const { module, setting, is, dial } = set;
    racks.push([
      `${setting} of ${module} fixed`,
      fixed(module, { [setting]: is }),
      new RegExp(`fixe[sd] (at )?${setting}`),
    ]);
    if (dial !== undefined) {
      const [from, short, enough] = dial;
      racks.push(
        [
          `a dial for ${setting} that ends before`,
          dialled(module, setting, from, short),
          /the dial for .* goes from/,
        ],
        [
          `a dial for ${setting} that reaches so far`,
          dialled(module, setting, from, enough),
          undefined,
        ],
      );
    }
  }
  return [...racks, ...forbidden];
}

function dialled(unit: string, setting: string, from: string, to: string) {
  return (rack: Rack) => {
    of(rack, unit).dials = { [setting]: { 0: from, 10: to } };
  };
}

const TABLE = MENDS.flatMap((one) =>
  racksFor(one).map(([fact, change, why]) => [`${one.rule}: ${fact}`, one, change, why] as const),
);

describe('a mend on a rack', () => {
  it.each(TABLE)('%s', (_, one, change, why) => {
    const rack = rackFor(one);
    change(rack);
    const outcome = mend(one, rack);
    expect(outcome.forbidden).toEqual([]);
    expect(outcome.isChanged).toBe(why === undefined);
    expect(outcome.left).toEqual(why === undefined ? [] : [one.rule]);
    expect(outcome.why).toEqual(why === undefined ? [] : [expect.stringMatching(why)]);
  });

  it('is tried for every rule that mends, and by every sort of fact', () => {
    const mending = RULES.filter(({ mend }) => mend !== undefined).map(({ name }) => name);
    // What these two do is to bring the patch onto the rack.
    const others = mending.filter((name) => !MENDS.some(({ rule }) => rule === name));
    expect(others).toEqual(['cable-short', 'rack-short']);
    const stated = new Set(
      TABLE.flatMap(([, one, change]) => {
        const rack = rackFor(one);
        change(rack);
        return Object.values(rack.units).flatMap((unit) => Object.keys(unit));
      }),
    );
    expect(UNIT_KEYS.filter((key) => !stated.has(key))).toEqual(['about']);
  });
});
