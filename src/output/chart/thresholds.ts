/** What the trigger inputs on a jack's net look for, as lines across a chart of its volts. */

import type { NetLevels } from '../../electrical/levels.ts';
import type { Netlist } from '../../electrical/nets.ts';
import type { JackRef } from '../../patch/patch.ts';

/** What fires a trigger input, and what makes it ready again. */
export interface Threshold {
  /** One input, or several that are alike with commas between. */
  readonly input: string;
  readonly type: 'voltage' | 'switch';
  /** V. */
  readonly on: number;
  readonly off: number;
}

/** Those of the trigger inputs on the jack's net, one of each that are alike. @param levels of all the nets. */
export function thresholdsAt(
  levels: readonly NetLevels[],
  nets: Netlist,
  jack: JackRef,
): readonly Threshold[] {
  const net = nets.at(jack);
  const found = new Map<string, Threshold>();
  for (const { terminal, trigger } of levels.find((one) => one.net === net)?.inputs ?? []) {
    if (trigger === undefined) continue;
    const { type, on, off } = trigger;
    const input = `${terminal.module.name}.${terminal.jack.name}`;
    const key = `${type} ${on} ${off}`;
    const alike = found.get(key);
    found.set(key, {
      input: alike === undefined ? input : `${alike.input}, ${input}`,
      type,
      on,
      off,
    });
  }
  return [...found.values()];
}

/** Both levels of a threshold, each with the words that name it. */
export function thresholdLevels({
  type,
  on,
  off,
}: Threshold): readonly { readonly words: string; readonly volts: number }[] {
  const [fires, ready] = type === 'voltage' ? ['above', 'below'] : ['below', 'above'];
  return [
    { words: `fires ${fires} ${volt(on)}`, volts: on },
    { words: `ready ${ready} ${volt(off)}`, volts: off },
  ];
}

/** Volts to three digits. */
export function volt(volts: number): string {
  return `${Number(volts.toPrecision(3))} V`.replace('-', '\u2212');
}
