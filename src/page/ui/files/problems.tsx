/** What blocks the work, shown in its place: problems of the file, a changed file on disk, failures. */

import { useCell } from '../../pieces/cell.ts';
import { useKnown, useSheet } from '../use-sheet.ts';
import { fileName } from './saving.ts';

export function Problems() {
  return (
    <section id="problems" class="problems" aria-label="Problems" aria-live="polite">
      <Failure />
      <Faults />
      <Conflict />
      <Clash />
      <Disconnected />
    </section>
  );
}

function Faults() {
  const problems = useKnown('problems');
  const unreadable = useKnown('unreadable');
  const hasSound = useKnown('loop') !== undefined;
  if (problems.length === 0 && unreadable === undefined) return null;
  const after = hasSound ? ' The last good sound plays on.' : '';
  return (
    <div class="told-here">
      <p>
        <b>
          {problems.length === 0
            ? `The file cannot be read: ${unreadable}`
            : 'The file cannot be taken as a patch.'}
        </b>
        {after}
      </p>
      {problems.map(({ text, file, line, column }) => (
        <pre key={`${file}:${line}:${column}:${text}`}>{text}</pre>
      ))}
    </div>
  );
}

function Conflict() {
  const sheet = useSheet();
  const conflict = useKnown('conflict');
  if (conflict === undefined) return null;
  return (
    <div class="told-here">
      <p>
        <b>{fileName(conflict.main)} has changed on disk, and there are unsaved edits here.</b>{' '}
        Which one do you want to keep working on? The other is kept as a version.
      </p>
      <p class="controls">
        <button type="button" onClick={() => sheet.settle(true)}>
          Take the file from disk
        </button>
        <button type="button" onClick={() => sheet.settle(false)}>
          Stay with what is here
        </button>
      </p>
    </div>
  );
}

function Clash() {
  const sheet = useSheet();
  const clash = useKnown('clash');
  if (clash === undefined) return null;
  return (
    <div class="told-here">
      <p>
        <b>Not saved.</b> {clash}
      </p>
      <p class="controls">
        <button type="button" onClick={() => void sheet.save(true)}>
          Write over it
        </button>
        <button type="button" onClick={() => sheet.leave()}>
          Leave it as it is
        </button>
      </p>
    </div>
  );
}

function Disconnected() {
  const isConnected = useKnown('isConnected');
  if (isConnected) return null;
  return (
    <div class="told-here">
      <p>
        <b>Forehear is not connected; it may have been stopped.</b> The sheet plays on, and nothing
        is lost as long as this page stays open; “Download the file” saves the edits.
      </p>
    </div>
  );
}

function Failure() {
  const failure = useKnown('failure');
  const dismissed = useCell<string | undefined>(() => undefined);
  if (failure === undefined || failure === dismissed.now) return null;
  return (
    <div class="told-here">
      <p>
        <b>Forehear itself failed; this is a mistake of ours.</b> {failure}
      </p>
      <p class="controls">
        <button type="button" onClick={() => dismissed.put(failure)}>
          Close
        </button>
      </p>
    </div>
  );
}
