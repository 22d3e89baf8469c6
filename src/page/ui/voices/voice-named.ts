/** A voice of what the page shows, by its name. */

import type { PatchView, VoiceView } from '../../protocol.ts';

/** @returns undefined if there is no patch, or none of that name in it. */
export function voiceNamed(
  view: PatchView | undefined,
  name: string | undefined,
): VoiceView | undefined {
  return view?.voices.find((one) => one.name === name);
}
