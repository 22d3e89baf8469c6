// Loaded into a command's process ahead of it (`node --import`): sends the process a signal just before or
// just after one of its calls that change files, where a kill by the clock would hit once in a thousand times.
// Moment 2k is before call k, moment 2k + 1 after it. Signals to oneself arrive before the call returns.
// Variables: MOMENT and SIGNAL; or MOMENTS, a file to write the names of the calls to.

import fs from 'node:fs';
import { syncBuiltinESMExports } from 'node:module';
import { isMainThread } from 'node:worker_threads';

const CHANGING = [
  ...[
    'openSync',
    'writeSync',
    'writeFileSync',
    'mkdirSync',
    'mkdtempSync',
    'renameSync',
    'linkSync',
  ],
  ...['copyFileSync', 'rmSync', 'rmdirSync', 'chmodSync', 'utimesSync', 'ftruncateSync'],
];
const { MOMENT, MOMENTS, SIGNAL } = process.env;
const wanted = Number(MOMENT ?? -1);
const calls = [];
let moment = 0;
let isInside = false;

const isReading = (name, flags) => name === 'openSync' && !/^[wa]|\+/.test(String(flags ?? 'r'));

function pass() {
  if (moment++ === wanted) process.kill(process.pid, SIGNAL);
}

function watched(name, call) {
  return (...args) => {
    // Some of them call others of them.
    if (isInside || isReading(name, args[1])) return call(...args);
    isInside = true;
    try {
      pass();
      const result = call(...args);
      calls.push(name);
      pass();
      return result;
    } finally {
      isInside = false;
    }
  };
}

if (isMainThread) {
  const { writeFileSync } = fs;
  for (const name of CHANGING) fs[name] = watched(name, fs[name]);
  syncBuiltinESMExports();
  if (MOMENTS !== undefined)
    process.on('exit', () => writeFileSync(MOMENTS, JSON.stringify(calls)));
}
