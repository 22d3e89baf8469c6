/** The keys that strike: one letter for each channel, in the order of the voices. */

import type { ChannelName, PatchView } from '../../protocol.ts';

const LETTERS = 'qwertyuiop';

export interface StrokeKey extends ChannelName {
  readonly key: string;
}

/** Gives each of the first ten channels that start a voice its letter. */
export function strokeKeys({ voices }: PatchView): readonly StrokeKey[] {
  const channels = voices.flatMap((voice) => voice.channels);
  const own = channels.filter(
    (one, index) =>
      channels.findIndex(
        ({ module, channel }) => module === one.module && channel === one.channel,
      ) === index,
  );
  return own
    .slice(0, LETTERS.length)
    .map(({ module, channel }, index) => ({ module, channel, key: LETTERS[index] as string }));
}
