/** What the pages of the comparison and the lesson share: their clips are in the page, or in files beside it. */

import type { Sources } from '../../output/document/document.ts';
import type { PageClip } from '../pieces/clip.ts';

/** What a browser opens readily: bytes of clips that are put into the page itself. */
export const MOST_EMBEDDED = 24 * 1024 * 1024;

export const WITHOUT_SCRIPTS =
  '<noscript><p>Listening here needs JavaScript; the clips lie beside this page.</p></noscript>';

/** A page looks beside itself for the clips that are not in it, and asks nobody where all are. */
export function besideSources(clips: readonly PageClip[]): Sources {
  return clips.every(({ data }) => data !== undefined) ? {} : { 'connect-src': "'self'" };
}
