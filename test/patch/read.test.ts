/** Whole patches: the fixture with everything in it, five faults at once, parts and overrides. */

import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { setSource } from '../../src/patch/overrides.ts';
import { jackName, type Patch } from '../../src/patch/patch.ts';
import { resolvePath } from '../../src/patch/paths.ts';
import { type ReadOptions, readPatch } from '../../src/patch/read.ts';
import { TEST_KINDS } from './kinds.ts';
import { FILE, patchWith, problemsIn } from './marked.ts';

const FIXTURES = new URL('./fixtures/', import.meta.url);

function load(path: string): string | undefined {
  try {
    return readFileSync(new URL(path, FIXTURES), 'utf8');
  } catch {
    return undefined;
  }
}

function read(file: string, options: Partial<ReadOptions> = {}): ReturnType<typeof readPatch> {
  return readPatch(load(file) as string, { file, kinds: TEST_KINDS, load, ...options });
}

function sound(text: string, options: Partial<ReadOptions> = {}): Patch {
  const { patch, problems } = readPatch(text, { file: FILE, kinds: TEST_KINDS, ...options });
  expect(problems).toEqual([]);
  return patch as Patch;
}

function setting(patch: Patch, module: string, name: string): unknown {
  return patch.modules.find((one) => one.name === module)?.settings[name];
}

const cablesOf = (patch: Patch): string[] =>
  patch.cables.map(({ from, to }) => `${jackName(from)} -> ${jackName(to)}`);

describe('a patch with everything in it', () => {
  const { patch, problems } = read('whole.yaml') as { patch: Patch; problems: unknown };

  test('has no problem', () => {
    expect(problems).toEqual([]);
  });

  test('has its own words', () => {
    const { file, title, about, seed, rack } = patch;
    expect({ file, title, about, seed }).toEqual({
      file: 'whole.yaml',
      title: 'Two voices',
      about: 'Shows what the format can say.\nIn two lines.\n',
      seed: '1729',
    });
    expect(rack?.path).toBe('../racks/cabinet.yaml');
    expect(rack?.place).toEqual({ file: 'whole.yaml', line: 7, column: 7, length: 21 });
  });

  test('has modules in the order of the file, those of a part where the part stands', () => {
    expect(patch.modules.map(({ name, definition }) => `${name}: ${definition.kind}`)).toEqual([
      'hat.noise: hiss',
      'hat.env: shaper',
      'ride.noise: hiss',
      'ride.env: shaper',
      'drums: sequencer',
      'body: shaper',
      'split: joint',
      'out: speakers',
    ]);
  });

  test('has every setting, given or not, and where it was given', () => {
    const body = patch.modules.find(({ name }) => name === 'body');
    expect(body?.settings).toEqual({
      trigger: 'voltage',
      // 16 ms x 5 time constants.
      decay: 0.08,
      hold: 0,
      sustain: 0.125,
      loop: true,
      window: { unit: 'seconds', value: 0.007 },
    });
    expect([...(body?.settingPlaces.keys() ?? [])]).toEqual(['decay', 'sustain', 'loop', 'window']);
    expect(body?.settingPlaces.get('sustain')).toEqual({
      file: 'whole.yaml',
      line: 39,
      column: 52,
      length: 6,
    });
    expect(body?.place).toMatchObject({ line: 39, column: 3, length: 4 });
  });

  test('has the jacks that its settings give it', () => {
    const jacks = (module: string): unknown =>
      patch.modules.find(({ name }) => name === module)?.jacks.map(({ name }) => name);
    expect(jacks('split')).toEqual(['j1', 'j2', 'j3', 'j4']);
    expect(jacks('drums')).toEqual([
      'kick',
      'kick-accent',
      'hat',
      'hat-accent',
      'clock',
      'run',
      'start',
    ]);
  });

  test('has its cables in order, those of a part where the part stands', () => {
    expect(cablesOf(patch)).toEqual([
      'hat.env.out -> hat.noise.in',
      'ride.env.out -> ride.noise.in',
      'drums.kick -> body.trigger',
      'drums.hat -> split.j1',
      'split.j2 -> hat.env.trigger',
      'split.j3 -> ride.env.trigger',
      'hat.noise.white -> out.left',
      'ride.noise.white -> out.right',
    ]);
    expect(patch.cables[4]?.place).toEqual({
      file: 'whole.yaml',
      line: 46,
      column: 5,
      length: 25,
    });
  });

  test('has parts with settings of their own', () => {
    expect(setting(patch, 'hat.env', 'decay')).toBe(0.055);
    expect(setting(patch, 'ride.env', 'decay')).toBe(0.24);
    expect(setting(patch, 'ride.noise', 'q')).toBe(2.5);
    const part = patch.modules[1];
    expect(part?.place).toEqual({ file: 'parts/hat.yaml', line: 4, column: 3, length: 3 });
  });
});

test('five faults are five problems, in one run and in the order of the file', () => {
  const { patch, problems } = read('five-faults.yaml');
  expect(patch).toBeUndefined();
  const place = (line: number, column: number, length: number): object => ({
    file: 'five-faults.yaml',
    line,
    column,
    length,
  });
  expect(problems).toEqual([
    {
      code: 'unit',
      place: place(5, 12, 2),
      message: '"tempo" has no unit',
      expected: 'a tempo such as 120 bpm, from 1 bpm to 999 bpm',
    },
    {
      code: 'pattern',
      place: place(8, 35, 1),
      message: '"y" is not a step',
      expected:
        'x for a hit, X an accent, g a ghost stroke, - a rest, f a flam, 2 to 8 that many strokes, ? a hit left to chance',
    },
    {
      code: 'unknown-key',
      place: place(9, 23, 5),
      message: '"hiss" has no setting "cutof"',
      expected: 'one of level, q, cutoff, tune, trim, load',
      nearest: 'cutoff',
    },
    {
      code: 'range',
      place: place(10, 49, 5),
      message: '"sustain" is out of range: "120 %"',
      expected: 'a percentage such as 50 %, from 0 % to 100 %',
    },
    {
      code: 'unknown-jack',
      place: place(15, 10, 4),
      message: '"hiss" has no jack "wite"',
      expected: 'one of white, pink',
      nearest: 'white',
    },
  ]);
});

describe('what a patch leaves out', () => {
  test.each([
    ['patches/closed-hat.yaml', 'closed-hat'],
    ['closed.hat.yml', 'closed.hat'],
    ['C:\\patches\\hat.yaml', 'hat'],
    ['.hidden', '.hidden'],
    ['-', 'standard input'],
  ])('the title of %s is %s', (file, title) => {
    expect(sound(patchWith(''), { file }).title).toBe(title);
  });

  test('the seed is the same every time, and there is no rack', () => {
    const patch = sound(patchWith(''));
    expect(patch.seed).toBe('forehear');
    expect('rack' in patch).toBe(false);
    expect(patch.about).toBe('');
  });

  test('an empty file is one problem', () => {
    for (const text of ['', '\n\n', '# only a comment\n', '\uFEFF']) {
      expect(problemsIn(text)).toEqual([
        {
          code: 'missing',
          place: { file: FILE, line: 1, column: 1, length: 1 },
          message: 'the file is empty',
          expected: 'keys such as title, modules and cables',
        },
      ]);
    }
  });
});

describe('parts', () => {
  const NOISE = 'modules: { noise: { kind: hiss } }\n';
  const faultsIn = (text: string, parts: { readonly [path: string]: string }): string[] =>
    problemsIn(text, parts).map(
      ({ code, place }) => `${code} ${place.file}:${place.line}:${place.column}`,
    );

  test('a part may have parts, found from its own folder', () => {
    const files: { [path: string]: string } = {
      'kit/a.yaml': 'parts: { b: ../b.yaml, c: sub/c.yaml }\ncables: [b.noise.white -> c.noise.in]',
      'b.yaml': NOISE,
      'kit/sub/c.yaml': NOISE,
    };
    const text = 'parts: { a: kit/a.yaml }\ncables: [a.c.noise.pink -> a.b.noise.in]';
    const patch = sound(text, { load: (path) => files[path] });
    expect(patch.modules.map(({ name }) => name)).toEqual(['a.b.noise', 'a.c.noise']);
    expect(cablesOf(patch)).toEqual([
      'a.b.noise.white -> a.c.noise.in',
      'a.c.noise.pink -> a.b.noise.in',
    ]);
  });

  test('a fault in a part is at its place there, once however often the part is used', () => {
    const parts = { 'a.yaml': 'modules:\n  noise: { kind: hiss, q: 99 }\n' };
    expect(faultsIn('parts: { a: a.yaml, b: a.yaml }\n', parts)).toEqual(['range a.yaml:2:27']);
  });

  test('a part has no rhythm, no output, no seed and no rack', () => {
    const parts = {
      'a.yaml': `seed: x
rack: y.yaml
modules:
  beat: { kind: sequencer, channels: [a], patterns: { p: { a: x } } }
  out: { kind: speakers }
`,
    };
    expect(faultsIn('parts: { a: a.yaml }\n', parts)).toEqual([
      'unknown-key a.yaml:1:1',
      'unknown-key a.yaml:2:1',
      'part a.yaml:4:3',
      'part a.yaml:5:3',
    ]);
  });

  test('parts that include each other are found out', () => {
    const parts = { 'a.yaml': 'parts: { b: b.yaml }', 'b.yaml': 'parts: { a: a.yaml }' };
    expect(faultsIn('parts: { a: a.yaml }\n', parts)).toEqual(['part b.yaml:1:13']);
  });

  test('eight inside one another are read, nine are not', () => {
    const chain = (depth: number): { [path: string]: string } =>
      Object.fromEntries(
        Array.from({ length: depth }, (_, i) => [
          `${i + 1}.yaml`,
          i + 1 === depth ? NOISE : `parts: { p: ${i + 2}.yaml }`,
        ]),
      );
    expect(faultsIn('parts: { p: 1.yaml }', chain(8))).toEqual([]);
    expect(faultsIn('parts: { p: 1.yaml }', chain(9))).toEqual(['too-big 8.yaml:1:13']);
  });

  test('parts that double at every depth end at the limit', () => {
    const wide = (next: string): string =>
      `parts: { ${Array.from({ length: 40 }, (_, i) => `p${i}: ${next}`).join(', ')} }`;
    const parts = { '1.yaml': wide('2.yaml'), '2.yaml': wide('3.yaml'), '3.yaml': NOISE };
    const codes = problemsIn('parts: { p: 1.yaml }', parts).map(({ code }) => code);
    expect(new Set(codes)).toEqual(new Set(['too-big']));
  });

  test('a cable that a part has already is a duplicate', () => {
    const parts = {
      'a.yaml': 'modules: { n: { kind: hiss } }\ncables: [n.white -> n.in]',
    };
    const text = 'parts: { a: a.yaml }\ncables: [a.n.white -> a.n.in]';
    const [problem, ...others] = problemsIn(text, parts);
    expect(others).toEqual([]);
    expect(problem?.code).toBe('duplicate');
    expect(problem?.message).toBe('this cable is there already, on line 2 of a.yaml');
  });

  test('the name of a part is not that of a module', () => {
    const text = patchWith('').replace('modules:', 'modules:\n  a: { kind: hiss }');
    expect(faultsIn(`${text}parts: { a: a.yaml }\n`, { 'a.yaml': NOISE })).toEqual([
      'duplicate hat.yaml:10:10',
    ]);
  });
});

describe('paths', () => {
  test.each<[string, string, string | undefined]>([
    ['hat.yaml', 'parts/a.yaml', 'parts/a.yaml'],
    ['patches/hat.yaml', 'parts/a.yaml', 'patches/parts/a.yaml'],
    ['patches/hat.yaml', './parts//a.yaml', 'patches/parts/a.yaml'],
    ['patches/hat.yaml', '../a.yaml', 'a.yaml'],
    ['hat.yaml', '../../a.yaml', '../../a.yaml'],
    ['../x/hat.yaml', '../../a.yaml', '../../a.yaml'],
    ['/home/x/hat.yaml', 'a.yaml', '/home/x/a.yaml'],
    ['/hat.yaml', '../../a.yaml', '/a.yaml'],
    ['C:\\x\\hat.yaml', 'a.yaml', 'C:/x/a.yaml'],
    ['-', 'a.yaml', 'a.yaml'],
    ['hat.yaml', '/a.yaml', undefined],
    ['hat.yaml', 'C:a.yaml', undefined],
    ['hat.yaml', 'file:///a.yaml', undefined],
    ['hat.yaml', 'parts\\a.yaml', undefined],
    ['hat.yaml', 'parts/', undefined],
    ['hat.yaml', '..', undefined],
    ['hat.yaml', 'a\0.yaml', undefined],
    ['hat.yaml', '', undefined],
  ])('from %s, %j is %s', (from, path, resolved) => {
    expect(resolvePath(from, path)).toBe(resolved);
  });
});

describe('overrides', () => {
  const TEXT = patchWith(
    'beat:\n    kind: sequencer\n    channels: [a, b]\n    patterns: { p: { a: x, b: { steps: x, gate: 1 ms } }, q: { a: x } }',
  );
  const given = (...set: string[]): Patch => sound(TEXT, { set });

  test('a setting is as if it were written in the file', () => {
    expect(setting(given('env.decay=80ms'), 'env', 'decay')).toBe(0.08);
    expect(setting(given(' env.decay = 16 ms tau '), 'env', 'decay')).toBe(0.08);
    expect(setting(given('env.decay="80 ms"'), 'env', 'decay')).toBe(0.08);
    expect(setting(given('env.decay=1s', 'env.decay=2s'), 'env', 'decay')).toBe(2);
    expect(setting(given('beat.tempo=100bpm'), 'beat', 'tempo')).toBe(100);
  });

  test('the words of the patch can be set', () => {
    expect(given('seed=tuesday', 'title=Take 2', 'about=x=y')).toMatchObject({
      seed: 'tuesday',
      title: 'Take 2',
      about: 'x=y',
    });
  });

  test('a pattern, a line and a song can be set', () => {
    const patterns = (...set: string[]): unknown => setting(given(...set), 'beat', 'patterns');
    expect(patterns('beat.patterns.p.tempo=90 bpm')).toMatchObject([{ tempo: 90 }, {}]);
    expect(patterns('beat.patterns.p.a=---x')).toMatchObject([{ length: 4 }, { length: 1 }]);
    expect(patterns('beat.patterns.p.a=- - x')).toMatchObject([{ length: 3 }, { length: 1 }]);
    expect(patterns('beat.patterns.q.b=xx')).toMatchObject([{}, { length: 2 }]);
    const gate = { unit: 'seconds', value: 0.002 };
    expect(patterns('beat.patterns.p.b.gate=2 ms')).toMatchObject([{ lines: [{}, { gate }] }, {}]);
    expect(patterns('beat.patterns.p.a.gate=2 ms')).toMatchObject([{ lines: [{ gate }, {}] }, {}]);
    expect(setting(given('beat.song=[q, { pattern: p, repeats: 2 }]'), 'beat', 'song')).toEqual([
      { pattern: 1, repeats: 1 },
      { pattern: 0, repeats: 2 },
    ]);
  });

  test('a setting of a part, or of its part, can be set, over what the part is given', () => {
    const files: { [path: string]: string } = {
      'a.yaml': 'parts: { b: b.yaml }\nmodules: { env: { kind: shaper } }',
      'b.yaml': 'modules: { env: { kind: shaper, decay: 1 s } }',
    };
    const text = 'parts: { a: { file: a.yaml, set: { env.decay: 2 s, b.env.decay: 3 s } } }';
    const parts = (set: string[]): unknown[] =>
      sound(text, { set, load: (path) => files[path] }).modules.map((one) => one.settings.decay);
    expect(parts([])).toEqual([3, 2]);
    expect(parts(['a.env.decay=4s'])).toEqual([3, 4]);
    expect(parts(['a.b.env.decay=5s'])).toEqual([5, 2]);
  });

  test('an input set to an output has another cable, in place of its own', () => {
    const text = patchWith('other: { kind: hiss }');
    const cables = (...set: string[]): string[] => cablesOf(sound(text, { set }));
    expect(cables('out.left=other.white')).toEqual([
      'drums.hat -> env.trigger',
      'other.white -> out.left',
    ]);
    // What was free is plugged too; the last word counts.
    expect(cables('out.right=noise.white', 'out.right=other.white').slice(2)).toEqual([
      'other.white -> out.right',
    ]);
    const [, cable] = sound(text, { set: ['out.left=other.white'] }).cables;
    expect(cable?.place).toEqual({ file: '--set', line: 1, column: 1, length: 8 });
  });

  test('an input set to an output loses every plug that is in it', () => {
    const text = patchWith('other: { kind: hiss }', '- other.white -> out.left');
    expect(cablesOf(sound(text, { set: ['out.left=env.out'] }))).toEqual([
      'drums.hat -> env.trigger',
      'env.out -> out.left',
    ]);
  });

  test('names in a cable that is set are those of the file, or of the part, that it is in', () => {
    const files: { [path: string]: string } = {
      'a.yaml':
        'modules: { n: { kind: hiss }, m: { kind: hiss }, j: { kind: joint } }\ncables: [n.white -> j.j1]',
    };
    const patch = (set: string, own = ''): string[] =>
      cablesOf(
        sound(`parts: { p: { file: a.yaml${own} } }\nmodules: { out: { kind: speakers } }`, {
          set: set === '' ? [] : [set],
          load: (path) => files[path],
        }),
      );
    expect(patch('')).toEqual(['p.n.white -> p.j.j1']);
    expect(patch('p.j.j1=p.m.white')).toEqual(['p.m.white -> p.j.j1']);
    expect(patch('', ', set: { j.j1: m.white }')).toEqual(['p.m.white -> p.j.j1']);
    expect(patch('out.left=p.m.white')).toEqual(['p.n.white -> p.j.j1', 'p.m.white -> out.left']);
  });

  test('a part can be set to another file, and keeps what it is given', () => {
    const files: { [path: string]: string } = {
      'a.yaml': 'modules: { env: { kind: shaper } }',
      'b.yaml': 'modules: { env: { kind: shaper, hold: 1 s } }',
    };
    const env = (text: string): unknown[] => {
      const { modules } = sound(text, { set: ['p=b.yaml'], load: (path) => files[path] });
      return modules.map(({ settings }) => [settings.decay, settings.hold]);
    };
    expect(env('parts: { p: { file: a.yaml, set: { env.decay: 2 s } } }')).toEqual([[2, 1]]);
    expect(env('parts: { p: a.yaml, q: a.yaml }')[0]).toMatchObject({ 1: 1 });
  });

  test('the place of a setting that was set is in the override', () => {
    const patch = given('env.hold=1 s', 'env.decay=80ms');
    const env = patch.modules.find(({ name }) => name === 'env');
    expect(env?.settingPlaces.get('decay')).toEqual({
      file: '--set',
      line: 2,
      column: 11,
      length: 4,
    });
    expect(setSource(['a=1', 'b=\n2'])).toBe('a=1\nb= 2');
  });

  test.each<[string, string]>([
    ['env.decay=80', 'unit 11+2 -'],
    ['env.decay=', 'missing 5+5 -'],
    ['env.decai=80ms', 'unknown-key 5+5 decay'],
    ['enf.decay=80ms', 'unknown-module 1+3 env'],
    ['env=80ms', 'unknown-key 1+3 -'],
    ['sed=x', 'unknown-key 1+3 seed'],
    ['cables=[]', 'unknown-key 1+6 -'],
    ['env.decay', 'syntax 1+9 -'],
    ['=3', 'syntax 1+2 -'],
    ['', 'syntax 1+1 -'],
    ['beat.song=[p', 'syntax 13+1 -'],
    ['beat.patterns.r.a=x', 'unknown-name 15+1 -'],
    ['beat.patterns.p.c=x', 'unknown-name 17+1 -'],
    ['beat.channels.a=x', 'wrong-type 15+1 -'],
    ['beat.patterns.p.a=xyz', 'pattern 20+2 -'],
    ['__proto__.x=1', 'unknown-module 1+9 -'],
    ['env.__proto__=1', 'unknown-key 5+9 -'],
    ['env..decay=1', 'unknown-name 5+1 -'],
    ['env.decay=noise.white', 'wrong-type 11+11 -'],
    ['env.triger=noise.white', 'unknown-jack 5+6 trigger'],
    ['enf.trigger=noise.white', 'unknown-module 1+3 env'],
    ['out.left=noize.white', 'unknown-module 10+5 noise'],
    ['out.left=noise.whit', 'unknown-jack 16+4 white'],
    ['out.left=out.right', 'direction 10+9 -'],
    ['noise.white=env.out', 'direction 1+11 -'],
  ])('%s is one problem', (set, expected) => {
    const found = problemsIn(TEXT, {}, [set]);
    expect(
      found.map(({ code, place, nearest }) => {
        expect([place.file, place.line]).toEqual(['--set', 1]);
        return `${code} ${place.column}+${place.length} ${nearest ?? '-'}`;
      }),
    ).toEqual([expected]);
  });

  test('a wrong path in the set of a part is reported where it stands', () => {
    const text = 'parts: { a: { file: a.yaml, set: { env.dekay: 2 s, enf.decay: 1 s } } }';
    const parts = { 'a.yaml': 'modules: { env: { kind: shaper } }' };
    expect(
      problemsIn(text, parts).map(
        ({ code, place }) => `${code} ${place.file} ${place.column}+${place.length}`,
      ),
    ).toEqual(['unknown-key hat.yaml 40+5', 'unknown-module hat.yaml 52+3']);
  });
});

describe('limits', () => {
  const modules = (count: number): string =>
    `modules:\n${Array.from({ length: count }, (_, i) => `  m${i}: { kind: hiss }\n`).join('')}`;
  const cables = (count: number): string =>
    `cables:\n${Array.from({ length: count }, (_, i) => `  - m${i % 90}.white -> m${(i / 90) | 0}.in\n`).join('')}`;

  test('2000 modules are read, 2001 are not', () => {
    expect(sound(modules(2000)).modules).toHaveLength(2000);
    expect(problemsIn(modules(2001)).map(({ code, place }) => `${code} ${place.line}`)).toEqual([
      'too-big 2002',
    ]);
  });

  test('8000 cables are read, 8001 are not', () => {
    expect(sound(modules(90) + cables(8000)).cables).toHaveLength(8000);
    expect(
      problemsIn(modules(90) + cables(8001)).map(({ code, place }) => `${code} ${place.line}`),
    ).toEqual(['too-big 92']);
  });
});
