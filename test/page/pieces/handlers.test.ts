// Handlers read the state at the time when they are called, not the one that was drawn: `useCell` for state of a
// component, the session's store for state of the page. The row, voice or finding of a handler stays as drawn.

import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';

const PAGE = fileURLToPath(new URL('../../../src/page', import.meta.url));
const files = readdirSync(PAGE, { recursive: true, encoding: 'utf8' })
  .filter((name) => /\.tsx?$/.test(name))
  .map((name) => ({ name, text: readFileSync(join(PAGE, name), 'utf8') }));

/** What these hold follows from the session alone, and no hand changes it. */
const STATEFUL = ['pieces/cell.ts', 'pieces/deck.ts', 'pieces/store.ts'];
/** Values that a handler takes as drawn, on purpose. */
const AS_DRAWN: Readonly<Record<string, string>> = {
  'ui/files/problems.tsx failure': 'what is closed is what was read',
};

/** The texts of what is given to attributes such as onClick. */
function handlers(text: string): readonly string[] {
  return [...text.matchAll(/\son[A-Z]\w*=\{/g)].map(({ index, 0: head }) => {
    const start = index + head.length;
    let end = start;
    for (let depth = 1; depth > 0 && end < text.length; end++)
      depth += text[end] === '{' ? 1 : text[end] === '}' ? -1 : 0;
    return text.slice(start, end - 1);
  });
}

function capturedIn(text: string): readonly string[] {
  const known = [...text.matchAll(/const (\w+) = useKnown\(/g)].map(([, name]) => name as string);
  return [...new Set(known)].filter((name) =>
    handlers(text).some((body) => new RegExp(`(?<![.\\w'])${name}(?![\\w'])`).test(body)),
  );
}

describe('A handler of a page', () => {
  it('would be found if it read what was drawn', () => {
    const text = "const isOn = useKnown('isOn');\n<b onClick={() => { turn(!isOn); }} />";
    expect(capturedIn(text)).toEqual(['isOn']);
    expect(capturedIn(text.replace('!isOn', '!sheet.store.now.isOn'))).toEqual([]);
  });

  it('reads what the page knows when it is called', () => {
    const captured = files.flatMap(({ name, text }) =>
      capturedIn(text).map((what) => `${name} ${what}`),
    );
    expect(captured.filter((one) => AS_DRAWN[one] === undefined)).toEqual([]);
  });

  it('has what a component keeps in a cell', () => {
    const others = files.filter(
      ({ name, text }) => !STATEFUL.includes(name) && /\buse(State|Reducer)\b/.test(text),
    );
    expect(others.map(({ name }) => name)).toEqual([]);
  });
});
