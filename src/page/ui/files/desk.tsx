/** Controls that are used now and then: how much plays, saving the file and the clip, the keys. */

import { useEffect, useId, useLayoutEffect, useRef } from 'preact/hooks';
import { LISTENING_CARE } from '../../../output/document/notices.ts';
import { counted } from '../../../patch/text/counted.ts';
import { useCell } from '../../pieces/cell.ts';
import { Checkbox } from '../../pieces/checkbox.tsx';
import { KeysBox } from '../../pieces/keys-box.tsx';
import type { From, RhythmView } from '../../protocol.ts';
import type { ChangeOutcome } from '../moves.ts';
import { isSameFrom } from '../strip/places.ts';
import { Stretches } from '../strip/stretches.tsx';
import { useKnown, useSheet } from '../use-sheet.ts';
import { fileName } from './saving.ts';

const LENGTHS = [1, 2, 4, 8, 16];
/** Entries of a song that the list of places has; the song's own list has all. */
const MOST_LISTED = 200;

export function Desk() {
  const sheet = useSheet();
  const isAround = useKnown('isAround');
  const bars = useKnown('bars');
  const view = useKnown('view');
  const message = useKnown('message');
  return (
    <div class="desk">
      <p class="quiet">{LISTENING_CARE}</p>
      <div class="controls">
        <Checkbox isOn={isAround} onTurn={(isOn) => sheet.setAround(isOn)}>
          Loop
        </Checkbox>
        <Beginning />
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
                {counted(count, 'bar')}
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
      {view !== undefined && <Stretches loop={view.loop} />}
      <Keys />
      <p class="message" role="status">
        {message}
      </p>
    </div>
  );
}

/** Where playing begins. It is shown from the start, so that nothing moves when the song is known. */
function Beginning() {
  const sheet = useSheet();
  const rhythms = useKnown('view')?.rhythms ?? [];
  const from = useKnown('from');
  const places = rhythms.flatMap(placesOf);
  const at = places.findIndex(({ from: one }) => isSameFrom(one, from));
  const elsewhere = at < 0 ? elsewhereWords(from) : undefined;
  const group = (type: From['type'], label: string) => (
    <optgroup label={label}>
      {places.map(({ from: one, words }, index) =>
        one.type === type ? (
          <option key={words} value={index}>
            {words}
          </option>
        ) : null,
      )}
    </optgroup>
  );
  return (
    <label title="An entry is as the song has it there; a pattern alone begins as a song does.">
      From{' '}
      <select
        value={elsewhere === undefined ? (at < 0 ? '' : at) : ELSEWHERE}
        onChange={({ currentTarget: { value } }) => {
          if (value !== ELSEWHERE)
            sheet.setFrom(value === '' ? undefined : places[Number(value)]?.from);
        }}
      >
        <option value="">the start</option>
        {elsewhere !== undefined && <option value={ELSEWHERE}>{elsewhere}</option>}
        {places.length > 0 && group('entry', 'with an entry of the song')}
        {places.length > 0 && group('pattern', 'a pattern alone')}
      </select>
    </label>
  );
}

/** The value for places that the list does not contain. */
const ELSEWHERE = 'elsewhere';

function elsewhereWords(from: From | undefined): string | undefined {
  if (from?.type === 'bar') return `bar ${from.bar}`;
  return from?.type === 'entry' ? `entry ${from.entry + 1} alone` : undefined;
}

interface DeskPlace {
  readonly words: string;
  readonly from: From;
}

function placesOf({ module, song, patterns }: RhythmView): readonly DeskPlace[] {
  return [
    ...song.slice(0, MOST_LISTED).map(
      (words, entry): DeskPlace => ({
        words: `${module}: entry ${entry + 1}, ${words}`,
        from: { type: 'entry', module, entry },
      }),
    ),
    ...patterns.map(
      ({ name: pattern }): DeskPlace => ({
        words: `${module}: ${pattern}`,
        from: { type: 'pattern', module, pattern },
      }),
    ),
  ];
}

function SaveAs() {
  const isOpen = useCell(() => false);
  const button = useRef<HTMLButtonElement>(null);
  const wasOpen = useRef(false);
  useLayoutEffect(() => {
    // The focus goes back to the button, unless a hand has gone on while the file was being written.
    if (wasOpen.current && document.activeElement === document.body) button.current?.focus();
    wasOpen.current = isOpen.now;
  }, [isOpen.now]);
  if (isOpen.now) return <SaveAsForm onClose={() => isOpen.put(false)} />;
  return (
    <button ref={button} type="button" onClick={() => isOpen.put(true)}>
      Save as…
    </button>
  );
}

/** A refused name stays as it was typed, with the reason beside it. */
function SaveAsForm({ onClose }: { readonly onClose: () => void }) {
  const sheet = useSheet();
  const files = useKnown('files');
  const id = useId();
  const refusal = useCell<ChangeOutcome>(() => undefined);
  const isSending = useRef(false);
  const field = useRef<HTMLInputElement>(null);
  useEffect(() => field.current?.focus(), []);
  const send = async (event: Event): Promise<void> => {
    event.preventDefault();
    if (isSending.current) return;
    isSending.current = true;
    const name = field.current?.value.trim() ?? '';
    const words = await sheet.saveAs(/\.ya?ml$/i.test(name) ? name : `${name}.yaml`);
    isSending.current = false;
    refusal.put(words);
    if (words === undefined) onClose();
  };
  return (
    <form class="save-as" onSubmit={(event) => void send(event)}>
      <label>
        New file{' '}
        <input
          ref={field}
          defaultValue={firstName(files.main)}
          required
          aria-invalid={refusal.now !== undefined}
          aria-describedby={refusal.now === undefined ? undefined : id}
          onKeyDown={({ key }) => key === 'Escape' && onClose()}
        />
      </label>
      <button type="submit">Save</button>
      <button type="button" onClick={onClose}>
        Cancel
      </button>
      {refusal.now !== undefined && (
        <span id={id} class="refusal" role="alert">
          Not saved: {refusal.now}
        </span>
      )}
    </form>
  );
}

function firstName(main: string): string {
  return `${fileName(main).replace(/\.ya?ml$/i, '')}-2.yaml`;
}

function Keys() {
  const sheet = useSheet();
  const hasKeys = useKnown('hasKeys');
  return (
    <KeysBox hasKeys={hasKeys} onKeys={(on) => sheet.setKeys(on)}>
      <kbd>Space</kbd> plays and stops, <kbd>K</kbd> keeps a version, <kbd>1</kbd> to <kbd>9</kbd>{' '}
      switch between them; <kbd>/</kbd> finds; <kbd>Ctrl</kbd> with <kbd>Z</kbd> undoes, with{' '}
      <kbd>Shift Z</kbd> does again, with <kbd>S</kbd> saves.
    </KeysBox>
  );
}
