#!/usr/bin/env node
/** Where the command starts: a Node that is too old gets one line of error, any other runs the command. */

const [major = 0, minor = 0] = process.versions.node.split('.').map(Number);
const isSupported = (major === 20 && minor >= 19) || (major === 22 && minor >= 12) || major > 22;

if (isSupported) void import('./start.ts');
else {
  console.error(
    `Forehear needs Node.js 20.19 or newer of version 20, or 22.12 or newer, and this is ${process.versions.node}.`,
  );
  process.exitCode = 2;
}

// Makes this file a module, though it has no static imports.
export {};
