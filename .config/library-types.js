// The library's types: the declarations that its entries reach, as any TypeScript from 5.5 on reads
// them. The compiler leaves two things in them that older versions do not know.
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';

/** @param entries names in `from`. */
export function copyTypes(from, entries, to) {
  const seen = new Set();
  const left = entries.map((name) => new URL(name, from).href);
  for (let href = left.pop(); href !== undefined; href = left.pop()) {
    if (seen.has(href)) continue;
    seen.add(href);
    const text = readFileSync(new URL(href), 'utf8')
      // Imports by the name of a source, which is not in the package.
      .replace(/(from '|import\(")(\.[^'"]*)\.ts(?=['"])/g, (_, start, path) => {
        left.push(new URL(`${path}.d.ts`, href).href);
        return `${start}${path}.js`;
      })
      // Typed arrays with the type of their buffer, which TypeScript knows from 5.7 on.
      .replace(/\b((?:Float|Int|Uint|BigInt|BigUint)\w*Array)<[^<>]*>/g, '$1');
    const copy = new URL(href.slice(from.href.length), to);
    mkdirSync(new URL('.', copy), { recursive: true });
    writeFileSync(copy, text);
  }
}
