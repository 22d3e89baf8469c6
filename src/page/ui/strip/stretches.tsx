/** A song longer than the loop: which of its bars play, and buttons for those before and after. */

import { SteadyButton } from '../../pieces/steady-button.tsx';
import type { LoopView } from '../../protocol.ts';
import { MOST_LOOP_SECONDS } from '../../worker/place.ts';
import { useKnown, useSheet } from '../use-sheet.ts';
import { nextBar } from './places.ts';

export function Stretches({ loop }: { readonly loop: LoopView }) {
  const sheet = useSheet();
  const way = useKnown('way');
  const { shortened, start } = loop;
  if (!shortened && start === 0) return null;
  const here = (): LoopView => sheet.store.now.view?.loop ?? loop;
  return (
    <p class="stretches">
      <span>
        {stretchWords(loop)}
        {shortened && ', of which a minute at most is kept here'}.
      </span>{' '}
      <SteadyButton
        isOff={start === 0}
        onClick={() => here().start > 0 && sheet.setFrom(barBefore(here()))}
      >
        Bars before
      </SteadyButton>{' '}
      <SteadyButton
        isOff={!shortened}
        onClick={() => here().shortened && sheet.setFrom({ type: 'bar', bar: nextBar(here()) })}
      >
        Bars after
      </SteadyButton>{' '}
      <span class="quiet" role="status">
        {way === undefined ? '' : `Playing up to there: ${Math.round(way * 100)} %`}
      </span>
    </p>
  );
}

function stretchWords(loop: LoopView): string {
  const { firstBar, bars } = loop;
  if (bars.length === 0) return `Of the song a part of bar ${firstBar - 1} plays`;
  if (bars.length === 1) return `Bar ${firstBar} of the song plays`;
  return `Bars ${firstBar} to ${nextBar(loop) - 1} of the song play`;
}

/** The bar that many bars earlier; the start of the song where that is near. */
function barBefore({
  firstBar,
  bars,
  frames,
  sampleRate,
}: LoopView): { type: 'bar'; bar: number } | undefined {
  // A short stretch was cut by the end of the song: then count the bars of a minute.
  const seconds = frames / sampleRate;
  const many = Math.max(1, Math.floor((bars.length * MOST_LOOP_SECONDS) / Math.max(1, seconds)));
  const bar = firstBar - Math.max(1, many);
  return bar <= 1 ? undefined : { type: 'bar', bar };
}
