// The last step of the build: writes the bundle in ASCII, which is read in half the time, runs the
// command once and keeps what V8 compiled meanwhile. See src/cli/forehear.ts.
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

const root = new URL('..', import.meta.url).pathname;
const bundle = join(root, 'dist/bin/command.cjs');
const escaped = (character) => `\\u${character.charCodeAt(0).toString(16).padStart(4, '0')}`;
writeFileSync(bundle, readFileSync(bundle, 'utf8').replace(/[^\0-\x7f]/g, escaped));

const folder = mkdtempSync(join(tmpdir(), 'forehear-build-'));
const kit = join(root, 'patches/two-bar-kit.yaml');
process.argv = [
  process.argv[0],
  'forehear',
  ...['render', kit, '--seconds', '1', '--quiet', '-o', join(folder, 'clip.wav')],
];
const { script } = createRequire(import.meta.url)('../dist/bin/forehear.cjs');
process.on('exit', () => {
  rmSync(folder, { recursive: true });
  writeFileSync(join(root, 'dist/bin/command.cache'), script.createCachedData());
});
