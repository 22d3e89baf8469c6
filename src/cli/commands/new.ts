/** `forehear new`: writes a starter patch that renders. */

import { basename, extname } from 'node:path';
import type { Command } from 'commander';
import { ChangedError } from '../../files/output-error.ts';
import { writeWhole } from '../../files/whole-file.ts';
import { jsonText } from '../../text/printable.ts';
import { wrongFile, wrongRequest } from '../exit.ts';
import { jsonOption, quietOption } from '../options.ts';
import { shellWord } from '../shell-word.ts';
import { say, sayJson } from '../standard-output.ts';

export function register(program: Command): void {
  program
    .command('new')
    .argument('<name>', 'name of the patch, with or without .yaml')
    .summary('write a starter patch')
    .description('Write a starter patch that renders, to be changed into your own.')
    .addOption(jsonOption())
    .addOption(quietOption())
    .addHelpText('after', '\nExamples:\n  forehear new my-hat\n  forehear new patches/my-hat.yaml')
    .action((name: string, { json, quiet }: { json?: true; quiet?: true }) => {
      if (name === '-')
        throw wrongRequest('new -: the patch needs the name of a file to be changed in.');
      if (/^(\.+|\.ya?ml|)$/.test(basename(name)) || /[/\\]$/.test(name))
        throw wrongRequest(`new "${name}": the name of the patch is missing, such as my-hat.`);
      const file = /^\.ya?ml$/.test(extname(name)) ? name : `${name}.yaml`;
      write(file, starter(basename(file, extname(file))));
      if (json) sayJson({ file });
      else if (!quiet) say(`${file}\nHear it with: forehear render ${shellWord(file)}`);
    });
}

function write(file: string, text: string): void {
  try {
    writeWhole(file, new TextEncoder().encode(text), { isNew: true });
  } catch (error) {
    if (!(error instanceof ChangedError)) throw error;
    throw wrongFile(file, 'this file exists; it was left alone. Choose another name.');
  }
}

function starter(name: string): string {
  // Quoted by JSON, which is YAML too, so that any name is a safe title.
  return `title: ${jsonText(name)}
about: A closed hat to change into your own.

modules:
  # What is played: x a hit, X an accent, g a ghost, - a rest, f a flam, 2 to 8 that many strokes, ? perhaps.
  drums:
    kind: rhythm
    tempo: 100 bpm
    channels: [hat]
    patterns:
      groove: { hat: "x-x- X-x- x-xx X-x?" }
    song: [groove, groove]
  # The sound: noise, of which one filter keeps the top and the other takes the very top away.
  hiss: { kind: noise, level: 2.1 V }
  bright: { kind: filter, cutoff: 7 kHz, q: 2 }
  soft: { kind: filter, cutoff: 9.5 kHz, q: 1.5 }
  # Its shape: open while the gate lasts, 8 ms, then the release. Make that longer for an open hat.
  shape: { kind: envelope, attack: 0.4 ms, sustain: 100 %, release: 100 ms }
  level: { kind: amplifier }
  # An accent is 0 V or 5 V. Here it becomes 3.1 V or 5 V, and at 5 V an amplifier is fully open.
  accent: { kind: attenuator, level: 38 %, offset: 3.1 V }
  touch: { kind: amplifier }
  out: { kind: output }

cables:
  - drums.hat        -> shape.trigger
  - shape.out        -> level.control
  - hiss.white       -> bright.in
  - bright.high      -> soft.in
  - soft.low         -> level.in
  - level.out        -> touch.in
  - drums.hat-accent -> accent.in
  - accent.out       -> touch.control
  - touch.out        -> out.left
`;
}
