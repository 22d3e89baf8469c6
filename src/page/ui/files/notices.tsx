/** Notices of what happened, in sight wherever the page is scrolled to. */

import { useEffect } from 'preact/hooks';
import { useCell } from '../../pieces/cell.ts';
import { listeningAt } from '../strip/listening.ts';
import { useKnown, useSheet } from '../use-sheet.ts';
import { soloWords } from '../voices/chapters.ts';

/** ms that a notice is shown; the same text stays in the header. */
const SHOWN = 6000;

export function Notices() {
  return (
    <div class="notices">
      <Alert />
      <Probed />
      <Soloed />
      <Note />
    </div>
  );
}

/** A link to the problem that blocks the work. */
function Alert() {
  const hasProblems = useKnown('problems').length > 0;
  const unreadable = useKnown('unreadable');
  const conflict = useKnown('conflict');
  const clash = useKnown('clash');
  const isConnected = useKnown('isConnected');
  const words =
    clash !== undefined
      ? 'Not saved: the file has changed on disk'
      : conflict !== undefined
        ? 'The file has changed on disk'
        : unreadable !== undefined
          ? 'The file cannot be read; the last good sound plays'
          : hasProblems
            ? 'The file has problems; the last good sound plays'
            : isConnected
              ? undefined
              : 'Forehear is not connected';
  return words === undefined ? null : <a href="#problems">{words}</a>;
}

/** Says that a jack is heard in place of the mix, with a button to go back. */
function Probed() {
  const sheet = useSheet();
  const probe = useKnown('probe');
  if (probe === undefined) return null;
  return (
    <span class="listening">
      Listening at <b>{probe}</b>{' '}
      <button type="button" onClick={() => sheet.setProbe(undefined)}>
        Back to the mix
      </button>
    </span>
  );
}

/** Says that not all of the mix is heard, with a button to go back. */
function Soloed() {
  const sheet = useSheet();
  const solo = useKnown('solo');
  if (solo === undefined) return null;
  return (
    <span class="listening">
      {soloWords(solo)}{' '}
      <button type="button" onClick={() => sheet.chapters.setSolo(undefined)}>
        Hear all again
      </button>
    </span>
  );
}

/** Only visual: screen readers read the text in the header. */
function Note() {
  const message = useKnown('message');
  const probe = useKnown('probe');
  const solo = useKnown('solo');
  const past = useCell<string | undefined>(() => undefined);
  useEffect(() => {
    past.put(undefined);
    const timer = setTimeout(() => past.put(message), SHOWN);
    return () => clearTimeout(timer);
  }, [message]);
  // It is shown already, with the button to go back.
  const isTold =
    (probe !== undefined && message === listeningAt(probe)) ||
    (solo !== undefined && message === soloWords(solo));
  return message === '' || message === past.now || isTold ? null : (
    <span aria-hidden="true">{message}</span>
  );
}
