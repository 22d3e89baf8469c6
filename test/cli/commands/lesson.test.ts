// The lesson command, run as built.

import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { forehear, PATCHES, scratch } from '../run.ts';

const KIT = join(PATCHES, 'two-bar-kit.yaml');
const KICK = join(PATCHES, 'kick.yaml');

describe('forehear lesson', () => {
  it('writes the stages of a kit, one file with all of them, and a page', () => {
    const folder = scratch();
    const { status, stdout, stderr } = forehear(folder, [
      'lesson',
      KIT,
      '--bars',
      '1',
      '--rate',
      '24000',
      '--json',
    ]);
    expect({ status, stderr }).toEqual({ status: 0, stderr: '' });
    const data: {
      stages: { title: string; jack: string; file: string }[];
      joined: string;
      page: string;
      markdown: string;
    } = JSON.parse(stdout);
    for (const { file } of data.stages) expect(existsSync(join(folder, file)), file).toBe(true);
    expect(data.stages[0]).toMatchObject({
      title: 'The source alone: kick.body',
      jack: 'kick.body.sine',
      file: 'renders/two-bar-kit-lesson/01-source-kick-body-sine.wav',
    });
    expect(data.stages[data.stages.length - 1]).toMatchObject({
      title: 'In the mix',
      jack: 'out.left',
    });
    expect(readFileSync(join(folder, data.page), 'utf8')).toContain(
      '<h1>Two-bar kit, step by step',
    );
    expect(readFileSync(join(folder, data.markdown), 'utf8')).toMatch(
      /^# Two-bar kit, step by step/,
    );
    expect(readFileSync(join(folder, data.joined)).subarray(0, 4).toString()).toBe('RIFF');
  });

  it('prints what lies where, and the same bytes every time', () => {
    const folder = scratch();
    const { status, stdout } = forehear(folder, [
      'lesson',
      KICK,
      '-o',
      'a',
      '--bars',
      '1',
      '--rate',
      '24000',
    ]);
    expect(status).toBe(0);
    expect(stdout).toMatch(/^1 +The source alone: kick\.body +kick\.body\.sine +a\/01-/);
    forehear(folder, ['lesson', KICK, '-o', 'b', '--bars', '1', '--rate', '24000', '--quiet']);
    // The hidden list of them has their times.
    for (const name of readdirSync(join(folder, 'a')).filter((one) => !one.startsWith('.'))) {
      const [one, other] = ['a', 'b'].map((place) => readFileSync(join(folder, place, name)));
      expect(one?.equals(other as Buffer), name).toBe(true);
    }
  });

  it('refuses a patch that gives nothing to hear, with exit code 2', () => {
    const folder = scratch();
    writeFileSync(
      join(folder, 'mute.yaml'),
      'modules: { hiss: { kind: noise }, out: { kind: output } }\ncables: []\n',
    );
    const mute = forehear(folder, ['lesson', 'mute.yaml']);
    expect(mute.status).toBe(2);
    expect(mute.stderr).toMatch(/nothing reaches the output/);
    writeFileSync(join(folder, 'none.yaml'), 'modules: { hiss: { kind: noise } }\ncables: []\n');
    const none = forehear(folder, ['lesson', 'none.yaml']);
    expect(none.status).toBe(2);
    expect(none.stderr).toMatch(/no output module/);
    expect(forehear(folder, ['lesson', 'absent.yaml']).status).toBe(2);
  });
});
