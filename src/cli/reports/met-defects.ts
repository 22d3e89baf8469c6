/** What faults of a recording do to the distance of its hit from another, in words. */

import type { Defect } from '../../measure/defects.ts';
import type { Mends } from '../../measure/mended.ts';
import { shellWord } from '../shell-word.ts';

/** `it` is the recording, as the subject of a sentence. A recording that cannot be compared is refused. */
const MET: { readonly [kind in Defect['kind']]?: (it: string) => string } = {
  'too-short': (it) => `${it} is so short that hardly more than an attack is compared.`,
  'cut-start': (it) =>
    `${it} begins in the middle of a sound. If that is the rest of a hit, its attack is not there to be compared.`,
  clipped: (it) => `${it} is clipped: its attacks and levels cannot be trusted.`,
  offset: (it) => `${it} has a DC offset, which is taken out before it is compared.`,
  drift: (it) =>
    `${it} drifts in its rest level. Nothing under 50 Hz is compared, so the drift does harm only where it looks like a hit.`,
  hum: (it) =>
    `${it} has mains hum. Where the hum is alone for 50 ms it counts as noise, and less than twice the noise is not compared; otherwise it may be taken for a part of the drum.`,
  opposed: (it) =>
    `${it} has a channel in opposite phase to the first, which is inverted before they are mixed.`,
  'silent-channel': (it) => `${it} has a silent channel, which is mixed in as it is.`,
  coarse: (it) =>
    `${it} uses so few steps of its bits that its tail sinks into them before it has ended.`,
};

/** The same of drift and hum that were taken out. */
const MENDED: typeof MET = {
  drift: (it) => `${it} drifts in its rest level, which is taken out before it is compared.`,
  hum: (it) => `${it} has mains hum, which is taken out before it is compared.`,
};

/**
 * Puts the faults of a recording into sentences.
 * @param it the recording, as the subject of a sentence.
 * @param mends the drift and hum that were taken out of it.
 */
export function metDefects(
  defects: readonly Defect[],
  {
    it,
    file,
    mends,
  }: { readonly it: string; readonly file: string; readonly mends: Mends | undefined },
): readonly string[] {
  const isMended = (kind: Defect['kind']): boolean =>
    mends !== undefined &&
    ((kind === 'drift' && mends.drift) || (kind === 'hum' && mends.hum.length > 0));
  return defects.flatMap(({ kind }) => {
    const words = (isMended(kind) ? MENDED : MET)[kind]?.(it);
    return words === undefined
      ? []
      : [`${words} "forehear measure ${shellWord(file)}" says more of that.`];
  });
}
