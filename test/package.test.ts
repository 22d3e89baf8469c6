// The package as `npm pack` makes it, put where an installation would put it: what is in it, how large
// it is with what it depends on, that all it offers runs, and that its types are what it says.

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
        !/^dist\/(?:bin\/[\w-]+\.c?js|page\/(?:(?:interface|engine|comparison|lesson)\.js|(?:clips-)?notices\.txt))$/.test(
          file,
        ) &&
        !/^dist\/lib\/[\w/-]+\.(?:js|d\.ts)$/.test(file) &&
        !/^patches\/(?:README\.md|[\w-]+\.schema\.json|(?:parts\/|racks\/)?[\w-]+\.yaml)$/.test(
          file,
        ),
    );
    expect(kinds).toEqual([]);
  });

  it('takes less than 15 MB with all that it depends on', () => {
    expect(bytesIn(installed)).toBeLessThan(5e6);
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
    forehear('compare', patch, '--vary', 'shape.release=60ms,200ms', '--seconds', '0.5', '-o', 'c');
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
      const options = { module, moduleResolution: resolution, target: 'es2022', strict: true };
      const compilerOptions = {
        ...options,
        skipLibCheck: false,
        noEmit: true,
        types: [],
        exactOptionalPropertyTypes: true,
      };
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

/** As in the README, with what its types promise. */
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
