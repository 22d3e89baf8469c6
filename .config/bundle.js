// Makes the bundles, the library's types and the licence notices, and prints nothing: a newcomer should
// see what `npm start` prints. The command is written in ASCII, which is read in half the time.
import { chmodSync, copyFileSync, readFileSync, writeFileSync } from 'node:fs';
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

copyFileSync(new URL('circuits.wasm', DIST), new URL('bin/circuits.wasm', DIST));
// `npx forehear` in a clone runs this very file, which npm makes executable only where it installs it.
chmodSync(new URL('bin/forehear.cjs', DIST), 0o755);

const command = new URL('bin/command.cjs', DIST);
const escaped = (character) => `\\u${character.charCodeAt(0).toString(16).padStart(4, '0')}`;
// Node modules that few commands need are loaded only by these: loading them takes as long as reading a hat's patch.
const late = /require\("(node:(?:crypto|readline|timers\/promises|worker_threads))"\)/g;
const whenUsed = (_, name) => `new Proxy({},{get:(_,k)=>require("${name}")[k]})`;
writeFileSync(
  command,
  readFileSync(command, 'utf8')
    .replace(/[^\0-\x7f]/g, escaped)
    .replace(late, whenUsed),
);

// Characters that no page should contain unescaped: controls, marks of direction, and codes that are not characters.
const unsafe = /(?![\t\n\r])\p{Cc}|[\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\uffff]/gu;
for (const name of ['interface.js', 'engine.js']) {
  const page = new URL(`page/${name}`, DIST);
  writeFileSync(page, readFileSync(page, 'utf8').replace(unsafe, escaped));
}

copyTypes(DIST, ['index.d.ts', 'node.d.ts'], new URL('lib/', DIST));

// A page is passed on by itself, so it has its own notices: the worksheet, and the pages with clips beside them.
const noticed = (all) => noticesOf(packagesIn(all.flatMap(({ chunks }) => chunks)));
writeFileSync(new URL('notices.txt', DIST), noticed(made));
const of = (...names) =>
  made.filter(({ chunks }) => chunks.some(({ fileName }) => names.includes(fileName)));
writeFileSync(new URL('page/notices.txt', DIST), noticed(of('interface.js', 'engine.js')));
writeFileSync(new URL('page/clips-notices.txt', DIST), noticed(of('comparison.js', 'lesson.js')));
