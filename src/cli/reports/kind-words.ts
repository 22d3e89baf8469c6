/** How two kinds of drum differ, in words. */

import { percentage } from '../../measure/doubt.ts';
import type { DrumKind, KindDifference, KindDistance } from '../../measure/likeness/drum-kind.ts';
import { formatBriefly } from '../../patch/units.ts';

/** A difference up to this, usual between two drums of one kind, is left out. */
const TOLD = 1;

const WORDS: { readonly [figure in keyof DrumKind]: (own: number, other: number) => string } = {
  centreHz: (own, other) => `its sound lies around ${hertz(other)}, not ${hertz(own)}`,
  widthOctaves: (own, other) => `it is ${wide(other)} octaves wide, not ${wide(own)}`,
  riseSeconds: (own, other) => `it is loudest after ${time(other)}, not ${time(own)}`,
  down10Seconds: (own, other) => `it is down by 10 dB in ${time(other)}, not ${time(own)}`,
  down20Seconds: (own, other) => `it is down by 20 dB in ${time(other)}, not ${time(own)}`,
  down40Seconds: (own, other) => `it is down by 40 dB in ${time(other)}, not ${time(own)}`,
  toneShare: (own, other) =>
    `${percentage(other, 0)} of it is three partials, not ${percentage(own, 0)}`,
  flatnessDb: (own, other) =>
    `its partials stand out by ${(-other).toFixed(0)} dB, not ${(-own).toFixed(0)}`,
};

/**
 * How a voice differs from a recording; `own` is the figure of the recording.
 * @param most the most differences returned.
 * @returns an empty list where nothing differs more than between two of one kind.
 */
export function kindWords({ differences }: KindDistance, most: number): readonly string[] {
  return differences
    .filter(({ by }) => Math.abs(by) > TOLD)
    .slice(0, most)
    .map(({ figure, own, other }) => WORDS[figure](own, other));
}

/** As data. */
export function kindData({ distance, differences }: KindDistance) {
  return {
    distance,
    differences: differences.map(({ figure, own, other, by }: KindDifference) => ({
      ...{ figure, recording: own, voice: other, by },
    })),
  };
}

function hertz(value: number): string {
  return formatBriefly(value, 'frequency', 2);
}

function time(seconds: number): string {
  return formatBriefly(seconds, 'time', 2);
}

function wide(octaves: number): string {
  return octaves.toFixed(1);
}
