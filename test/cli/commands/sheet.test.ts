// `forehear sheet` as a person runs it.

import { existsSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { forehear, PATCHES, scratch } from '../run.ts';

const HAT = join(PATCHES, 'closed-hat.yaml');
const RACK = join(PATCHES, 'racks/teaching-cabinet.yaml');

describe('forehear sheet', () => {
  it('writes one page to renders/NAME.html, the same each time', () => {
    const cwd = scratch();
    const first = forehear(cwd, ['sheet', HAT, '--bars', '1']);
    expect(first).toMatchObject({ status: 0, stdout: 'renders/closed-hat.html\n', stderr: '' });
    const page = readFileSync(join(cwd, 'renders/closed-hat.html'), 'utf8');
    expect(page).toContain('<h1 data-part="title">Closed hat, first idea</h1>');
    expect(page).toContain('src="data:audio/wav;base64,');
    expect(forehear(cwd, ['sheet', HAT, '--bars', '1', '-o', 'again.html']).status).toBe(0);
    expect(readFileSync(join(cwd, 'again.html'), 'utf8')).toBe(page);
  });

  it('leaves the clip out with --no-clip', () => {
    const cwd = scratch();
    const ended = forehear(cwd, [
      'sheet',
      HAT,
      '--seconds',
      '0.5',
      '--no-clip',
      '-o',
      'a/b/hat.html',
    ]);
    expect(ended.status).toBe(0);
    const path = join(cwd, 'a/b/hat.html');
    expect(readFileSync(path, 'utf8')).not.toContain('<audio');
    expect(statSync(path).size).toBeLessThan(2e6);
  });

  it('writes Markdown with --md, and dials with --rack', () => {
    const cwd = scratch();
    const args = ['sheet', HAT, '--md', '--seconds', '0.5', '--rack', RACK];
    expect(forehear(cwd, args)).toMatchObject({ status: 0, stdout: 'renders/closed-hat.md\n' });
    const text = readFileSync(join(cwd, 'renders/closed-hat.md'), 'utf8');
    expect(text).toMatch(/^# Closed hat, first idea\n/);
    // 8 + 2 ln(7 / 4.6) / ln(18 / 4.6) between the rack's points at 8 and 10: 8.6.
    expect(text).toContain('cutoff **7 kHz** (dial 8.6)');
  });

  it('takes --set, and gives JSON and nothing else', () => {
    const cwd = scratch();
    const args = [
      'sheet',
      HAT,
      '--md',
      '--seconds',
      '0.5',
      '--set',
      'bright.cutoff=5kHz',
      '--json',
    ];
    const { status, stdout, stderr } = forehear(cwd, args);
    expect([status, stderr]).toEqual([0, '']);
    expect(JSON.parse(stdout)).toEqual({ file: 'renders/closed-hat.md' });
    expect(readFileSync(join(cwd, 'renders/closed-hat.md'), 'utf8')).toContain('cutoff **5kHz**');
  });

  it('is quiet with --quiet, and reads standard input', () => {
    const cwd = scratch();
    const args = ['sheet', '-', '--quiet', '--seconds', '0.5'];
    const ended = forehear(cwd, args, readFileSync(HAT));
    expect(ended).toEqual({ status: 0, stdout: '', stderr: '' });
    expect(existsSync(join(cwd, 'renders/stdin.html'))).toBe(true);
  });

  it('says that a patch without an output has no sound', () => {
    const cwd = scratch();
    const text = 'modules: { hiss: { kind: noise } }\ncables: []\n';
    const { status, stderr } = forehear(cwd, ['sheet', '-', '-o', 'x.html'], text);
    expect(status).toBe(0);
    expect(stderr).toContain('without its sound');
  });

  it.each([
    [['--seconds', '200'], 'from 1 ms to 180 s'],
    [['--bars', '1000'], '--bars 1000: that is more than the 180 s'],
    [['--bars', '1', '--seconds', '1'], 'cannot be used with'],
    [['-o', 'taken/x.html'], 'this is a file'],
    [['-o', '.'], 'it is a folder'],
  ])('refuses %j', (more, message) => {
    const cwd = scratch();
    writeFileSync(join(cwd, 'taken'), 'mine');
    const { status, stderr } = forehear(cwd, ['sheet', HAT, ...more]);
    expect(status).toBe(2);
    expect(stderr).toContain(message);
    expect(readFileSync(join(cwd, 'taken'), 'utf8')).toBe('mine');
  });
});
