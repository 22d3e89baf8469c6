/** The patterns as drum tab that is written on: a table of signs, a row a channel. */

import { useRef } from 'preact/hooks';
import type { RhythmView } from '../../protocol.ts';
import { useKeptFocus } from '../kept-focus.ts';
import { useKnown } from '../use-sheet.ts';
import { useAside } from '../voices/chapter.ts';
import { PatternEditor } from './pattern.tsx';

export function Patterns() {
  const isAside = useAside();
  const rhythms = (useKnown('view')?.rhythms ?? []).map((rhythm) => ({
    ...rhythm,
    patterns: rhythm.patterns.map((pattern) => ({
      ...pattern,
      channels: pattern.channels.map((one) => ({ ...one, isAside: isAside(rhythm, one) })),
    })),
  }));
  const place = useRef<HTMLDivElement>(null);
  // What was meant for a pattern that is gone is not written into another.
  useKeptFocus(place);
  return (
    <div ref={place} data-takes-keys="">
      {rhythms.map((rhythm) => (
        <Rhythm key={rhythm.module} {...rhythm} />
      ))}
      <p class="quiet on-screen">
        A click goes from rest to hit to accent. Arrow keys go from step to step; the keys{' '}
        <kbd>x</kbd> hit, <kbd>X</kbd> accent, <kbd>g</kbd> ghost stroke, <kbd>-</kbd> rest,{' '}
        <kbd>f</kbd> flam, <kbd>2</kbd> to <kbd>8</kbd> that many strokes, <kbd>?</kbd> a hit left
        to chance write.
      </p>
    </div>
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
