// The parts that `npm test` and `npm run test:core` run: every test file in one, and the core without
// a browser or a command, however indirectly a file imports them.

import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { ALONE, FIRST, LONG, PARTS, testFiles, testParts } from '../.config/test-parts.ts';

const ROOT = fileURLToPath(new URL('..', import.meta.url));

describe('the parts of the tests', () => {
  const parts = testParts(ROOT);

  it('hold every test file once', () => {
    expect(PARTS.flatMap((part) => parts[part]).sort()).toEqual(testFiles(ROOT));
  });

  it('have in them what they are for', () => {
    const { core, long, commands, pages, spying, alone } = parts;
    expect(core).toContain('test/modules/filter.test.ts');
    expect(core).toContain('test/parts.test.ts');
    expect(commands).toContain('test/cli/commands/render.test.ts');
    expect(commands).toContain('test/package.test.ts');
    expect(pages).toContain('test/page/controls.test.ts');
    expect(long).toContain('test/patch/fuzz.test.ts');
    expect(spying).toContain('test/engine/prepared.test.ts');
    expect(alone).toEqual(['test/page/long-song.test.ts', 'test/page/play.test.ts']);
  });

  it('name no file that is gone, or that is elsewhere for what it reaches', () => {
    const { long, alone } = parts;
    expect(long).toEqual([...LONG].sort());
    expect(alone).toEqual([...ALONE].sort());
    expect(testFiles(ROOT)).toEqual(expect.arrayContaining([...FIRST]));
  });

  it('tell a file by what it reaches, at any remove, whatever it is called', () => {
    const root = mkdtempSync(join(tmpdir(), 'forehear-parts-'));
    const write = (name: string, text: string): void => {
      mkdirSync(dirname(join(root, name)), { recursive: true });
      writeFileSync(join(root, name), text);
    };
    try {
      // Written in halves, since this file is itself sorted by such words.
      const command = ['node:child', 'process'].join('_');
      const browser = ['playwright', 'core'].join('-');
      write('src/open.ts', `const { spawn } = await import('${command}');`);
      write('test/run.ts', `import {\n  spawnSync,\n} from '${command}';`);
      write('test/near.ts', "export { forehear } from './run.ts';");
      write('test/browser.ts', `import './run.ts';\nimport { chromium } from '${browser}';`);
      write('test/plain.test.ts', "import { expect } from 'vitest';\nimport './circle.test.ts';");
      write('test/circle.test.ts', "import './plain.test.ts';\nimport './gone.ts';");
      write('test/typed.test.ts', `import type { Browser } from '${browser}';`);
      write(
        'test/spies.test.ts',
        "import { vi } from 'vitest';\nvi.mock('./near.ts', { spy: true });",
      );
      write('test/patch/far.test.ts', "import { forehear } from '../near.ts';");
      write('test/patch/opens.test.ts', "import { open } from '../../src/open.ts';");
      write('test/patch/seen.test.ts', "import { visit } from '../browser.ts';");
      write('test/page/play.test.ts', "import { visit } from '../browser.ts';");
      expect(testParts(root)).toEqual({
        core: ['test/circle.test.ts', 'test/plain.test.ts', 'test/typed.test.ts'],
        long: [],
        commands: ['test/patch/far.test.ts', 'test/patch/opens.test.ts'],
        pages: ['test/patch/seen.test.ts'],
        spying: ['test/spies.test.ts'],
        alone: ['test/page/play.test.ts'],
      });
    } finally {
      rmSync(root, { recursive: true });
    }
  });
});
