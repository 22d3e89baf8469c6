/** The strip that stays in sight while a page scrolls: play, place, volume, and further controls of a page. */

import type { ComponentChildren } from 'preact';
import { useRef } from 'preact/hooks';
import { type Deck, LEAST_VOLUME, usePlaying } from './deck.ts';
import { usePlace } from './frames.ts';
import { Waveform, type WaveformProps } from './waveform.tsx';
import { decibels } from './where.ts';

export interface StripProps extends WaveformProps {
  readonly isReady: boolean;
  readonly onPlay: () => void;
  /** dB. */
  readonly volume: number;
  readonly onVolume: (decibels: number) => void;
  readonly children?: ComponentChildren;
}

export function Strip({ isReady, onPlay, volume, onVolume, children, ...wave }: StripProps) {
  const isPlaying = usePlaying(wave.deck);
  return (
    <section class="strip" aria-label="Listen">
      <button
        type="button"
        class="play"
        aria-keyshortcuts="Space"
        disabled={!isReady}
        onClick={onPlay}
      >
        {isPlaying ? 'Stop' : 'Play'}
      </button>
      <Waveform {...wave} />
      <Where deck={wave.deck} words={wave.words} />
      <Volume volume={volume} onVolume={onVolume} />
      {children}
    </section>
  );
}

function Where({ deck, words }: { readonly deck: Deck; readonly words: StripProps['words'] }) {
  const line = useRef<HTMLSpanElement>(null);
  usePlace(deck, (share) => {
    const text = words(share);
    if (line.current !== null && line.current.textContent !== text) line.current.textContent = text;
  });
  return <span ref={line} class="where" aria-hidden="true" />;
}

/** The volume of everything. */
export function Volume({ volume, onVolume }: Pick<StripProps, 'volume' | 'onVolume'>) {
  const words = volume <= LEAST_VOLUME ? 'silent' : decibels(volume, 0);
  return (
    <label class="volume">
      <span>Volume</span>
      <input
        type="range"
        min={LEAST_VOLUME}
        max={0}
        step={1}
        value={volume}
        aria-valuetext={words}
        onInput={({ currentTarget }) => onVolume(Number(currentTarget.value))}
      />
      <output>{words}</output>
    </label>
  );
}

/** Puts an empty element for the strip after the header; inside the header it could not stick to the edge. */
export function stripPlace(): HTMLElement {
  const place = document.createElement('div');
  place.className = 'strip-place';
  document.querySelector('header')?.after(place);
  return place;
}
