/** What the pages of the comparison and the lesson share: their clips are in the page, or in files beside it. */

import type { Sources } from '../../output/document/document.ts';
import type { PageClip } from '../pieces/clip.ts';

/** The most bytes of clips that are put into the page itself, so that browsers still open it quickly. */
export const MOST_EMBEDDED = 24 * 1024 * 1024;

export const WITHOUT_SCRIPTS =
  '<noscript><p>Listening here needs JavaScript; the clips lie beside this page.</p></noscript>';

/** A page looks beside itself for the clips that are not in it; where all are in it, it may make no requests. */
export function besideSources(clips: readonly PageClip[]): Sources {
  return clips.every(({ data }) => data !== undefined) ? {} : { 'connect-src': "'self'" };
}
