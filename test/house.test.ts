// The rules of the code base that a reader relies on: which part may use which, what runs in a browser,
// what keeps the samples the same on every machine, and that nothing is written down twice.

import { readdirSync, readFileSync, statSync } from 'node:fs';
import { join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { VERSION } from '../src/cli/options.ts';
import { RULES } from '../src/findings/rules/rules.ts';
import { KINDS } from '../src/modules/kinds.ts';

const ROOT = fileURLToPath(new URL('..', import.meta.url));

/** A row of the table of folders in DEVELOPERS.md. */
interface Folder {
  /** Its folders; what stands beside them is in the folder itself. */
  readonly rooms: readonly string[];
  /** What it may import from, beside itself; undefined for everything. */
  readonly mayUse: readonly string[] | undefined;
}

const FOLDERS = foldersIn(readFileSync(join(ROOT, 'DEVELOPERS.md'), 'utf8'));

/** Reads the table: names stand in backticks, what is in brackets only explains them. */
function foldersIn(text: string): ReadonlyMap<string, Folder> {
  const [table = ''] = /(?<=\n\| folder of `src` .*\n\|[-|]*\n)(?:\|.*\n)+/.exec(text) ?? [];
  const folders = new Map<string, Folder>();
  for (const line of table.trim().split('\n')) {
    const cells = line.replace(/\([^)]*\)/g, '').split('|');
    const [[folder = ''] = [], , rooms = [], own = []] = cells.slice(1).map(namesIn);
    const theirs = own.flatMap((name) => folders.get(name)?.mayUse ?? []);
    const all = /what (?:it|these) may/.test(line) ? [...own, ...theirs] : own;
    const mayUse = /everything \|$/.test(line) ? undefined : all;
    folders.set(folder, { rooms: rooms.toSorted(), mayUse });
  }
  return folders;
}

function namesIn(cell: string): readonly string[] {
  return [...cell.matchAll(/`([^`]+)`/g)].map((match) => match[1] as string);
}

/** More files than this side by side, and a reader no longer finds one by its name. */
const MOST_SIDE_BY_SIDE = 25;
/** Folders that hold one file for each member of a list. */
const LISTS = ['modules', 'circuits', 'findings/rules', 'cli/commands'];

/** Folders whose code also runs in the browser, and so touches neither Node nor a page. */
const EVERYWHERE = [
  'text',
  'patch',
  'modules',
  'electrical',
  'timing',
  'engine',
  'findings',
  'measure',
];
/** Folders whose arithmetic decides samples. */
const EXACT = ['circuits', 'modules', 'electrical', 'timing', 'engine'];
/** Functions that engines of JavaScript may round differently. */
const INEXACT =
  /\bMath\.(?:sin|cos|tan|asin|acos|atan|atan2|sinh|cosh|tanh|asinh|acosh|atanh|exp|expm1|log|log1p|log2|log10|pow|cbrt|hypot|random)\b|\*\*/;

interface Source {
  path: string;
  folder: string;
  text: string;
  code: string;
  imports: string[];
}

const sources = files(join(ROOT, 'src')).map((file): Source => {
  const path = relative(join(ROOT, 'src'), file);
  const text = readFileSync(file, 'utf8');
  const code = text.replace(/\/\*[\s\S]*?\*\//g, '').replace(/\/\/.*$/gm, '');
  const imports = [...code.matchAll(/(?:from|import)\s*\(?\s*'([^']+)'/g)].map(
    (m) => m[1] as string,
  );
  return { path, folder: path.split('/')[0] as string, text, code, imports };
});

function files(folder: string): string[] {
  return readdirSync(folder).flatMap((name) => {
    const path = join(folder, name);
    if (statSync(path).isDirectory()) return files(path);
    return /\.tsx?$/.test(path) ? [path] : [];
  });
}

describe('what commands say', () => {
  it('goes out by one place, which makes it safe for a terminal', () => {
    // A tempo is drawn over itself while it is tapped, in signs of our own.
    const own = ['src/cli/standard-output.ts', 'src/cli/tap.ts', 'src/cli/forehear.ts'];
    const others = readdirSync(join(ROOT, 'src/cli'), { recursive: true, encoding: 'utf8' })
      .map((name) => `src/cli/${name}`)
      .filter((name) => name.endsWith('.ts') && !own.includes(name))
      .filter((name) =>
        /console\.|std(?:out|err)\.write/.test(readFileSync(join(ROOT, name), 'utf8')),
      );
    expect(others).toEqual([]);
  });
});

describe('imports run one way', () => {
  it.each([...FOLDERS])('%s uses only what it may', (folder, { mayUse }) => {
    const wrong = sources
      .filter((source) => source.folder === folder)
      .flatMap(({ path, imports }) =>
        imports
          .filter((name) => name.startsWith('.'))
          .map((name) => join(path, '..', name).split('/')[0] as string)
          .filter((used) => used !== folder && mayUse?.includes(used) === false)
          .map((used) => `${path} uses ${used}`),
      );
    expect(wrong).toEqual([]);
  });

  it('nothing uses the commands or the page but these themselves', () => {
    const wrong = sources
      .filter(({ folder }) => folder !== 'cli' && folder !== 'page')
      .flatMap(({ path, imports }) =>
        imports
          .filter((name) => /^\.\.?\/(?:.*\/)?(?:cli|page)\//.test(name))
          .map((used) => `${path} uses ${used}`),
      );
    expect(wrong).toEqual([]);
  });

  it('and never in a circle', () => {
    const byPath = new Map(
      sources.map(({ path, imports }) => [
        path,
        imports.filter((name) => name.startsWith('.')).map((name) => join(path, '..', name)),
      ]),
    );
    // What is left once files that use none of the others are taken away, again and again.
    for (let before = -1; before !== byPath.size; ) {
      before = byPath.size;
      for (const [path, used] of byPath)
        if (!used.some((name) => byPath.has(name))) byPath.delete(path);
    }
    // What the circles use is left as well; every circle is among these.
    expect([...byPath.keys()]).toEqual([]);
  });

  it('the patch folder takes types alone from modules: kinds reach it as an argument', () => {
    const wrong = sources
      .filter(({ folder }) => folder === 'patch')
      .filter(({ code }) => /^import (?!type\b)(?!\{ type [^,}]+\})[^;]*modules\//m.test(code))
      .map(({ path }) => path);
    expect(wrong).toEqual([]);
  });
});

describe('the tree', () => {
  const folderOf = (path: string): string => path.split('/').slice(0, -1).join('/');

  it('has the folders that DEVELOPERS.md names, their rooms, and no others', () => {
    const rooms = new Map<string, Set<string>>();
    for (const { path } of sources) {
      const [folder = '', room, file] = path.split('/');
      if (room === undefined) continue;
      const known = rooms.get(folder) ?? new Set<string>();
      rooms.set(folder, file === undefined ? known : known.add(room));
    }
    const found = [...rooms].map(([folder, names]) => [folder, [...names].sort()]);
    const named = [...FOLDERS].map(([folder, one]) => [folder, one.rooms]);
    expect(Object.fromEntries(found)).toEqual(Object.fromEntries(named));
  });

  it('has every file and folder that DEVELOPERS.md names', () => {
    const files = ['src', 'test', '.config', 'patches'].flatMap((folder) =>
      readdirSync(join(ROOT, folder), { recursive: true }).map((file) => `${folder}/${file}/`),
    );
    const places = files.flatMap((file) => [file, file.replace(/(?:\.test)?\.\w+\/$/, '/')]);
    const text = readFileSync(join(ROOT, 'DEVELOPERS.md'), 'utf8').replace(/```[\s\S]*?```/g, '');
    const named = [...text.matchAll(/`([\w.-]+(?:\/[\w.-]+)+)`/g)].map(([, name]) => `/${name}/`);
    expect(named.length).toBeGreaterThan(100);
    // Names to fill in, and what the build makes.
    const real = named.filter(
      (name) => !/KIND|RULE|NAME|^\/(?:dist|\.ci)\/|circuits-wasm/.test(name),
    );
    expect(real.filter((name) => !places.some((place) => `/${place}`.includes(name)))).toEqual([]);
  });

  it('has no folder too full to find a file in', () => {
    const counts = new Map<string, number>();
    for (const { path } of sources)
      counts.set(folderOf(path), (counts.get(folderOf(path)) ?? 0) + 1);
    const crowded = [...counts].filter(
      ([folder, count]) => count > MOST_SIDE_BY_SIDE && !LISTS.includes(folder),
    );
    expect(crowded).toEqual([]);
  });
});

describe('names', () => {
  /** Names that a pattern finds in two files or more, and these. */
  const inTwoFiles = (pattern: RegExp, ...allowed: readonly string[]): readonly string[] => {
    const places = new Map<string, Set<string>>();
    // Circuits are a language of their own, in which a module's circuit has the module's name.
    for (const { path, code } of sources.filter(({ folder }) => folder !== 'circuits'))
      for (const [, name = ''] of code.matchAll(pattern))
        places.set(name, (places.get(name) ?? new Set()).add(path));
    expect(places.size).toBeGreaterThan(1000);
    for (const name of allowed) places.delete(name);
    const twice = [...places].filter(([, paths]) => paths.size > 1);
    return twice.map(([name, paths]) => `${name}: ${[...paths].join(', ')}`);
  };

  it('mean one thing: what two files export is the same or has two names', () => {
    const exported =
      /^export (?:abstract |async |declare )*(?:function\*?|class|const|let|interface|type|enum) (\w+)/gm;
    // Every command is entered by its `register`.
    expect(inTwoFiles(exported, 'register')).toEqual([]);
  });

  it('of types are those of one type each, exported or not', () => {
    const types = /^(?:export )?(?:abstract )?(?:class|interface|type) (\w+)/gm;
    // Every command has its `Options`.
    expect(inTwoFiles(types, 'Options')).toEqual([]);
  });
});

describe('the heart of Forehear runs everywhere', () => {
  it('touches neither Node nor a page, nor does what it uses', () => {
    const reached = new Set(
      sources.filter(({ folder }) => EVERYWHERE.includes(folder)).map(({ path }) => path),
    );
    // A set goes on to what is added meanwhile.
    for (const path of reached)
      for (const name of sources.find((source) => source.path === path)?.imports ?? [])
        if (name.startsWith('.')) reached.add(join(path, '..', name));
    const wrong = sources
      .filter(({ path }) => reached.has(path))
      .filter(
        ({ code, imports }) =>
          imports.some((name) => name.startsWith('node:')) ||
          // A page's globals need no check: the compiler is not told of them.
          /\b(?:process\s*\.|Buffer\s*[.(]|require\s*\()/.test(code),
      )
      .map(({ path }) => path);
    expect(wrong).toEqual([]);
  });

  it('makes no code of texts, here or in a page', () => {
    const wrong = sources
      .filter(({ code }) =>
        /\b(?:new Function|Function|eval)\s*\(|\bimport\s*\(\s*[^'\s]/.test(code),
      )
      .map(({ path }) => path);
    expect(wrong).toEqual([]);
  });

  it('does so with its page: only the host touches Node, and nothing in the browser touches the host', () => {
    const wrong = sources
      .filter(({ path }) => /^page\/(?!host\/)/.test(path))
      .flatMap(({ path, imports }) =>
        imports
          .filter((name) => name.startsWith('node:') || /\/(?:host|cli)\//.test(name))
          .map((used) => `${path} uses ${used}`),
      );
    expect(wrong).toEqual([]);
  });

  it('uses only arithmetic that every machine rounds alike', () => {
    const wrong = sources
      .filter(({ folder }) => EXACT.includes(folder))
      .filter(({ code }) => INEXACT.test(code))
      .map(({ path }) => path);
    expect(wrong).toEqual([]);
  });
});

describe('the index of kinds', () => {
  it('holds every kind that has a file, and no other', () => {
    const defined = sources
      .filter(({ folder, code }) => folder === 'modules' && /= define\(\{/.test(code))
      .map(({ code }) => /kind: '([^']+)'/.exec(code)?.[1])
      .sort();
    expect(KINDS.map(({ kind }) => kind).sort()).toEqual(defined);
  });

  it('names each kind after its file', () => {
    for (const { kind } of KINDS)
      expect(sources.map(({ path }) => path)).toContain(`modules/${kind}.ts`);
  });
});

describe('the index of commands', () => {
  it('holds every file of its folder by name: what commands share stands elsewhere', () => {
    const files = sources.flatMap(({ path }) => /^cli\/commands\/(.*)\.ts$/.exec(path)?.[1] ?? []);
    const index = sources.find(({ path }) => path === 'cli/commands.ts')?.code ?? '';
    const named = [...index.matchAll(/^ {2}(\w+): \(\) => import/gm)].map((match) => match[1]);
    expect(named.sort()).toEqual(files.sort());
  });
});

describe('the index of rules', () => {
  it('holds every file of its folder by name', () => {
    const files = sources.flatMap(
      ({ path }) => /^findings\/rules\/(.*)\.ts$/.exec(path)?.[1] ?? [],
    );
    const found = RULES.map(({ name }) => name);
    expect(['rules', ...found].sort()).toEqual(files.sort());
  });
});

describe('the package', () => {
  it('has the version that the command prints', () => {
    const manifest = JSON.parse(readFileSync(join(ROOT, 'package.json'), 'utf8'));
    expect(VERSION).toBe(manifest.version);
  });

  it('has nothing at the top but what the house plan names', () => {
    const plan =
      /^(?:\..*|package(?:-lock)?\.json|tsconfig\.json|README\.md|DEVELOPERS\.md|LICENSE|src|patches|renders|test|node_modules|dist)$/;
    expect(readdirSync(ROOT).filter((name) => !plan.test(name))).toEqual([]);
  });
});
