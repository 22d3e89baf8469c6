/** The loop as a waveform with its bars; a click or keys go to a place in it. */

import { useMemo, useRef } from 'preact/hooks';
import type { Deck } from './deck.ts';
import { usePlace } from './frames.ts';
import { peaksOf, waveformPath } from './peaks.ts';
import type { Playable } from './player.ts';
import { barShares, type LoopRuler } from './where.ts';

const COLUMNS = 600;
const HEIGHT = 48;
/** Where keys go if the bars are not known. */
const QUARTERS = [0, 0.25, 0.5, 0.75, 1];

export interface WaveformProps {
  readonly deck: Deck;
  /** The loop to draw; undefined where it must not be seen. */
  readonly sounding: Playable | undefined;
  /** Undefined before there is a loop. */
  readonly span: LoopRuler | undefined;
  /** A place in words. */
  readonly words: (share: number) => string;
}

export function Waveform({ deck, sounding, span, words }: WaveformProps) {
  const slider = useRef<HTMLDivElement>(null);
  const line = useRef<HTMLSpanElement>(null);
  const outline = useMemo(
    () =>
      sounding === undefined
        ? ''
        : waveformPath(
            peaksOf(sounding.channels, sounding.frames, COLUMNS),
            HEIGHT,
            sounding.level,
          ),
    [sounding],
  );
  usePlace(deck, (share) => {
    line.current?.style.setProperty('transform', `translateX(${share * 100}%)`);
    // A screen reader should not get every frame.
    if (deck.player.isPlaying || span === undefined) return;
    slider.current?.setAttribute('aria-valuenow', share.toFixed(3));
    slider.current?.setAttribute('aria-valuetext', words(share));
  });
  // An empty place, so that nothing moves when the waveform comes.
  if (span === undefined)
    return (
      <div class="waveform">
        <svg aria-hidden="true" />
      </div>
    );
  const shares = barShares(span);
  const steps = span.bars.length > 0 ? shares : QUARTERS;

  const seek = (share: number): void => deck.player.seek(share);
  const bySteps = (event: KeyboardEvent): void => {
    const to = keyTarget(event.key, deck.player.share(), steps);
    if (to === undefined) return;
    event.preventDefault();
    seek(to);
  };
  const byHand = (event: PointerEvent): void => {
    if (event.type === 'pointerdown') slider.current?.setPointerCapture(event.pointerId);
    else if (!slider.current?.hasPointerCapture(event.pointerId)) return;
    const box = (slider.current as HTMLDivElement).getBoundingClientRect();
    seek((event.clientX - box.left) / box.width);
  };
  return (
    <div
      ref={slider}
      class="waveform"
      role="slider"
      tabIndex={0}
      aria-label="Place in the loop"
      aria-valuemin={0}
      aria-valuemax={1}
      aria-valuenow={0}
      onKeyDown={bySteps}
      onPointerDown={byHand}
      onPointerMove={byHand}
    >
      <svg viewBox={`0 0 ${COLUMNS} ${HEIGHT}`} preserveAspectRatio="none" aria-hidden="true">
        <path class="middle" d={`M0 ${HEIGHT / 2}H${COLUMNS}`} />
        <path class="outline" d={outline} />
        {shares.slice(1, -1).map((share) => (
          <path key={share} class="bar" d={`M${share * COLUMNS} 0V${HEIGHT}`} />
        ))}
      </svg>
      <span ref={line} class="now" />
    </div>
  );
}

/** Arrows go a quarter of a bar, Page Up and Page Down a bar. */
function keyTarget(key: string, share: number, shares: readonly number[]): number | undefined {
  const bar = (shares[1] ?? 1) - (shares[0] ?? 0);
  switch (key) {
    case 'ArrowRight':
    case 'ArrowUp':
      return Math.min(1, share + bar / 4);
    case 'ArrowLeft':
    case 'ArrowDown':
      return Math.max(0, share - bar / 4);
    case 'PageUp':
      return shares.find((start) => start > share + 1e-6 && start < 1) ?? share;
    case 'PageDown':
      return shares.findLast((start) => start < share - 1e-6) ?? 0;
    case 'Home':
      return 0;
    case 'End':
      return shares.at(-2) ?? 0;
    default:
      return undefined;
  }
}
