/** Lets a person give the page the clips that it cannot read by itself, as when it is opened from a file. */

import { useEffect, useRef } from 'preact/hooks';

export function Chooser({ onFiles }: { readonly onFiles: (files: Iterable<File>) => void }) {
  const input = useRef<HTMLInputElement>(null);
  useEffect(() => input.current?.focus(), []);
  return (
    <p id="files">
      <label>
        Clips of this folder{' '}
        <input
          ref={input}
          id="chooser"
          type="file"
          accept=".wav"
          multiple
          onChange={({ currentTarget }) => onFiles(currentTarget.files ?? [])}
        />
      </label>
    </p>
  );
}

/** The message where the clips cannot be read. */
export const UNREAD =
  'The clip could not be read from here. Choose the clips of this folder below.';

/** The message once files have been chosen. */
export function chosenWords(missing: readonly string[]): string {
  return missing.length === 0 ? 'All clips are here.' : `Still missing: ${missing.join(', ')}.`;
}
