/**
 * Reads a hand-out as a person does who has nothing else: its lists and tables, and the bold words in them.
 * The result is a patch file, with its parts in separate files.
 */

import { parse } from 'yaml';

/** What one can tell from a hand-out. */
export interface Handout {
  readonly seed: string;
  readonly rack: string | undefined;
  readonly modules: readonly {
    readonly name: string;
    readonly kind: string;
    readonly unit: string | undefined;
    /** Those that the patch asks for. */
    readonly settings: Readonly<Record<string, string>>;
  }[];
  /** As `a.out -> b.in`. */
  readonly cables: readonly string[];
  readonly rhythms: readonly HandoutRhythm[];
}

interface HandoutRhythm {
  readonly name: string;
  readonly channels: string;
  readonly song: string;
  readonly patterns: readonly {
    readonly name: string;
    readonly own: string;
    readonly tab: string;
    readonly besides: readonly (readonly [channel: string, own: string])[];
  }[];
}

/** Reads the page. */
export function fromPage(html: string): Handout {
  const page = html.replace(/<script[^>]*>.*?<\/script>/gs, '');
  const fact = (name: string): string | undefined => {
    const found = page.split(`<dt>${name}</dt><dd>`)[1]?.split('</dd>')[0];
    return found === undefined ? undefined : textOf(found);
  };
  const settings = page.split(/<table class="turned[^"]*">/)[1]?.split('</table>')[0] ?? '';
  return {
    seed: seedOf(fact('Seed') ?? ''),
    rack: rackOf(fact('Rack')),
    modules: rowsOf(settings).map((row) => {
      const [, name = '', what = ''] =
        /<th scope="row">(.*?)<span class="under">(.*?)<\/span>/.exec(row) as unknown as string[];
      const items = [...row.matchAll(/<li>(\S+) (.*?)<\/li>/g)].flatMap(
        ([, setting, markup = '']) => {
          const bold = /<b[^>]*>(.*?)<\/b>/.exec(markup);
          return bold ? [[setting, textOf(bold[1] as string)] as const] : [];
        },
      );
      return { name: textOf(name), ...kindOf(textOf(what)), settings: Object.fromEntries(items) };
    }),
    cables: [...page.matchAll(/<table class="cables">(.*?)<\/table>/gs)].flatMap(([, table = '']) =>
      rowsOf(table).map((row) => {
        const [from, to] = [...row.matchAll(/<td>(<b>.*?)<\/td>/g)].map(([, end = '']) =>
          textOf(end),
        );
        return `${from} -> ${to}`;
      }),
    ),
    rhythms: [
      ...page.matchAll(
        /<p><b>(\S+)<\/b> plays: (.*?)\.<\/p>\s*<p>Its channels: (.*?)\.<\/p>(.*?)(?=<p><b>|<p class="quiet)/gs,
      ),
    ].map(([, name = '', song = '', channels = '', patterns = '']) => ({
      name,
      song: textOf(song),
      channels: textOf(channels),
      patterns: patterns
        .split('<div class="pattern">')
        .slice(1)
        .map((markup) => ({
          name: textOf(/<h3>Pattern (.*?)<\/h3>/.exec(markup)?.[1] ?? ''),
          own: textOf(/<p class="own">(.*?)<\/p>/.exec(markup)?.[1] ?? ''),
          tab: tabOf(markup),
          besides: [...markup.matchAll(/<li><b>(.*?)<\/b>: (.*?)<\/li>/g)].map(
            ([, channel = '', own = '']) => [textOf(channel), textOf(own)] as const,
          ),
        })),
    })),
  };
}

/** The letters under the signs, line by line through the systems that a pattern is printed in. */
function tabOf(markup: string): string {
  const lines = new Map<string, string>();
  for (const [, channel = '', cells = ''] of markup.matchAll(
    /<tr><th scope="row">(.*?)<\/th>(.*?)<\/tr>/gs,
  )) {
    const name = textOf(channel);
    lines.set(name, `${lines.get(name) ?? ''}${textOf(cells).trim()}`);
  }
  return [...lines].map(([channel, steps]) => `${channel} ${steps}`).join('\n');
}

/** Reads the text. */
export function fromMarkdown(text: string): Handout {
  const [head = '', ...sections] = text.split(/^## \d+\. /m);
  const section = (name: string): string =>
    sections.find((one) => one.startsWith(`${name}\n`))?.slice(name.length) ?? '';
  const facts = head.trimEnd().split('\n').at(-1) ?? '';
  const score = section('Score of time').split(/^`([^`\n]+)` plays: /m);
  return {
    seed: seedOf(bare(/(?:^| · )Seed: (.*)$/.exec(facts)?.[1] ?? '')),
    rack: rackOf(bare(/ · Rack: (.*?) · (?:Tempo|Seed): /.exec(facts)?.[1] ?? '') || undefined),
    modules: [...section('Settings').matchAll(/^- \[ \] `([^`]+)` \((.*?)\)(?:: (.*))?$/gm)].map(
      ([, name = '', what = '', rest = '']) => {
        const given = [
          ...rest.matchAll(/(?:^|, )([\w-]+) (?:(?:(?!, [\w-]+ )[^*])*\()?\*\*(.*?)\*\*/g),
        ];
        return {
          name,
          ...kindOf(bare(what)),
          settings: Object.fromEntries(given.map(([, key, value = '']) => [key, bare(value)])),
        };
      },
    ),
    cables: [...section('Cables').matchAll(/^- \[ \] \d+\. `(.*?)` to `(.*?)` \(/gm)].map(
      ([, from, to]) => `${from} -> ${to}`,
    ),
    rhythms: pairs(score.slice(1)).map(([name, body]) => {
      const [, song = '', channels = '', rest = ''] =
        /^(.*?)\.\n\nIts channels: (.*?)\.\n\n(.*)$/s.exec(body) as unknown as string[];
      return {
        name,
        song: bare(song),
        channels: bare(channels),
        patterns: [
          ...rest.matchAll(
            /^`(\S+)`(?: \((.*?)\))?:\n\n```\n(.*?)\n?```(?:\n\n((?:- `[^\n]*\n)+))?/gms,
          ),
        ].map(([, pattern = '', own = '', tab = '', besides = '']) => ({
          name: pattern,
          own: bare(own),
          tab,
          besides: [...besides.matchAll(/^- `(.*?)`: (.*)$/gm)].map(
            ([, channel = '', said = '']) => [channel, bare(said)] as const,
          ),
        })),
      };
    }),
  };
}

/** The patch that a hand-out tells: JSON, which is YAML, by the paths of the files. */
export function patchFiles(handout: Handout): ReadonlyMap<string, string> {
  interface Folder {
    readonly modules: Record<string, object>;
    readonly parts: Map<string, Folder>;
  }
  const root: Folder = { modules: {}, parts: new Map() };
  for (const { name, kind, unit, settings } of handout.modules) {
    const way = name.split('.');
    let folder = root;
    for (const part of way.slice(0, -1)) {
      const next = folder.parts.get(part) ?? { modules: {}, parts: new Map() };
      folder.parts.set(part, next);
      folder = next;
    }
    const rhythm = handout.rhythms.find((one) => one.name === name);
    folder.modules[way.at(-1) as string] = {
      kind,
      ...(unit !== undefined && { unit }),
      ...Object.fromEntries(
        Object.entries(settings).map(([key, value]) => [
          key,
          /^[[{]/.test(value) ? parse(value, { schema: 'failsafe' }) : value,
        ]),
      ),
      ...(rhythm && scoreOf(rhythm)),
    };
  }
  const files = new Map<string, string>();
  const write = (path: string, { modules, parts }: Folder, more: object): void => {
    const inside = [...parts].map(([name, part]) => {
      const file = `${path.replace(/\.yaml$/, '')}-${name}.yaml`;
      write(file, part, {});
      return [name, file];
    });
    const whole = {
      ...more,
      ...(Object.keys(modules).length > 0 && { modules }),
      ...(inside.length > 0 && { parts: Object.fromEntries(inside) }),
    };
    files.set(path, JSON.stringify(whole));
  };
  const { seed, rack, cables } = handout;
  write('rebuilt.yaml', root, { seed, ...(rack !== undefined && { rack }), cables });
  return files;
}

function scoreOf({ channels, song, patterns }: HandoutRhythm): object {
  const named = [...channels.matchAll(/([^\s,]+)(?: \(note (\d+)\))?/g)];
  const notes = named
    .filter(([, , note]) => note !== undefined)
    .map(([, name, note]) => [name, note]);
  return {
    channels: named.map(([, name]) => name),
    notes: Object.fromEntries(notes),
    patterns: Object.fromEntries(
      patterns.map(({ name, own, tab, besides }) => {
        const lines = tab.split('\n').filter((line) => line !== '');
        const steps = lines.map(
          (line) => /^(\S+)\s+(.*)$/.exec(line)?.slice(1) as [string, string],
        );
        return [
          name,
          {
            ...wordsOf(own),
            ...Object.fromEntries(
              steps.map(([channel, line]) => {
                const said = besides.find(([one]) => one === channel)?.[1];
                return [channel, said === undefined ? line : lineOf(line, said)];
              }),
            ),
          },
        ];
      }),
    ),
    song: [...song.matchAll(/([^\s,()]+)(?: × (\d+))?(?: \((.*?)\))?(?:, |$)/g)].map(
      ([, pattern, repeats = '1', own = '']) => ({ pattern, repeats, ...wordsOf(own) }),
    ),
  };
}

function lineOf(steps: string, said: string): object {
  const at: Record<string, object> = {};
  let own: object = {};
  for (const piece of said.split('; ')) {
    const [, numbers, words = ''] = /^steps? ([\d, ]+): (.*)$/.exec(piece) ?? [];
    if (numbers === undefined) own = wordsOf(piece);
    else for (const step of numbers.split(', ')) at[step] = { ...at[step], ...wordsOf(words) };
  }
  return { steps, ...own, at };
}

function wordsOf(own: string): Record<string, string> {
  return Object.fromEntries(
    own.split(', ').flatMap((piece) => {
      const [, key, value] = /^([\w-]+) (.*)$/.exec(piece) ?? [];
      return key === undefined ? [] : [[key, value as string]];
    }),
  );
}

function kindOf(what: string): { readonly kind: string; readonly unit: string | undefined } {
  const [kind = '', unit] = what.split(', unit ');
  return { kind, unit };
}

function seedOf(words: string): string {
  return words.startsWith('"') ? JSON.parse(words) : words;
}

function rackOf(words: string | undefined): string | undefined {
  return words === undefined ? undefined : (/ \(([^()]*)\)$/.exec(words)?.[1] ?? words);
}

function rowsOf(table: string): readonly string[] {
  return table.split('<tbody>')[1]?.split('<tr>').slice(1) ?? [];
}

/** What markup shows. */
function textOf(markup: string): string {
  return markup
    .replace(/<[^>]*>/g, '')
    .replaceAll('&lt;', '<')
    .replaceAll('&gt;', '>')
    .replaceAll('&quot;', '"')
    .replaceAll('&amp;', '&');
}

/** Markdown without its escapes (CommonMark, 2.4). */
function bare(words: string): string {
  return words.replace(/\\([!-/:-@[-`{-~])/g, '$1');
}

function pairs(list: readonly string[]): readonly (readonly [string, string])[] {
  return list.flatMap((one, index) =>
    index % 2 === 0 ? [[one, list[index + 1] ?? ''] as const] : [],
  );
}
