/** What stays under the hand while the sheet scrolls: play, place, volume, undo and save. */

import { useRef } from 'preact/hooks';
import { Notices } from '../files/notices.tsx';
import { LEAST_VOLUME } from '../sheet-state.ts';
import { useKnown, useSheet } from '../use-sheet.ts';
import { usePlace } from './frames.ts';
import { Waveform } from './waveform.tsx';
import { decibels, whereWords } from './where.ts';

export function Strip() {
  const sheet = useSheet();
  const isPlaying = useKnown('isPlaying');
  const loop = useKnown('loop');
  const history = useKnown('history');
  return (
    <section class="strip" aria-label="Listen">
      <button
        type="button"
        class="play"
        aria-keyshortcuts="Space"
        disabled={loop === undefined}
        onClick={() => sheet.toggle()}
      >
        {isPlaying ? 'Stop' : 'Play'}
      </button>
      <Waveform />
      <Where />
      <Volume />
      <fieldset class="edits" aria-label="Edits">
        <button
          type="button"
          aria-keyshortcuts="Control+Z"
          disabled={history.past.length === 0}
          onClick={() => sheet.undo()}
        >
          Undo
        </button>
        <button
          type="button"
          aria-keyshortcuts="Control+Shift+Z"
          disabled={history.future.length === 0}
          onClick={() => sheet.redo()}
        >
          Redo
        </button>
        <SaveButton />
      </fieldset>
      <Notices />
    </section>
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

function Where() {
  const view = useKnown('view');
  const words = useRef<HTMLSpanElement>(null);
  usePlace((share) => {
    const text = view === undefined ? '' : whereWords(share, view.loop);
    if (words.current !== null && words.current.textContent !== text)
      words.current.textContent = text;
  });
  return <span ref={words} class="where" aria-hidden="true" />;
}

function Volume() {
  const sheet = useSheet();
  const volume = useKnown('volume');
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
        onInput={({ currentTarget }) => sheet.setVolume(Number(currentTarget.value))}
      />
      <output>{words}</output>
    </label>
  );
}
