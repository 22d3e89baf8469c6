// The licence notices of the bundled packages, which are passed on with each program. Packages whose
// texts differ only in the copyright line share one text.
import { readdirSync, readFileSync } from 'node:fs';

const ROOT = new URL('..', import.meta.url);
const OWN = 'Forehear';

/** Names of the packages that are in these chunks of Rolldown's. */
export function packagesIn(chunks) {
  const ids = chunks.flatMap(({ modules = {} }) => Object.keys(modules));
  const names = ids.flatMap(
    (id) => /.*[\\/]node_modules[\\/]((?:@[^\\/]+[\\/])?[^\\/]+)/.exec(id)?.[1] ?? [],
  );
  return [...new Set(names)].sort();
}

/**
 * Writes the notices of Forehear and of packages.
 * @throws Error for a package without a licence text, which may not be bundled.
 */
export function noticesOf(packages) {
  const texts = new Map();
  for (const notice of [ownNotice(), ...packages.map(noticeOf)]) {
    const alike = texts.get(wordsOf(notice.terms)) ?? { terms: notice.terms, heads: [] };
    alike.heads.push([notice.name, ...notice.copyright].join('\n  '));
    texts.set(wordsOf(notice.terms), alike);
  }
  const parts = [...texts.values()].map(({ terms, heads }) => `${heads.join('\n')}\n\n${terms}\n`);
  return parts.join(`\n${'-'.repeat(72)}\n\n`);
}

function ownNotice() {
  return { name: OWN, ...split(readFileSync(new URL('LICENSE', ROOT), 'utf8')) };
}

function noticeOf(name) {
  const folder = new URL(`node_modules/${name}/`, ROOT);
  const file = readdirSync(folder).find((one) => /^licen[sc]e(?:[.-]|$)/i.test(one));
  const { version, license } = JSON.parse(readFileSync(new URL('package.json', folder), 'utf8'));
  const text =
    file === undefined ? fromReadme(folder) : readFileSync(new URL(file, folder), 'utf8');
  if (text === undefined) throw new Error(`${name} has no licence text, so it may not be bundled.`);
  return { name: `${name} ${version} (${license})`, ...split(text) };
}

/** Some packages have their licence at the end of their README. */
function fromReadme(folder) {
  const readme = readFileSync(new URL('README.md', folder), 'utf8');
  return /^#* ?LICENSE\b.*\n([\s\S]*)/m.exec(readme)?.[1];
}

/** Separates the copyright lines from the terms; the names of common licences are in neither. */
function split(text) {
  const lines = text.trim().split(/\r?\n/);
  const isCopyright = (line) => /^\s*Copyright (?:\(c\)|\d{4}|[A-Z][a-z])/.test(line);
  const isTitle = (line) =>
    /^[\s#(]*(?:the )?(?:MIT|ISC|BSD 3-Clause)\b.{0,20}licen[sc]e\b.{0,20}$/i.test(line) ||
    /^-+$/.test(line) ||
    /^This software is licensed under the MIT License\.$/.test(line);
  const terms = lines
    .filter((line) => !isCopyright(line) && !isTitle(line))
    .map((line) => line.trim());
  return {
    copyright: lines.filter(isCopyright).map((line) => line.trim()),
    terms: terms
      .join('\n')
      .replace(/\n{3,}/g, '\n\n')
      .trim(),
  };
}

function wordsOf(terms) {
  return terms.toLowerCase().replace(/[^a-z]+/g, ' ');
}
