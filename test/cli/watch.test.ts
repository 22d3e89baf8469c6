// `forehear render --watch` as a person runs it.

import { type ChildProcess, spawn } from 'node:child_process';
import {
  closeSync,
  cpSync,
  existsSync,
  openSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  writeFileSync,
  writeSync,
} from 'node:fs';
import { join } from 'node:path';
import { afterEach, describe, expect, it, vi } from 'vitest';
import { PatchWatch, type Seen } from '../../src/cli/watch.ts';
import { KNOCK } from '../knock.ts';
import { BIN, endAll, forehear, PATCHES, scratch } from './run.ts';

const children: ChildProcess[] = [];
afterEach(() => endAll(children));

/** A command whose words can be waited for. */
class Running {
  stdout = '';
  stderr = '';
  readonly ended: Promise<number | null>;
  private readonly child: ChildProcess;
  private wake = (): void => {};

  constructor(cwd: string, args: readonly string[]) {
    const child = spawn(process.execPath, [BIN, ...args], { cwd });
    this.child = child;
    children.push(child);
    child.stdout.on('data', (piece) => {
      this.stdout += piece;
      this.wake();
    });
    child.stderr.on('data', (piece) => {
      this.stderr += piece;
      this.wake();
    });
    this.ended = new Promise((resolve) => child.on('close', resolve));
  }

  /** Waits until what was said is as wanted; the test's own limit ends it. */
  async until(wanted: () => boolean): Promise<void> {
    while (!wanted())
      await new Promise<void>((resolve) => {
        this.wake = resolve;
      });
  }

  stop(): Promise<number | null> {
    this.child.kill('SIGINT');
    return this.ended;
  }
}

function folder(): string {
  const cwd = scratch();
  for (const name of ['two-bar-kit.yaml', 'closed-hat.yaml', 'parts'])
    cpSync(join(PATCHES, name), join(cwd, name), { recursive: true });
  return cwd;
}

const QUICK = ['--seconds', '0.2', '--json', '--watch'];

function count(text: string): number {
  return text.split('\n').length - 1;
}

describe('forehear render --watch', () => {
  it('renders at once and at every change, an object a line, and ends well with Ctrl-C', async () => {
    const cwd = folder();
    const file = join(cwd, 'closed-hat.yaml');
    const wav = join(cwd, 'renders/closed-hat.wav');
    const running = new Running(cwd, ['render', 'closed-hat.yaml', ...QUICK]);
    await running.until(() => count(running.stdout) >= 1);
    const first = readFileSync(wav);

    const text = readFileSync(file, 'utf8').replace('seed: workshop', 'seed: other');
    writeFileSync(`${file}.new`, text);
    renameSync(`${file}.new`, file);
    await running.until(() => count(running.stdout) >= 2);
    expect(readFileSync(wav).equals(first)).toBe(false);

    expect(await running.stop()).toBe(0);
    expect(running.stderr).toBe('');
    const lines = running.stdout.trim().split('\n');
    for (const line of lines)
      expect(JSON.parse(line)).toMatchObject({ seconds: 0.2, files: [{ kind: 'mix' }] });
    // The same as without watching.
    const { status } = forehear(cwd, [
      'render',
      'closed-hat.yaml',
      '--seconds',
      '0.2',
      '-o',
      'b.wav',
    ]);
    expect(status).toBe(0);
    expect(readFileSync(join(cwd, 'b.wav')).equals(readFileSync(wav))).toBe(true);
  });

  it('outlives faults and absence, telling them, and leaves the last clip', async () => {
    const cwd = folder();
    const file = join(cwd, 'closed-hat.yaml');
    const text = readFileSync(file, 'utf8');
    writeFileSync(file, text.replace('kind: noise', 'kind: nois'));
    const running = new Running(cwd, ['render', 'closed-hat.yaml', ...QUICK]);
    await running.until(() => running.stderr.includes('did you mean noise?'));
    writeFileSync(file, text);
    await running.until(() => count(running.stdout) >= 1);
    rmSync(file);
    await running.until(() => running.stderr.includes('there is no such file'));
    writeFileSync(file, text.replace('seed: workshop', 'seed: other'));
    await running.until(() => count(running.stdout) >= 2);
    expect(await running.stop()).toBe(0);
  });

  it('follows a recording, and tells what is wrong with it until it is whole', async () => {
    const cwd = scratch();
    const wav = Buffer.from(KNOCK.slice(KNOCK.indexOf(',') + 1), 'base64');
    const sound = join(cwd, 'knock.wav');
    writeFileSync(sound, wav);
    writeFileSync(
      join(cwd, 'knock.yaml'),
      `modules:
  drums: { kind: rhythm, channels: [hit], patterns: { beat: { hit: "x---" } } }
  knock: { kind: recording, file: knock.wav }
  out:   { kind: output }
cables: [drums.hit -> knock.trigger, knock.out -> out.left]
`,
    );
    const running = new Running(cwd, ['render', 'knock.yaml', ...QUICK]);
    await running.until(() => count(running.stdout) >= 1);
    const clip = join(cwd, 'renders/knock.wav');
    const first = readFileSync(clip);
    writeFileSync(sound, wav.subarray(0, 70));
    await running.until(() => running.stderr.includes('it is cut short'));
    expect(readFileSync(clip).equals(first)).toBe(true);
    writeFileSync(
      sound,
      wav.map((byte, n) => (n === 50 ? 200 : byte)),
    );
    // What was wrong has a line of its own.
    await running.until(() => running.stdout.split('"kind":"mix"').length > 2);
    expect(readFileSync(clip).equals(first)).toBe(false);
    expect(await running.stop()).toBe(0);
  });

  it('follows parts and the rack', async () => {
    const cwd = folder();
    cpSync(join(PATCHES, 'racks/teaching-cabinet.yaml'), join(cwd, 'mine.yaml'));
    const args = ['render', 'two-bar-kit.yaml', '--rack', 'mine.yaml', ...QUICK];
    const running = new Running(cwd, args);
    await running.until(() => count(running.stdout) >= 1);
    for (const [index, name] of ['parts/kick.yaml', 'mine.yaml'].entries()) {
      const path = join(cwd, name);
      writeFileSync(path, `${readFileSync(path, 'utf8')}\n# a remark\n`);
      await running.until(() => count(running.stdout) >= index + 2);
    }
    expect(await running.stop()).toBe(0);
  });

  it('waits for a file that an editor has emptied and will write', async () => {
    const cwd = folder();
    const file = join(cwd, 'closed-hat.yaml');
    const text = readFileSync(file, 'utf8');
    const seen: Seen[] = [];
    vi.useFakeTimers({ toFake: ['setInterval', 'clearInterval', 'performance'] });
    const watch = new PatchWatch(file, { set: [], onChange: (now) => seen.push(now) });
    try {
      const write = openSync(file, 'w');
      // Time for several looks at the file.
      vi.advanceTimersByTime(400);
      expect(seen).toEqual([]);
      writeSync(write, text.replace('seed: workshop', 'seed: other'));
      closeSync(write);
      vi.advanceTimersByTime(400);
      expect(seen).toHaveLength(1);
      expect(seen[0]).toMatchObject({ patch: { seed: 'other' } });
      // One that stays empty is told.
      writeFileSync(file, '');
      vi.advanceTimersByTime(2000);
      expect(seen).toHaveLength(2);
      expect(seen[1]).toHaveProperty('problems.0');
    } finally {
      watch.close();
      vi.useRealTimers();
    }
  });

  it('gives up a render that a change has made needless', async () => {
    const cwd = folder();
    const file = join(cwd, 'closed-hat.yaml');
    // A day of sound takes longer than this test.
    const long = new Running(cwd, ['render', 'closed-hat.yaml', '--seconds', '86400', '--watch']);
    // It has begun once there is an unfinished file.
    const clips = join(cwd, 'renders');
    await expect.poll(() => existsSync(clips) && readdirSync(clips).length > 0).toBe(true);
    writeFileSync(file, 'modules: {');
    await long.until(() => long.stderr !== '');
    expect(long.stderr).toContain('closed-hat.yaml:1:');
    expect(await long.stop()).toBe(0);
    expect(long.stdout).toBe('');
  });

  it('needs a file, and one that is there', () => {
    const cwd = folder();
    expect(forehear(cwd, ['render', '-', '--watch'])).toMatchObject({
      status: 2,
      stderr: '--watch: standard input does not change. Give a file.\n',
    });
    expect(forehear(cwd, ['render', 'none.yaml', '--watch']).status).toBe(2);
  });
});
