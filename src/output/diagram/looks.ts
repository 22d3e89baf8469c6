/** How wires look, in diagrams and in cable lists: no colour is needed to tell them apart. */

import type { Sort } from '../../electrical/sorts.ts';

interface Look {
  readonly words: string;
  readonly width: number;
  readonly dash?: string;
  /** Which of the charts' colours. */
  readonly series: number;
}

export const LOOKS: { readonly [S in Sort]: Look } = {
  audio: { words: 'sound', width: 2.4, series: 3 },
  control: { words: 'control volts', width: 1.5, dash: '7 3.5', series: 0 },
  gate: { words: 'gate, trigger or clock', width: 1.7, dash: '1.8 2.6', series: 1 },
};
