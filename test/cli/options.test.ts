// Every option of every command that takes a quantity, by the word that the help has for its value: which
// spellings it takes. The units are those of a patch (SI, and dB, % and bpm); the numbers are worked out by hand.

import { Command } from 'commander';
import { describe, expect, it } from 'vitest';
import { COMMANDS } from '../../src/cli/commands.ts';
import { close } from '../close.ts';

/** By the word for a value: one value in the spellings that all take, and what it is in the option's own unit. */
const SPELLINGS: Readonly<Record<string, readonly [value: number, ...spellings: string[]]>> = {
  hertz: [44_100, '44100', '44100 Hz', '44100Hz', '44.1 kHz', '44.1kHz', '44.1k', '4.41e4'],
  time: [0.5, '0.5', '.5', '0.5 s', '0.5s', '500 ms', '500ms', '500m', '5e2 ms'],
  volts: [5.1, '5.1', '5.1 V', '5.1V', '5100 mV', '5100m'],
  percent: [0.5, '50', '50 %', '50%', '50.0 %'],
  bpm: [92.5, '92.5', '92.5 bpm', '92.5bpm'],
  factor: [1.02, '1.02', '1.020'],
};
/** What none of them takes. */
const REFUSED = ['', 'x', '1 apple', '1,5', '-1', '1e999', '0x10', 'NaN'];

const program = new Command();
for (const load of Object.values(COMMANDS)) (await load()).register(program);
const quantities = program.commands.flatMap((command) =>
  command.options.flatMap((option) => {
    const word = /[<[](.*)[>\]]/.exec(option.flags)?.[1] ?? '';
    const spelled = SPELLINGS[word];
    const read = (text: string): unknown => option.parseArg?.(text, undefined);
    return spelled === undefined
      ? []
      : [[command.name(), option.long ?? '', spelled, read] as const];
  }),
);

describe('an option that takes a quantity', () => {
  it('is one of many', () => {
    expect(quantities.length).toBeGreaterThan(15);
    expect(new Set(quantities.map(([, name]) => name)).size).toBeGreaterThan(7);
  });

  it.each(quantities)('takes the spellings of a patch, and a number alone: %s %s', (...of) => {
    const [, , [value, ...spellings], read] = of;
    for (const text of spellings)
      close(read(text) as number, value, { rel: 1e-12, unit: text, why: 'rounding of a product' });
    for (const text of REFUSED) expect(() => read(text), text).toThrow(/was expected/);
  });

  it.each(quantities.filter(([, , , read]) => isTime(read)))('takes minutes: %s %s', (...of) => {
    const [, , , read] = of;
    expect(['1min', '2 min', '0.05 h'].map(read)).toEqual([60, 120, 180]);
  });
});

function isTime(read: (text: string) => unknown): boolean {
  try {
    return read('500ms') === 0.5;
  } catch {
    return false;
  }
}
