/** What a rhythm plays, for editing: its song as a list, its patterns as signs on ruled lines. */

import { useRef } from 'preact/hooks';
import type { RhythmView } from '../../protocol.ts';
import { useKeptFocus } from '../kept-focus.ts';
import { useKnown } from '../use-sheet.ts';
import { useAside } from '../voices/chapter.ts';
import { PatternEditor } from './pattern.tsx';
import { SongEditor } from './song.tsx';
import { StepSign } from './step-sign.tsx';

export function Patterns() {
  const isAside = useAside();
  const rhythms = (useKnown('view')?.rhythms ?? []).map((rhythm) => ({
    ...rhythm,
    patterns: rhythm.patterns.map((pattern) => ({
      ...pattern,
      // Only the lines of the chapter are shown; paper has all.
      channels: pattern.channels.filter((one) => !isAside(rhythm, one)),
    })),
  }));
  const place = useRef<HTMLDivElement>(null);
  // An edit for a pattern that is gone must not be written into another.
  useKeptFocus(place);
  return (
    <>
      <div ref={place} class="on-screen" data-takes-keys="">
        {rhythms.map((rhythm) => (
          <Rhythm key={rhythm.module} rhythm={rhythm} />
        ))}
        {rhythms.length > 0 && <Legend />}
      </div>
      <div class="paper" data-part="patterns" />
    </>
  );
}

function Rhythm({ rhythm }: { readonly rhythm: RhythmView }) {
  const { module, channels, patterns, controls } = rhythm;
  return (
    <>
      <SongEditor rhythm={rhythm} />
      {patterns.map((pattern) => (
        <PatternEditor key={pattern.name} module={module} pattern={pattern} controls={controls} />
      ))}
      <p class="quiet">
        Channels of {module}: {channels}.
      </p>
    </>
  );
}

const SIGN_WORDS: readonly (readonly [sign: string, words: string])[] = [
  ['x', 'hit'],
  ['X', 'accent'],
  ['g', 'ghost stroke'],
  ['-', 'rest'],
  ['f', 'flam'],
  ['3', '2 to 8: that many strokes'],
  ['?', 'left to chance'],
];

function Legend() {
  return (
    <div class="quiet">
      <ul class="sign-legend" aria-label="Signs and their keys">
        {SIGN_WORDS.map(([sign, words]) => (
          <li key={sign}>
            <StepSign sign={sign} mark={undefined} /> <kbd>{sign === '3' ? '2 … 8' : sign}</kbd>{' '}
            {words}
          </li>
        ))}
      </ul>
      <p>
        A click goes from rest to hit to accent; arrow keys go from step to step, and the keys above
        write. An outline is filled as far as its stroke is likely; a foot is a gate of its own. A
        grey line repeats. A step’s other values are shown below its pattern.
      </p>
    </div>
  );
}
