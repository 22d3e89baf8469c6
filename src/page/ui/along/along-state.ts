/** What the page knows of the cable that is being patched. */

import type { Playable } from '../../pieces/player.ts';
import type { AlongHeard, AlongView } from '../../protocol.ts';

export interface AlongState {
  /** Undefined until the engine has told it. */
  readonly view: AlongView | undefined;
  /** Undefined until it is played. */
  readonly heard: AlongHeard | undefined;
  /** What the player has: the patch as far as it is, or silence. */
  readonly sounding: Playable;
  /** Whether what can be wrong is shown. */
  readonly isDoubted: boolean;
}
