// Makes the bundles, the library's types and the notices of what is in them, without a word: a newcomer
// should see what `npm start` prints. The command is written in ASCII, which is read in half the time.
import { readFileSync, writeFileSync } from 'node:fs';
import { build } from 'rolldown';
import { copyTypes } from './library-types.js';
import { noticesOf, packagesIn } from './notices.js';
import bundles from './rolldown.config.js';

const DIST = new URL('../dist/', import.meta.url);

const made = [];
for (const bundle of bundles) {
  const { output } = await build({ ...bundle, logLevel: 'silent' });
  made.push({ chunks: output });
}

const command = new URL('bin/command.cjs', DIST);
const escaped = (character) => `\\u${character.charCodeAt(0).toString(16).padStart(4, '0')}`;
// What few commands need of Node is loaded by those that do: it takes as long as the patch of a hat to read.
const late = /require\("(node:(?:crypto|readline|timers\/promises|worker_threads))"\)/g;
const whenUsed = (_, name) => `new Proxy({},{get:(_,k)=>require("${name}")[k]})`;
writeFileSync(
  command,
  readFileSync(command, 'utf8')
    .replace(/[^\0-\x7f]/g, escaped)
    .replace(late, whenUsed),
);

// What no page should hold as it is: controls, marks of direction, and what is no character.
const unsafe = /(?![\t\n\r])\p{Cc}|[\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\uffff]/gu;
for (const name of ['interface.js', 'engine.js']) {
  const page = new URL(`page/${name}`, DIST);
  writeFileSync(page, readFileSync(page, 'utf8').replace(unsafe, escaped));
}

copyTypes(DIST, ['index.d.ts', 'node.d.ts'], new URL('lib/', DIST));

// A page goes on alone, so it has notices of its own: the worksheet, and those with clips beside them.
const noticed = (all) => noticesOf(packagesIn(all.flatMap(({ chunks }) => chunks)));
writeFileSync(new URL('notices.txt', DIST), noticed(made));
const of = (...names) =>
  made.filter(({ chunks }) => chunks.some(({ fileName }) => names.includes(fileName)));
writeFileSync(new URL('page/notices.txt', DIST), noticed(of('interface.js', 'engine.js')));
writeFileSync(new URL('page/clips-notices.txt', DIST), noticed(of('comparison.js', 'lesson.js')));
