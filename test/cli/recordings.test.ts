// A recording that a user adds to a patch, as the commands read it: beside the patch, never written over, and part of
// what decides the render.

import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { KNOCK } from '../knock.ts';
import { forehear, scratch } from './run.ts';

const WAV = Buffer.from(KNOCK.slice(KNOCK.indexOf(',') + 1), 'base64');
/** Where its samples begin: after the 44 bytes of a plain header. */
const FIRST_SAMPLE = 44;
const PATCH = `modules:
  drums: { kind: rhythm, channels: [knock], patterns: { beat: { knock: "x-x-" } } }
  knock: { kind: recording, file: sounds/knock.wav }
  out:   { kind: output }
cables: [drums.knock -> knock.trigger, knock.out -> out.left]
`;

/** A folder with the patch in a folder of its own, and its recording. */
function folder(): { readonly cwd: string; readonly sound: string } {
  const cwd = scratch();
  mkdirSync(join(cwd, 'kit/sounds'), { recursive: true });
  writeFileSync(join(cwd, 'kit/kit.yaml'), PATCH);
  const sound = join(cwd, 'kit/sounds/knock.wav');
  writeFileSync(sound, WAV);
  return { cwd, sound };
}

describe('a recording beside a patch', () => {
  it('is heard from whatever folder the patch is named, and decides the render', () => {
    const { cwd, sound } = folder();
    const render = (from: string, patch: string): Buffer => {
      const { status, stderr } = forehear(join(cwd, from), ['render', patch, '-o', 'a.wav']);
      expect(stderr).not.toContain('error');
      expect(status).toBe(0);
      return readFileSync(join(cwd, from, 'a.wav'));
    };
    const whole = render('kit', 'kit.yaml');
    expect(render('', 'kit/kit.yaml').equals(whole)).toBe(true);
    const changed = Buffer.from(WAV);
    changed[FIRST_SAMPLE + 10] = 255;
    writeFileSync(sound, changed);
    expect(render('kit', 'kit.yaml').equals(whole)).toBe(false);
    writeFileSync(sound, WAV);
    expect(render('kit', 'kit.yaml').equals(whole)).toBe(true);
  });

  it('is never written over', () => {
    const { cwd, sound } = folder();
    const { status, stderr } = forehear(cwd, ['render', 'kit/kit.yaml', '-o', sound]);
    expect(status).toBe(2);
    expect(stderr).toContain('knock.wav');
    expect(readFileSync(sound).equals(WAV)).toBe(true);
  });

  it('that is none is told at its name, by every way of reading it', () => {
    const { cwd, sound } = folder();
    writeFileSync(sound, WAV.subarray(0, 60));
    for (const command of ['render', 'check', 'volts', 'timing', 'sheet', 'lesson']) {
      const { status, stdout } = forehear(cwd, [command, 'kit/kit.yaml', '--json']);
      expect(status).toBe(2);
      const { errors } = JSON.parse(stdout);
      expect(errors).toMatchObject([
        { code: 'recording', file: 'kit/kit.yaml', line: 3, column: 35 },
      ]);
      expect(errors[0].message).toContain('it is cut short');
    }
  });

  it('is set, and varied, like any other setting', () => {
    const { cwd } = folder();
    const lower = Buffer.from(WAV);
    lower.writeUInt32LE(4000, 24);
    lower.writeUInt32LE(4000, 28);
    writeFileSync(join(cwd, 'kit/lower.wav'), lower);
    const set = forehear(cwd, ['render', 'kit/kit.yaml', '--set', 'knock.file=lower.wav']);
    expect(set.stderr).not.toContain('problem');
    expect(set.status).toBe(0);
    const vary = 'knock.file=sounds/knock.wav,lower.wav';
    const { status, stdout } = forehear(cwd, ['compare', 'kit/kit.yaml', '--vary', vary, '--json']);
    expect(status).toBe(0);
    const { variants } = JSON.parse(stdout);
    expect(variants).toHaveLength(2);
  });
});
