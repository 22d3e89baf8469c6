/** What is set once in a while: how much plays, where the file and the clip go, the keys. */

import { useEffect, useRef, useState } from 'preact/hooks';
import { useKnown, useSheet } from '../use-sheet.ts';
import { baseName } from './saving.ts';

const LENGTHS = [1, 2, 4, 8, 16];

export function Desk() {
  const sheet = useSheet();
  const isAround = useKnown('isAround');
  const bars = useKnown('bars');
  const view = useKnown('view');
  const probe = useKnown('probe');
  const message = useKnown('message');
  return (
    <div class="desk">
      <p class="quiet">
        Start with the volume low: a click, a resonance or noise at full scale can hurt ears and
        loudspeakers.
      </p>
      <div class="controls">
        <label>
          <input
            type="checkbox"
            checked={isAround}
            onChange={({ currentTarget }) => sheet.setAround(currentTarget.checked)}
          />{' '}
          Loop
        </label>
        <label>
          Length{' '}
          <select
            value={bars ?? ''}
            onChange={({ currentTarget: { value } }) =>
              sheet.setBars(value === '' ? undefined : Number(value))
            }
          >
            <option value="">the song</option>
            {LENGTHS.map((count) => (
              <option key={count} value={count}>
                {count === 1 ? '1 bar' : `${count} bars`}
              </option>
            ))}
          </select>
        </label>
        <button type="button" onClick={() => sheet.downloadClip()}>
          Clip as WAV
        </button>
        <SaveAs />
        <button type="button" onClick={() => sheet.downloadText()}>
          Download the file
        </button>
      </div>
      {view?.loop.shortened && bars === undefined && (
        <p class="quiet">The song is longer than what is kept here: its first bars play.</p>
      )}
      {probe !== undefined && (
        <p class="listening">
          Listening at <b>{probe}</b>: a tenth of its volts, steady volts taken out, turned down
          where that is loud.{' '}
          <button type="button" onClick={() => sheet.setProbe(undefined)}>
            Back to the mix
          </button>
        </p>
      )}
      <Keys />
      <p class="message" role="status">
        {message}
      </p>
    </div>
  );
}

function SaveAs() {
  const sheet = useSheet();
  const files = useKnown('files');
  const [isOpen, setOpen] = useState(false);
  const field = useRef<HTMLInputElement>(null);
  useEffect(() => field.current?.focus(), [isOpen]);
  const close = (): void => setOpen(false);
  if (!isOpen)
    return (
      <button type="button" onClick={() => setOpen(true)}>
        Save as…
      </button>
    );
  const send = (event: Event): void => {
    event.preventDefault();
    const name = field.current?.value ?? '';
    close();
    void sheet.saveAs(/\.ya?ml$/i.test(name) ? name : `${name}.yaml`);
  };
  return (
    <form class="save-as" onSubmit={send}>
      <label>
        New file{' '}
        <input
          ref={field}
          defaultValue={firstName(files.main)}
          required
          onKeyDown={({ key }) => key === 'Escape' && close()}
        />
      </label>
      <button type="submit">Save</button>
      <button type="button" onClick={close}>
        Cancel
      </button>
    </form>
  );
}

function firstName(main: string): string {
  return `${baseName(main).replace(/\.ya?ml$/i, '')}-2.yaml`;
}

function Keys() {
  const sheet = useSheet();
  const hasKeys = useKnown('hasKeys');
  return (
    <p class="quiet">
      <label>
        <input
          type="checkbox"
          checked={hasKeys}
          onChange={({ currentTarget }) => sheet.setKeys(currentTarget.checked)}
        />{' '}
        Keys:
      </label>{' '}
      <kbd>Space</kbd> plays and stops, <kbd>1</kbd> to <kbd>9</kbd> switch between kept versions;{' '}
      <kbd>Ctrl</kbd> with <kbd>Z</kbd> undoes, with <kbd>Shift Z</kbd> does again, with{' '}
      <kbd>S</kbd> saves.
    </p>
  );
}
