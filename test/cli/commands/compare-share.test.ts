// Shares of a comparison, run as built: joined they equal one run, and nothing else is joined.

import {
  appendFileSync,
  copyFileSync,
  cpSync,
  readdirSync,
  readFileSync,
  rmSync,
  truncateSync,
  writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { forehear, PATCHES, scratch } from '../run.ts';

const ARGS = ['compare', 'hat.yaml', '--vary', 'seed=a,b', '--seconds', '0.3', '--rate', '16000'];

function folderWithHat(): string {
  const folder = scratch();
  copyFileSync(join(PATCHES, 'closed-hat.yaml'), join(folder, 'hat.yaml'));
  return folder;
}

/** Runs each share of so many, and gives what was said. */
function shares(folder: string, of: number, args: readonly string[] = ARGS): string[] {
  return Array.from({ length: of }, (_, index) => {
    const run = forehear(folder, [
      ...args,
      '-o',
      'parts',
      '--jobs',
      '1',
      '--share',
      `${index + 1}/${of}`,
    ]);
    expect(run).toMatchObject({ status: 0, stderr: '' });
    return run.stdout;
  });
}

describe('compare --share and --join', () => {
  it.each([
    // Two variants: of three shares the last is idle.
    { more: ['--depth', '16'], of: 3, idle: /^0 variants of 2/ },
    // ... and with a recording three, of which the first has two.
    { more: ['real.wav', '--depth', '24'], of: 2, idle: /^1 variant of 3/ },
  ])('gives the names and bytes of one run: $more, in $of shares', ({ more, of, idle }) => {
    const folder = folderWithHat();
    const sound = ['render', 'hat.yaml', '--rate', '44100', '--seconds', '1', '-o', 'real.wav'];
    expect(forehear(folder, sound).status).toBe(0);
    const args = [...ARGS, ...more];
    const whole = forehear(folder, [...args, '--json', '-o', 'whole']);
    expect(shares(folder, of, args).at(-1)).toMatch(idle);
    const joined = forehear(folder, [...args, '--json', '-o', 'parts', '--join']);
    expect(joined.status).toBe(0);
    expect(JSON.parse(joined.stdout)).toEqual(
      JSON.parse(whole.stdout.replaceAll('whole/', 'parts/')),
    );
    for (const name of readdirSync(join(folder, 'whole')).filter((one) => !one.startsWith('.')))
      expect(readFileSync(join(folder, 'parts', name)), name).toEqual(
        readFileSync(join(folder, 'whole', name)),
      );
  });

  it('joins only whole shares of what is asked for', () => {
    const folder = folderWithHat();
    const asked = [...ARGS, '-o', 'parts', '--join'];
    expect(forehear(folder, asked)).toMatchObject({
      status: 2,
      stderr: expect.stringContaining('there is no share to join'),
    });
    shares(folder, 3);
    const wrong: readonly [args: readonly string[], message: RegExp][] = [
      [[...asked, '--rate', '44100'], /another patch, grid or length/],
      [[...asked, '--set', 'bright.cutoff=5kHz'], /another patch, grid or length/],
      [asked.map((one) => (one === 'seed=a,b' ? 'seed=a,c' : one)), /another patch, grid/],
    ];
    for (const [args, message] of wrong)
      expect(forehear(folder, args)).toMatchObject({
        status: 2,
        stderr: expect.stringMatching(message),
      });
    const hat = readFileSync(join(folder, 'hat.yaml'));
    appendFileSync(join(folder, 'hat.yaml'), '# a word\n');
    expect(forehear(folder, asked).stderr).toMatch(/another patch, grid or length/);
    writeFileSync(join(folder, 'hat.yaml'), hat);
    cpSync(join(folder, 'parts', 'share-1-of-3'), join(folder, 'parts', 'share-1-of-4'), {
      recursive: true,
    });
    expect(forehear(folder, asked).stderr).toMatch(/shares of 3 and of 4/);
    rmSync(join(folder, 'parts', 'share-1-of-4'), { recursive: true });
    rmSync(join(folder, 'parts', 'share-2-of-3'), { recursive: true });
    expect(forehear(folder, asked).stderr).toMatch(/one is missing: --share 2\/3/);
    // Nothing was joined by any of these.
    expect(readdirSync(join(folder, 'parts')).filter((one) => one.endsWith('.wav'))).toEqual([]);
  });

  it('joins no share that is not as it was made', () => {
    const folder = folderWithHat();
    const asked = [...ARGS, '-o', 'parts', '--join'];
    shares(folder, 2);
    const of = (number: number): string => join(folder, 'parts', `share-${number}-of-2`);
    const clipOf = (number: number): string =>
      join(of(number), readdirSync(of(number)).find((one) => one.endsWith('.wav')) as string);
    const list = join(of(1), 'share.json');
    const listText = readFileSync(list, 'utf8');
    const clip = readFileSync(clipOf(1));
    const damages: readonly [damage: () => void, message: RegExp][] = [
      // A copy that was cut off, samples of another share, a disk's wrong byte.
      [() => truncateSync(clipOf(1), 5000), /clip of the share is not as it was made/],
      [() => copyFileSync(clipOf(2), clipOf(1)), /clip of the share is not as it was made/],
      [
        () => writeFileSync(clipOf(1), clip.with(9000, (clip[9000] as number) ^ 1)),
        /clip of the share is not as it was made/,
      ],
      [() => rmSync(clipOf(1)), /clip of the share is missing/],
      [() => writeFileSync(list, listText.slice(0, -100)), /list of this share cannot be read/],
      [
        () => writeFileSync(list, listText.replace('"seconds"', '"second"')),
        /list of this share cannot be read/,
      ],
    ];
    const path = clipOf(1);
    for (const [damage, message] of damages) {
      damage();
      expect(forehear(folder, asked)).toMatchObject({
        status: 2,
        stderr: expect.stringMatching(message),
      });
      writeFileSync(path, clip);
      writeFileSync(list, listText);
    }
    expect(readdirSync(join(folder, 'parts')).filter((one) => one.endsWith('.wav'))).toEqual([]);
    expect(forehear(folder, asked).status).toBe(0);
  });

  it.each([
    [['--share', '9/8'], /counted from 1, such as 3\/8/],
    [['--share', '0/8'], /counted from 1/],
    [['--share', '3'], /counted from 1/],
    [['--share', '1/2', '--join'], /cannot be used with/],
    [['--share', '1/2', '--pairs'], /cannot be used with/],
    [['--join', '--moves'], /cannot be used with/],
  ])('refuses %j', (more, message) => {
    const folder = folderWithHat();
    const { status, stderr } = forehear(folder, [...ARGS, ...more]);
    expect(status).toBe(2);
    expect(stderr).toMatch(message);
    expect(readdirSync(folder)).toEqual(['hat.yaml']);
  });
});
