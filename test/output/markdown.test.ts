// A person's own words in Markdown are shown as they are, whatever they contain. Against CommonMark 0.31.2: 2.4
// (a backslash before punctuation makes it a letter), 2.5 (`&` starts an entity), 6.1 (code spans); and
// GitHub Flavored Markdown 0.29: 4.10 (`|` ends a cell), 6.5 (`~~` strikes out).

import { describe, expect, it } from 'vitest';
import { lessonMarkdown } from '../../src/output/lesson/lesson-markdown.ts';
import { escapedMarkdown, markdownCode, markdownTable } from '../../src/output/markdown.ts';
import { outlineOf } from '../../src/output/sheet/sheet.ts';
import { sheetMarkdown } from '../../src/output/sheet/sheet-markdown.ts';
import { example } from '../compare/written.ts';

const WORDS = 'tea &amp; &#35; ~~milk~~ *a* _b_ # <b> [c](d) `e` | f \\ g';
const { patch } = example('closed-hat.yaml');
const named = { ...patch, title: WORDS, about: WORDS };

/** The words that a reader of Markdown sees; what is marked up in them is an error. */
function shown(markdown: string): string {
  const letters = markdown.replace(/\\([!-/:-@[-`{-~])/g, '');
  expect(letters).not.toMatch(/[\\`*_[\]<>|#&~]/);
  return markdown.replace(/\\([!-/:-@[-`{-~])/g, '$1');
}

describe('words in Markdown', () => {
  it('are no markup', () => {
    expect(shown(escapedMarkdown(WORDS))).toBe(WORDS);
  });

  it('are in one line', () => {
    expect(escapedMarkdown(' a\n\n b ')).toBe('a b');
  });

  it('are code where code can hold them', () => {
    expect(markdownCode('drums.hat')).toBe('`drums.hat`');
    expect(shown(markdownCode('a`b'))).toBe('a`b');
  });

  it('stand in the cells of a table', () => {
    expect(markdownTable(['a', 'b'], [['1', '2']])).toBe('| a | b |\n|---|---|\n| 1 | 2 |');
  });

  const sheet = sheetMarkdown({ ...outlineOf(named), findings: [] });
  const told = {
    patch: named,
    stages: [],
    joined: 'all.wav',
    targetLufs: null,
    sampleRate: 48_000,
  };
  const lesson = lessonMarkdown(told);

  it.each(['my hat.wav', 'hat (2).wav', "100% #1? [x]'<y>&z.wav"])(
    'lead to a file called %s',
    (name) => {
      const text = lessonMarkdown({ ...told, joined: name });
      // A destination in brackets ends with the first space or closing bracket (CommonMark 0.31.2, 6.3).
      const [, to = ''] = /\[All of them one after the other\]\(([^ ()]*)\)/.exec(text) ?? [];
      const url = new URL(to, 'file:///lessons/hat.md');
      expect([url.search, url.hash, decodeURIComponent(url.pathname)]).toEqual([
        '',
        '',
        `/lessons/${name}`,
      ]);
    },
  );

  it.each([
    ['sheet', sheet],
    ['lesson', lesson],
  ])('of a title and of what it is about are the same in a %s', (_, text) => {
    const [title = '', , about = ''] = text.split('\n');
    expect(shown(title.slice(2))).toContain(WORDS);
    expect(shown(about)).toBe(WORDS);
  });
});
