/** Where a pattern is while it plays: its step, marked over all of its lines. */

import type { RefObject } from 'preact';
import { useRef } from 'preact/hooks';
import { usePlace } from '../../pieces/frames.ts';
import { useKnown, useSheet } from '../use-sheet.ts';
import { playedAt, stepAt } from './played-at.ts';

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
    // The page is changed once a step, not once a frame.
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
