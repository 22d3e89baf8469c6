/** Where a pattern is while it plays: its step, marked over all of its lines. */

import type { RefObject } from 'preact';
import { useRef } from 'preact/hooks';
import { usePlace } from '../../pieces/frames.ts';
import type { PlayedView } from '../../protocol.ts';
import { useKnown, useSheet } from '../use-sheet.ts';

export interface NowHereProps {
  readonly table: RefObject<HTMLTableElement | null>;
  readonly module: string;
  readonly pattern: string;
}

export function NowHere({ table, module, pattern }: NowHereProps) {
  const sheet = useSheet();
  const loop = useKnown('view')?.loop;
  const isPlaying = useKnown('isPlaying');
  const mark = useRef<HTMLSpanElement>(null);
  const last = useRef<number>(undefined);
  usePlace(sheet.deck, (share) => {
    const { current } = mark;
    if (current === null || loop === undefined) return;
    const seconds = (share * loop.frames) / loop.sampleRate;
    const one = isPlaying ? playedAt(loop.played, seconds, module) : undefined;
    const step = one?.pattern === pattern ? stepAt(one, seconds) : undefined;
    // The page is touched once a step, not once a frame.
    if (step === last.current) return;
    last.current = step;
    const head = table.current?.tHead?.rows[0]?.cells[(step ?? -1) + 1];
    current.hidden = step === undefined || head === undefined;
    if (current.hidden || head === undefined) return;
    current.style.setProperty('transform', `translateX(${head.offsetLeft}px)`);
    current.style.setProperty('width', `${head.offsetWidth}px`);
  });
  return <span ref={mark} class="now-here" hidden aria-hidden="true" />;
}

/** What a rhythm plays at a time, s from the start of the loop. */
export function playedAt(
  played: readonly PlayedView[],
  seconds: number,
  module?: string,
): PlayedView | undefined {
  return played.find(
    (one) =>
      (module === undefined || one.module === module) &&
      one.start <= seconds + TINY &&
      seconds + TINY < one.end,
  );
}

/** s: what sums of times are off by. */
const TINY = 1e-6;

/** The step of a pattern at a time, from 0. */
export function stepAt({ start, step, swing }: PlayedView, seconds: number): number {
  const inside = seconds - start + TINY;
  const pair = Math.floor(inside / (2 * step));
  return 2 * pair + (inside - pair * 2 * step >= 2 * step * swing ? 1 : 0);
}
