/** Memory and time of long renders. */

import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

export const title = 'Long renders: stereo, 24 bit, 48 kHz';

const BIN = new URL('../../dist/bin/forehear.cjs', import.meta.url).href;
const LIBRARY = new URL('../../dist/index.js', import.meta.url).href;
const PATCHES = new URL('./patches.mjs', import.meta.url).href;
const MEBIBYTE = 1024 * 1024;

const STEREO = `title: Stereo
modules:
  drums: { kind: rhythm, tempo: 92 bpm, channels: [hat], patterns: { groove: { hat: "x-x-X-x-" } } }
  hiss: { kind: noise }
  shape: { kind: envelope }
  level: { kind: amplifier }
  split: { kind: multiple, jacks: 3 }
  out: { kind: output }
cables:
  - drums.hat -> shape.trigger
  - shape.out -> level.control
  - hiss.white -> level.in
  - level.out -> split.in
  - split.out-1 -> out.left
  - split.out-2 -> out.right
`;

export function run() {
  const folder = mkdtempSync(join(tmpdir(), 'forehear-'));
  try {
    const patch = join(folder, 'stereo.yaml');
    writeFileSync(patch, STEREO);
    const base = measured(patch, folder, 1);
    const minute = measured(patch, folder, 360);
    const hour = measured(patch, folder, 3600);
    const [played, long] = [playedThrough(60), playedThrough(36_000)];
    return [
      { what: 'peak memory, 6 minutes', value: minute.memory, unit: 'MiB' },
      { what: 'peak memory, 1 hour', value: hour.memory, unit: 'MiB', limit: 200 },
      { what: 'peak memory, a minute played and not kept', value: played, unit: 'MiB' },
      { what: '... ten hours : a minute', value: long / played, limit: 1.2 },
      {
        what: 'time of an hour : ten times six minutes, start apart',
        value: (hour.time - base.time) / (10 * (minute.time - base.time)),
        limit: 1.15,
      },
    ];
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/** Renders in a process of its own, which tells its largest size and its time at its end. */
function measured(patch, folder, seconds) {
  const script = `
    process.argv = [process.argv[0], 'forehear', 'render', ${JSON.stringify(patch)}, '--quiet',
      '--seconds', '${seconds}', '-o', ${JSON.stringify(join(folder, 'long.wav'))}];
    process.on('exit', () => {
      const { maxRSS, userCPUTime, systemCPUTime } = process.resourceUsage();
      console.log(JSON.stringify({ memory: maxRSS * 1024, time: userCPUTime + systemCPUTime }));
    });
    await import(${JSON.stringify(BIN)});`;
  const { memory, time } = answer(script);
  return { memory: memory / MEBIBYTE, time };
}

/** Plays through the library, keeping nothing. @returns peak memory, MiB. */
function playedThrough(seconds) {
  const script = `
    import { Take } from ${JSON.stringify(LIBRARY)};
    import { checked } from ${JSON.stringify(PATCHES)};
    const take = new Take(checked(${JSON.stringify(STEREO)}), {
      sampleRate: 48_000,
      length: { unit: 'seconds', value: ${seconds} },
      tail: { unit: 'seconds', value: 0 },
    });
    while (take.read() > 0);
    console.log(process.resourceUsage().maxRSS * 1024);`;
  return answer(script) / MEBIBYTE;
}

/** What a script prints in a process of its own, as JSON. */
function answer(script) {
  const { stdout, stderr, status } = spawnSync(
    process.execPath,
    ['--input-type=module', '-e', script],
    { encoding: 'utf8' },
  );
  if (status !== 0) throw new Error(stderr);
  return JSON.parse(stdout);
}
