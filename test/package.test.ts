// The package as `npm pack` makes it, installed as a user would: its contents, its size with all
// dependencies, that all its commands and entries run, and that its types are correct.

import { spawnSync } from 'node:child_process';
import {
  cpSync,
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import { beforeAll, describe, expect, it } from 'vitest';
import { scratch } from './cli/run.ts';
import { isNode, literal, nodesOf } from './syntax.ts';

const ROOT = fileURLToPath(new URL('..', import.meta.url));

interface Manifest {
  readonly dependencies?: Readonly<Record<string, string>>;
  readonly bin: Readonly<Record<string, string>>;
  readonly exports: Readonly<Record<string, string | Readonly<Record<string, string>>>>;
}

/** A folder of someone who has installed the package. */
let folder: string;
let installed: string;
let manifest: Manifest;
let packed: string[];

beforeAll(() => {
  folder = scratch();
  const [{ filename }] = JSON.parse(
    ran(ROOT, 'npm', ['pack', '--json', '--ignore-scripts', '--pack-destination', folder]),
  );
  const modules = join(folder, 'node_modules');
  mkdirSync(modules);
  ran(modules, 'tar', ['xzf', join(folder, filename)]);
  installed = join(modules, 'forehear');
  cpSync(join(modules, 'package'), installed, { recursive: true });
  ran(modules, 'rm', ['-r', 'package']);
  manifest = JSON.parse(readFileSync(join(installed, 'package.json'), 'utf8'));
  packed = filesIn(installed);
  // As npm would, but from what is here.
  const left = Object.keys(manifest.dependencies ?? {});
  for (let name = left.pop(); name !== undefined; name = left.pop()) {
    if (existsSync(join(modules, name))) continue;
    cpSync(join(ROOT, 'node_modules', name), join(modules, name), { recursive: true });
    const { dependencies = {} } = JSON.parse(
      readFileSync(join(modules, name, 'package.json'), 'utf8'),
    ) as Partial<Manifest>;
    left.push(...Object.keys(dependencies));
  }
});

/** Runs a program to its end. @returns what it printed. */
function ran(cwd: string, program: string, args: readonly string[], input = ''): string {
  const { status, stdout, stderr } = spawnSync(program, args, { cwd, input, encoding: 'utf8' });
  expect(status, `${program} ${args.join(' ')}\n${stdout}\n${stderr}`).toBe(0);
  return stdout;
}

/** By their paths, with slashes. */
function filesIn(within: string): string[] {
  return readdirSync(within, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .map((entry) => relative(within, join(entry.parentPath, entry.name)).replaceAll('\\', '/'));
}

function bytesIn(within: string): number {
  return filesIn(within).reduce((sum, file) => sum + statSync(join(within, file)).size, 0);
}

const forehear = (...args: string[]): string =>
  ran(folder, process.execPath, [join(installed, manifest.bin.forehear as string), ...args]);

describe('what is in the package', () => {
  it('is reached: programs from the command, the library and the page, types from the exports', () => {
    const entries = [
      ...Object.values(manifest.bin),
      ...Object.values(manifest.exports).flatMap((target) =>
        typeof target === 'string' ? [target] : Object.values(target),
      ),
    ].map((path) => path.replace(/^\.\//, ''));
    const reached = new Set<string>();
    const pages = ['interface', 'engine', 'comparison', 'lesson'].map(
      (name) => `dist/page/${name}.js`,
    );
    const left = [...entries, ...pages];
    for (let file = left.pop(); file !== undefined; file = left.pop()) {
      if (reached.has(file) || !packed.includes(file)) continue;
      reached.add(file);
      if (!/\.(?:c?js|d\.ts)$/.test(file)) continue;
      const text = readFileSync(join(installed, file), 'utf8');
      for (const [, path = ''] of text.matchAll(/["'`](\.{1,2}\/[\w./-]+|[\w-]+\.cjs)["'`]/g)) {
        const to = join(file, '..', path).replaceAll('\\', '/');
        left.push(to, to.replace(/\.js$/, '.d.ts'));
      }
    }
    const code = packed.filter((file) => /\.(?:[cm]?jsx?|tsx?|node|wasm)$/.test(file));
    expect(code.filter((file) => !reached.has(file))).toEqual([]);
    for (const entry of entries) expect(packed).toContain(entry);
  });

  it('is nothing of ours that a user does not need', () => {
    const kinds = packed.filter(
      (file) =>
        !/^(?:package\.json|README\.md|LICENSE|dist\/notices\.txt)$/.test(file) &&
        !/^dist\/(?:bin\/[\w-]+\.(?:c?js|wasm)|page\/(?:(?:interface|engine|comparison|lesson)\.js|(?:clips-)?notices\.txt))$/.test(
          file,
        ) &&
        !/^dist\/lib\/[\w/-]+\.(?:js|d\.ts)$/.test(file) &&
        !/^patches\/(?:README\.md|[\w-]+\.schema\.json|(?:parts\/|racks\/|to-mend\/)?[\w-]+\.yaml)$/.test(
          file,
        ),
    );
    expect(kinds).toEqual([]);
  });

  it('takes less than 15 MB with all that it depends on', () => {
    expect(bytesIn(installed)).toBeLessThan(5.3e6);
    expect(bytesIn(join(folder, 'node_modules'))).toBeLessThan(15e6);
  });

  it('declares what its programs ask for, and no more', () => {
    const asked = new Set(
      packed
        .filter((file) => /^dist\/(?:bin|lib)\/.*js$/.test(file))
        .flatMap((file) => askedBy(file))
        .filter((name) => !name.startsWith('.') && !isOfNode(name))
        .map((name) =>
          name
            .split('/')
            .slice(0, name.startsWith('@') ? 2 : 1)
            .join('/'),
        ),
    );
    expect([...asked].sort()).toEqual(Object.keys(manifest.dependencies ?? {}).sort());
  });

  it('has the licences of all that is bundled', () => {
    const notices = readFileSync(join(installed, 'dist/notices.txt'), 'utf8');
    for (const name of ['Forehear', 'commander', 'yaml', 'diff', 'preact', 'd3-scale', 'fft.js'])
      expect(notices).toMatch(new RegExp(`^${name.replace('.', '\\.')}\\b.*\\n\\s+Copyright`, 'm'));
    // ISC, MIT and BSD-3-Clause, from their texts at the Open Source Initiative.
    for (const words of [
      'Permission to use, copy',
      'Permission is hereby granted',
      'Redistributions in binary form',
    ])
      expect(notices).toContain(words);
  });
});

/** What a program of the package imports or requires. */
function askedBy(file: string): string[] {
  const text = readFileSync(join(installed, file), 'utf8');
  return [...nodesOf(file, text)].flatMap(({ node }) => {
    if (/^(?:Import|Export)/.test(node.type)) return literal(node.source) ?? [];
    if (node.type !== 'CallExpression' || !isNode(node.callee)) return [];
    const { callee } = node;
    const isRequire =
      callee.name === 'require' ||
      (callee.type === 'CallExpression' && /createRequire/.test(JSON.stringify(callee.callee)));
    return (isRequire && literal((node.arguments as unknown[])[0])) || [];
  });
}

/** Whether a name is one of Node's own. */
function isOfNode(name: string): boolean {
  return name.startsWith('node:') || process.getBuiltinModule(name) !== undefined;
}

describe('what the package offers', () => {
  it('has a command whose every thread and bundle is there', () => {
    const patch = join(installed, 'patches/closed-hat.yaml');
    expect(forehear('--version')).toMatch(/^\d+\.\d+\.\d+\n$/);
    expect(forehear('render', patch, '--seconds', '0.5', '-o', 'hat.wav')).toContain('hat.wav');
    const varied = ['--vary', 'shape.release=60ms,200ms'];
    forehear('compare', patch, ...varied, '--seconds', '0.5', '--jobs', '1', '-o', 'c');
    forehear('measure', 'hat.wav', 'hat.wav');
    forehear('sheet', patch, '--bars', '1', '-o', 'hat.html');
    const sheet = readFileSync(join(folder, 'hat.html'), 'utf8');
    for (const page of [sheet, readFileSync(join(folder, 'c/compare.html'), 'utf8')]) {
      expect(page).toContain('href="#licences"');
      expect(page).toContain('The Forehear contributors');
    }
    for (const name of ['preact', 'yaml', 'fft.js', 'd3-scale'])
      expect(sheet).toContain(`\n${name} `);
  });

  it('has a library that runs, also from CommonJS, and its schemas', () => {
    const program = `
      import { readFileSync } from 'node:fs';
      import { createRequire } from 'node:module';
      import { KINDS, readPatch, Take } from 'forehear';
      import { renderClip } from 'forehear/node';
      const require = createRequire(import.meta.url);
      const text = readFileSync(${JSON.stringify(join(installed, 'patches/closed-hat.yaml'))}, 'utf8');
      const { patch } = readPatch(text, { file: 'hat.yaml', kinds: KINDS });
      const take = new Take(patch, { sampleRate: 48_000, length: { unit: 'bars', value: 1 }, tail: { unit: 'silence' } });
      let peak = 0;
      for (let frames = take.read(); frames > 0; frames = take.read())
        for (const value of take.channels[0].subarray(0, frames)) peak = Math.max(peak, Math.abs(value));
      console.log(JSON.stringify({
        sounds: peak > 0.01,
        render: typeof renderClip,
        required: typeof require('forehear').readPatch,
        titles: ['patch', 'rack'].map((name) => require('forehear/' + name + '.schema.json').title),
        name: require('forehear/package.json').name,
      }));`;
    const said = ran(folder, process.execPath, [
      '--no-warnings',
      '--input-type=module',
      '-e',
      program,
    ]);
    expect(JSON.parse(said)).toEqual({
      sounds: true,
      render: 'function',
      required: 'function',
      titles: ['Forehear patch', 'Forehear rack'],
      name: 'forehear',
    });
  });

  it('runs in a browser: the library asks for nothing of Node', () => {
    const left = ['dist/lib/index.js'];
    const seen = new Set<string>();
    for (let file = left.pop(); file !== undefined; file = left.pop()) {
      if (seen.has(file)) continue;
      seen.add(file);
      for (const name of askedBy(file)) {
        expect(name).toMatch(/^\.\//);
        left.push(join(file, '..', name).replaceAll('\\', '/'));
      }
      const text = readFileSync(join(installed, file), 'utf8');
      expect(text).not.toMatch(/\b(?:require\(|process\.|Buffer\.)/);
    }
  });

  describe('its examples', () => {
    const folderOf = (): string => join(folder, 'examples');

    beforeAll(() => {
      mkdirSync(folderOf());
      for (const name of EXAMPLES) cpSync(join(ROOT, 'test/library', name), join(folderOf(), name));
      for (const [name, text] of documented()) writeFileSync(join(folderOf(), name), text);
      cpSync(join(installed, 'patches/closed-hat.yaml'), join(folderOf(), 'my-hat.yaml'));
      const files = [...EXAMPLES, ...documented().keys()];
      for (const [module, moduleResolution] of [
        ['esnext', 'bundler'],
        ['nodenext', 'nodenext'],
      ] as const) {
        const compilerOptions = {
          module,
          moduleResolution,
          target: 'es2022',
          ...STRICT,
          types: ['node'],
          typeRoots: [join(ROOT, 'node_modules/@types')],
        };
        const config = join(folderOf(), `tsconfig.${moduleResolution}.json`);
        writeFileSync(config, JSON.stringify({ compilerOptions, files }));
        ran(folderOf(), process.execPath, [
          join(ROOT, 'node_modules/typescript/bin/tsc'),
          '-p',
          config,
        ]);
      }
    });

    it('are all of test/library', () => {
      expect([...EXAMPLES].sort()).toEqual(readdirSync(join(ROOT, 'test/library')).sort());
    });

    it('use everything that the library gives, so that each runs from the package', () => {
      const names = ran(folder, process.execPath, [
        '--input-type=module',
        '-e',
        `for (const entry of ['forehear', 'forehear/node']) console.log(Object.keys(await import(entry)).join('\\n'))`,
      ]);
      const programs = [...EXAMPLES.map((name) => readFileSync(join(folderOf(), name), 'utf8'))]
        .concat([...documented().values()])
        // Without what is imported.
        .map((text) => text.replace(/^import [\s\S]*? from '[^']*';$/gm, ''));
      const unused = names
        .trim()
        .split('\n')
        .filter((name) => !programs.some((text) => new RegExp(`\\b${name}\\b`).test(text)));
      expect(unused).toEqual([]);
    });

    it('render the patch of the README to a WAV file', () => {
      expect(ran(folderOf(), process.execPath, ['readme-1.mjs'])).toBe('');
      const wav = readFileSync(join(folderOf(), 'my-hat.wav'));
      // RIFF/WAVE: the format tag of PCM, the rate and the bits, in their places behind 'fmt '.
      expect(wav.toString('latin1', 0, 4)).toBe('RIFF');
      expect([wav.readUInt16LE(20), wav.readUInt32LE(24), wav.readUInt16LE(34)]).toEqual([
        1, 48_000, 24,
      ]);
    });

    it('run kinds of one\u2019s own', () => {
      const said = ran(folderOf(), process.execPath, ['readme-2.mjs']);
      // 2 V at 10 V full scale, behind 1 kohm into 100 kohm, is as far as the sine of 5 V goes.
      const most = (0.2 * 100) / 101;
      const samples = (said.match(/-?\d\.\d+/g) ?? []).map(Number);
      expect(samples.length).toBeGreaterThan(50);
      expect(samples.every((sample) => Math.abs(sample) <= most + 1e-12)).toBe(true);
      expect(samples.some((sample) => Math.abs(sample - most) < 1e-12)).toBe(true);
    });

    let seen: Readonly<Record<string, unknown>> | undefined;
    /** Each program runs once, one after another, in one process for all. */
    const seenBy = (name: string): unknown => {
      seen ??= JSON.parse(
        ran(folderOf(), process.execPath, [
          '--input-type=module',
          '-e',
          `const seen = {};
          for (const file of ${JSON.stringify(EXAMPLES.map((file) => `./${file.replace('mts', 'mjs')}`))})
            seen[file] = (await import(file)).seen;
          console.log(JSON.stringify(seen));`,
        ]),
      ) as Record<string, unknown>;
      return seen[`./${name}.mjs`];
    };

    it('know kinds, and take one of one\u2019s own into the schema', () => {
      expect(seenBy('kinds')).toEqual({
        named: ['envelope', 'none'],
        completed: [false, true],
        unheard: [false, true],
        // Half of 5 V behind 1 kohm into 100 kohm, twice, at 10 V full scale.
        peak: (0.25 * (100 / 101) ** 2).toFixed(3),
        unplayable: [[], ['missing']],
        from: ['tone.sine', 'half.half'],
      });
    });

    it('read a rack', () => {
      // Millman into 100 kohm, over the 2.5 V that the input fires at: 5 V behind 1 kohm, 2.6 V behind 10.
      expect(seenBy('rack')).toEqual({
        problems: [],
        wrong: [['mine.yaml', 1, 'noise']],
        margins: [((5 * 100) / 101 - 2.5).toFixed(3), ((2.6 * 100) / 110 - 2.5).toFixed(3)],
      });
    });

    it('list edges and what is noticed of them', () => {
      // Two quarters at 120 bpm; an envelope answers when a pulse has lasted its 1 ms.
      expect(seenBy('time')).toEqual({
        // Four quarters at 120 bpm are 2 s.
        bars: [0, 2, 4],
        rises: [
          [0, 0],
          [0.5, 24_000],
        ],
        noticed: [
          [1, 1, '0.0010'],
          [1, 5, '0.0010'],
        ],
      });
    });

    it('work out volts', () => {
      const millman = (a: number, b: number): string =>
        ((a + b) / 1000 / (2 / 1000 + 1 / 100_000)).toFixed(4);
      expect(seenBy('volts')).toEqual({
        joined: 2,
        volts: millman(5, -1),
        high: [millman(5, 5)],
        refused: [-0.1, 0.6, Number.NaN].map(
          (wrong) => `RangeError: a tolerance is a share from 0 to 0.5, not ${wrong}`,
        ),
      });
    });

    it('tell what will go wrong', () => {
      // At rest 0 V behind 1 kohm against 5 V behind 10 kohm, by Millman: 5/11 V, a closed switch to the input.
      const rest = (5 / 11).toFixed(3);
      expect(seenBy('findings')).toEqual([
        { rule: 'voltage-into-switch', severity: 'fault', line: 9, rest },
      ]);
    });

    it('patch along', () => {
      // 5 V behind 1 kohm into 100 kohm; 50 ohm against 10 kohm at 5 V; 0 V behind 1 kohm against that.
      const gate = (5 / 1.01).toFixed(3);
      const closed = ((5 * 50) / 10_050).toFixed(3);
      const pulled = (5 / 11).toFixed(3);
      expect(seenBy('along')).toEqual({
        cables: [
          '1 drums.hit adapt.voltage-in, Control path',
          '2 adapt.switch-out shape.trigger, Control path',
        ],
        volts: [
          ['0.000', '0.000', gate],
          ['5.000', closed, '5.000'],
        ],
        suspects: [
          'not-plugged 5.000',
          `other-jack ${pulled}`,
          'silent 5.000',
          `wrong-kind ${pulled}`,
          'weak 5.000',
          `joined ${pulled}`,
          // Ten inputs of 100 kohm beside a pull-up of 10 kohm.
          'loaded 2.500',
        ],
      });
    });

    it('play into arrays and block by block', () => {
      const seen = seenBy('playing') as Record<string, unknown>;
      // Eight steps of sixteenths at 120 bpm are a second; the peak is 5 V into 100 kohm.
      expect(seen).toMatchObject({
        music: 48_000,
        hasTail: true,
        lengths: [true, true, true],
        peakVolts: ((5 * 100) / 101).toFixed(2),
        loop: 48_000,
        takeIsSame: true,
        loopIsSame: true,
        preparedIsSame: true,
      });
      expect(seen.refused).toEqual([
        'RangeError: a sample rate is a whole number from 8000 to 192000 Hz, not 4000',
        'RangeError: a length is 0 bars or more, not -1',
        'RangeError: a length is 0 seconds or more, not Infinity',
        'RangeError: a tail is 0 seconds or more, not -1',
      ]);
    });

    it('measure', () => {
      // ITU-R BS.1770-5: a 997 Hz sine at full scale in one front channel reads -3.01 LUFS.
      expect(seenBy('measuring')).toEqual({
        lufs: ['-3.01', '-3.01', '-3.01'],
        // Twice the amplitude is 20 log10(2) = 6.02 dB.
        apart: ['0.00', '-6.02'],
        peaks: ['0.0', '0.0'].map((zero) => expect.stringMatching(new RegExp(`^-?${zero}$`))),
        defects: ['silent'],
        atFault: 'reference',
        onsets: ['0.00', '0.50', '1.00', '1.50', '2.00', '2.50', '3.00', '3.50'],
      });
    });

    it('compare at equal loudness', () => {
      // Half the volts are 6.02 dB less; (1 - 1/2)^2 to the mean of 1 and 1/4 is -3.98 dB.
      expect(seenBy('comparing')).toEqual({
        apart: (20 * Math.log10(2)).toFixed(2),
        before: (10 * Math.log10(0.25 / 0.625)).toFixed(2),
        alike: true,
      });
    });

    it('edit a patch\u2019s text and leave its comments', () => {
      expect(seenBy('editing')).toEqual({
        text: `modules:
  hiss: { kind: noise, level: 1 V }   # the source
  out: { kind: output }
cables:
  - hiss.white -> out.left
  - hiss.pink  -> out.right
`,
        cables: 2,
        level: 1,
      });
    });

    it('write and read WAV, in memory and on disk', () => {
      expect(seenBy('files')).toEqual({
        isSame: true,
        clipped: expect.any(Number),
        data: 'RIFF',
        files: [['hiss.wav', 'mix']],
        frames: 22_050,
        rate: 44_100,
        refused: 'RangeError: the channels have different lengths: 4, 3',
      });
    });
  });

  it('says of each export what it is, naming no file that nobody who installed it can open', () => {
    const bare = ['index', 'node'].flatMap((entry) => {
      const table = readFileSync(join(installed, `dist/lib/${entry}.d.ts`), 'utf8');
      return [...table.matchAll(/export (?:type )?\{([^}]*)\} from '(.*)\.js'/g)].flatMap(
        ([, names = '', path = '']) => {
          const text = readFileSync(join(installed, 'dist/lib', `${path}.d.ts`), 'utf8');
          const inner = /`[\w/-]+\.ts`/.exec(text.slice(text.indexOf('*/')));
          return names
            .split(',')
            .map((name) => name.trim().replace(/^type /, ''))
            .filter((name) => name !== '' && !isDocumented(name, text))
            .concat(inner ?? [])
            .map((name) => `${path}: ${name}`);
        },
      );
    });
    expect(bare).toEqual([]);
  });

  // With the compiler that is here; a longer search fetches older ones too.
  const others = Number(process.env.SEARCH ?? 1) > 1 ? ['5.5', '5.9', '6'] : [];
  it.each(['own', ...others])('has types for a strict program: TypeScript %s', (version) => {
    const compiler =
      version === 'own' ? [join(ROOT, 'node_modules/typescript/bin/tsc')] : fetched(version);
    writeFileSync(join(folder, 'program.mts'), CONSUMER);
    for (const [module, resolution] of [
      ['nodenext', 'nodenext'],
      ['esnext', 'bundler'],
    ] as const) {
      const options = { module, moduleResolution: resolution, target: 'es2022', ...STRICT };
      const compilerOptions = { ...options, skipLibCheck: false, noEmit: true, types: [] };
      const config = join(folder, `tsconfig.${resolution}.json`);
      writeFileSync(config, JSON.stringify({ compilerOptions, files: ['program.mts'] }));
      ran(folder, process.execPath, [...compiler, '-p', config]);
    }
    // It does look: what is wrong is refused.
    writeFileSync(join(folder, 'program.mts'), CONSUMER.replace("unit: 'song'", "unit: 'sung'"));
    const wrong = spawnSync(process.execPath, [
      ...compiler,
      '-p',
      join(folder, 'tsconfig.nodenext.json'),
    ]);
    expect(wrong.status).not.toBe(0);
  });

  function fetched(version: string): string[] {
    const place = join(folder, `typescript-${version}`);
    mkdirSync(place, { recursive: true });
    writeFileSync(join(place, 'package.json'), '{}');
    ran(place, 'npm', ['install', '--no-audit', '--no-fund', `typescript@${version}`]);
    return [join(place, 'node_modules/typescript/bin/tsc')];
  }
});

/** What careful programs are compiled with; `strict` alone has only some of these. */
const STRICT = {
  strict: true,
  noUncheckedIndexedAccess: true,
  exactOptionalPropertyTypes: true,
  noImplicitOverride: true,
  noImplicitReturns: true,
};

/** A program for each part of the library; it says in `seen` what came of it. */
const EXAMPLES = [
  'along.mts',
  'comparing.mts',
  'editing.mts',
  'files.mts',
  'findings.mts',
  'kinds.mts',
  'measuring.mts',
  'playing.mts',
  'rack.mts',
  'time.mts',
  'volts.mts',
];

/** The programs of the README and of DEVELOPERS.md that use the library, by the names that they get. */
function documented(): ReadonlyMap<string, string> {
  const all = new Map<string, string>();
  for (const page of ['README.md', 'DEVELOPERS.md']) {
    const text = readFileSync(join(ROOT, page), 'utf8');
    const found = [...text.matchAll(/```ts\n(import [^`]*?from 'forehear'[\s\S]*?)```/g)];
    found.forEach(([, program = ''], index) => {
      const name = `${page.toLowerCase().replace('.md', '')}-${index + 1}.mts`;
      // What a page says elsewhere.
      const given = /\bconst text\b/.test(program) ? '' : 'declare const text: string;\n';
      all.set(name, `${given}${program}`);
    });
  }
  return all;
}

/** Whether a declaration has a comment right before it. */
function isDocumented(name: string, text: string): boolean {
  return new RegExp(
    `\\*/\\s*export (?:declare )?(?:function\\*?|class|interface|type|const) ${name}\\b`,
  ).test(text);
}

/** What its types promise, with neither Node nor a browser. */
const CONSUMER = `
import { type Finding, KINDS, type Patch, type Problem, check, describeProblem, netlist, readPatch, Take } from 'forehear';
import { openWav, renderClip } from 'forehear/node';

export function play(text: string, use: (channels: readonly Float64Array[], frames: number) => void): readonly Problem[] {
  const { patch, problems } = readPatch(text, { file: 'hat.yaml', kinds: KINDS });
  if (patch) {
    const take = new Take(patch, { sampleRate: 48_000, length: { unit: 'song' }, tail: { unit: 'silence' } });
    for (let frames = take.read(); frames > 0; frames = take.read()) use(take.channels, frames);
  }
  return problems;
}
export const told = (problem: Problem, text: string): string => describeProblem(problem, () => text);
export const nets = (patch: Patch): number => netlist(patch).nets.length;
export const severities = (patch: Patch): Finding['severity'][] => check(patch).map(({ severity }) => severity);
export { openWav, renderClip };
`;
