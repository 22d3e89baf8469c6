/** The score of time: a picture for some bars each, and a line that moves over them with the sound. */

import { useMemo, useRef } from 'preact/hooks';
import { usePlace } from '../../pieces/frames.ts';
import type { ScoreView } from '../../protocol.ts';
import { DiagramFigure } from '../diagram/figure.tsx';
import { useKnown, useSheet } from '../use-sheet.ts';

export function ScorePictures() {
  const score = useKnown('score');
  if (score.length === 0) return <p class="quiet">The score is being drawn.</p>;
  return (
    <>
      {score.map((picture) => (
        <Picture key={picture.from} {...picture} />
      ))}
    </>
  );
}

function Picture({ svg, caption, from, to, left, right, width, height }: ScoreView) {
  const sheet = useSheet();
  const loop = useKnown('view')?.loop;
  const line = useRef<HTMLSpanElement>(null);
  // As an image, since the styles of an SVG in the page would apply to the whole page.
  const address = useMemo(
    () => `data:image/svg+xml;charset=utf-8,${encodeURIComponent(svg)}`,
    [svg],
  );
  usePlace(sheet.deck, (share) => {
    if (loop === undefined || line.current === null) return;
    const seconds = loop.start + (share * loop.frames) / loop.sampleRate;
    const isHere = seconds >= from && seconds < to;
    line.current.hidden = !isHere;
    const x = left + ((seconds - from) / (to - from)) * (right - left);
    // In percent of the line's own width, which is that of the picture: no layout is needed.
    if (isHere) line.current.style.setProperty('transform', `translateX(${(x / width) * 100}%)`);
  });
  return (
    <DiagramFigure name={caption} caption={caption}>
      <div class="timed">
        <img
          class="score"
          width={width}
          height={height}
          alt={`${caption} Gates, steps and envelopes against time.`}
          src={address}
        />
        <span ref={line} class="now" hidden />
      </div>
    </DiagramFigure>
  );
}
