/** Hours of edges as a table: how many a second, and whether memory does not grow. */

import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';

export const title = '`timing --csv` of the closed hat, into nothing';

const BIN = new URL('../../dist/bin/forehear.cjs', import.meta.url).href;
const PATCH = fileURLToPath(new URL('../../patches/closed-hat.yaml', import.meta.url));
const MEBIBYTE = 1024 * 1024;
const ROUNDS = 5;
/** In ten hours: 13 800 bars of 9 strokes, 16 clocks and 2 accents, each up and down; run and start. */
const EDGES = 2 * 13_800 * (9 + 16 + 2) + 4;

export function run() {
  const [short, long] = [1, 10].map((hours) => best(3600 * hours));
  const start = best(1);
  return [
    { what: 'peak memory, 1 hour', value: short.memory, unit: 'MiB' },
    { what: 'peak memory, 10 hours : 1 hour', value: long.memory / short.memory, limit: 1.25 },
    {
      what: 'edges a second over ten hours, start apart',
      value: EDGES / (long.time - start.time),
      unit: 'million',
      limit: 1,
      atLeast: true,
    },
  ];
}

/** The least of several runs: processor time in us, and peak memory in MiB. */
function best(seconds) {
  const runs = Array.from({ length: ROUNDS }, () => measured(seconds));
  return {
    time: Math.min(...runs.map(({ time }) => time)),
    memory: Math.min(...runs.map(({ memory }) => memory)),
  };
}

function measured(seconds) {
  const script = `
    process.argv = [process.argv[0], 'forehear', 'timing', ${JSON.stringify(PATCH)}, '--csv',
      '--seconds', '${seconds}'];
    process.on('exit', () => {
      const { maxRSS, userCPUTime, systemCPUTime } = process.resourceUsage();
      console.error(JSON.stringify({ memory: maxRSS * 1024, time: userCPUTime + systemCPUTime }));
    });
    await import(${JSON.stringify(BIN)});`;
  const { stderr, status } = spawnSync(process.execPath, ['--input-type=module', '-e', script], {
    encoding: 'utf8',
    stdio: ['ignore', 'ignore', 'pipe'],
  });
  if (status !== 0) throw new Error(stderr);
  const { memory, time } = JSON.parse(stderr);
  return { memory: memory / MEBIBYTE, time };
}
