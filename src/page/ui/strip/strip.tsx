/** The worksheet's strip: besides the parts of every page, it has undo, save and notices. */

import { SteadyButton } from '../../pieces/steady-button.tsx';
import { Strip } from '../../pieces/strip.tsx';
import { Notices } from '../files/notices.tsx';
import { useKnown, useSheet } from '../use-sheet.ts';
import { placeWords } from './places.ts';
import { Verdict } from './verdict.tsx';

export function SheetStrip() {
  const sheet = useSheet();
  const loop = useKnown('loop');
  const view = useKnown('view');
  const from = useKnown('from');
  const span = view?.loop;
  const song = from?.type === 'pattern' ? undefined : view?.rhythms[0];
  const sounding = useKnown('sounding');
  const volume = useKnown('volume');
  const history = useKnown('history');
  const isBlind = useKnown('trial') !== undefined;
  // A picture or a length would give away which version it is.
  const words = (share: number): string =>
    isBlind
      ? `${Math.round(100 * share)} %`
      : span === undefined
        ? ''
        : placeWords(share, span, song);
  return (
    <Strip
      deck={sheet.deck}
      sounding={isBlind ? undefined : sounding}
      span={span}
      words={words}
      isReady={loop !== undefined}
      onPlay={() => sheet.toggle()}
      volume={volume}
      onVolume={(decibels) => sheet.setVolume(decibels)}
    >
      <fieldset class="edits" aria-label="Edits">
        <SteadyButton
          keys="Control+Z"
          isOff={history.past.length === 0}
          onClick={() => sheet.undo()}
        >
          Undo
        </SteadyButton>
        <SteadyButton
          keys="Control+Shift+Z"
          isOff={history.future.length === 0}
          onClick={() => sheet.redo()}
        >
          Redo
        </SteadyButton>
        <SaveButton />
      </fieldset>
      <Verdict />
      <Notices />
    </Strip>
  );
}

function SaveButton() {
  const sheet = useSheet();
  useKnown('files');
  useKnown('disk');
  useKnown('copied');
  return (
    <button
      type="button"
      class={sheet.isUnsaved ? 'due' : ''}
      aria-keyshortcuts="Control+S"
      onClick={() => void sheet.save()}
    >
      {sheet.isUnsaved ? 'Save *' : 'Saved'}
      {sheet.isUnsaved && <span class="unseen"> (there are unsaved edits)</span>}
    </button>
  );
}
