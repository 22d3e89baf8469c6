/** The patterns as drum tab that is written on: a table of signs, a row a channel. */

import type { RhythmView } from '../../protocol.ts';
import { useKnown } from '../use-sheet.ts';
import { PatternEditor } from './pattern.tsx';

export function Patterns() {
  const rhythms = useKnown('view')?.rhythms ?? [];
  return (
    <>
      {rhythms.map((rhythm) => (
        <Rhythm key={rhythm.module} {...rhythm} />
      ))}
      <p class="quiet on-screen">
        A click goes from rest to hit to accent. Arrow keys go from step to step; the keys{' '}
        <kbd>x</kbd> hit, <kbd>X</kbd> accent, <kbd>-</kbd> rest, <kbd>f</kbd> flam, <kbd>2</kbd> to{' '}
        <kbd>8</kbd> that many strokes, <kbd>?</kbd> a hit left to chance write.
      </p>
    </>
  );
}

function Rhythm({ module, song, channels, patterns }: RhythmView) {
  return (
    <>
      <p>
        <b>{module}</b> plays: {song.join(', ')}.
      </p>
      <p>Its channels: {channels}.</p>
      {patterns.map((pattern) => (
        <PatternEditor key={pattern.name} module={module} pattern={pattern} />
      ))}
    </>
  );
}
