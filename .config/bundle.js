// Makes the bundles without a word: a newcomer should see what `npm start` prints.
import { build } from 'rolldown';
import bundles from './rolldown.config.js';

for (const bundle of bundles) await build({ ...bundle, logLevel: 'silent' });
