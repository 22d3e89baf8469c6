/** Asks for MIDI pads, and says which notes strike what. */

import { useCell } from '../../pieces/cell.ts';
import { SteadyButton } from '../../pieces/steady-button.tsx';
import { useKnown, useSheet } from '../use-sheet.ts';
import { hasPads } from './pads.ts';
import { strokeKeys } from './stroke-keys.ts';

export function PadsButton() {
  const sheet = useSheet();
  const view = useKnown('view');
  const pads = useKnown('pads');
  const isAsking = useCell(() => false);
  if (view === undefined) return null;
  const keys = strokeKeys(view);
  if (keys.length === 0) return null;
  const letters = keys.map(({ key, channel }) => (
    <span key={key} class="key-of">
      <kbd>{key}</kbd> {channel}
    </span>
  ));
  const notes = [
    ...new Map(
      view.voices.flatMap(({ channels }) => channels.map(({ channel, note }) => [note, channel])),
    ),
  ];
  const ask = async (): Promise<void> => {
    if (isAsking.now) return;
    isAsking.put(true);
    await sheet.chapters.usePads();
    isAsking.put(false);
  };
  return (
    <div class="striking">
      <p class="quiet">
        Keys strike: {letters} with <kbd>Shift</kbd> an accent. The sign X is an accent as well.
      </p>
      {hasPads() ? (
        <p>
          <SteadyButton isOff={isAsking.now} onClick={() => void ask()}>
            {pads === undefined ? 'Use a MIDI pad' : 'Look for MIDI pads again'}
          </SteadyButton>{' '}
          <span role="status">{pads}</span>
        </p>
      ) : (
        <p class="quiet">This browser has no Web MIDI, so that no MIDI pad can strike here.</p>
      )}
      {pads !== undefined && (
        <p class="quiet">
          Notes: {notes.map(([note, channel]) => `${note} ${channel}`).join(', ')}.
        </p>
      )}
    </div>
  );
}
