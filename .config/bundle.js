// Makes the bundles without a word: a newcomer should see what `npm start` prints. The command's is
// written in ASCII, which is read in half the time.
import { readFileSync, writeFileSync } from 'node:fs';
import { build } from 'rolldown';
import bundles from './rolldown.config.js';

for (const bundle of bundles) await build({ ...bundle, logLevel: 'silent' });

const command = new URL('../dist/bin/command.cjs', import.meta.url);
const escaped = (character) => `\\u${character.charCodeAt(0).toString(16).padStart(4, '0')}`;
writeFileSync(command, readFileSync(command, 'utf8').replace(/[^\0-\x7f]/g, escaped));
