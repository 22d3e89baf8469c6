/** What is wrong with a patch file, as data; `describe` turns one into the text a person reads. */

import type { Place } from './place.ts';

/** Each code is explained in patches/README.md, and a fixture shows each. */
export type ProblemCode =
  | 'syntax' // not YAML, or YAML that a patch may not use
  | 'missing' // something that must be there is not
  | 'unknown-key'
  | 'unknown-kind'
  | 'unknown-module'
  | 'unknown-jack'
  | 'unknown-name' // of a channel, a pattern, a choice
  | 'wrong-type' // a list where a text belongs, and the like
  | 'unit' // no unit, or the wrong one
  | 'range'
  | 'duplicate'
  | 'direction' // a cable from an input, or into an output
  | 'pattern' // drum tab that cannot be read
  | 'part' // a part that cannot be read, is used wrongly, or includes itself
  | 'recording' // a WAV file that is not there, or cannot be played
  | 'too-big'; // beyond the limits of what a patch may hold

/** A change of the file that is sure to be what was meant. */
export type Rewrite =
  /** Another text for the value at this place. */
  | { readonly type: 'replace-text'; readonly place: Place; readonly text: string }
  /** Settings in place of others, each as `setting: value`; `place` is that of the module's name. */
  | {
      readonly type: 'replace-settings';
      readonly place: Place;
      readonly settings: readonly string[];
      readonly texts: readonly string[];
    };

/** One thing that is wrong with a file, and where. */
export interface Problem {
  readonly code: ProblemCode;
  readonly place: Place;
  /** What is wrong, one sentence without the place. */
  readonly message: string;
  /** What would have been right, such as "a time such as 8 ms, from 0 s to 60 s". */
  readonly expected?: string;
  /** The nearest legal name. */
  readonly nearest?: string;
  /** What would mend it, where that is known for sure. */
  readonly rewrite?: Rewrite;
}
