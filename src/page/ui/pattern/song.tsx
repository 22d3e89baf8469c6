/**
 * The song as a list: one entry a line, the chosen one with what can be done with it. Long songs are
 * shown a hundred entries at a time.
 */

import { useEffect, useId, useRef, useState } from 'preact/hooks';
import { usePlace } from '../../pieces/frames.ts';
import type { EntryView, From, RhythmView, SongEdit, WordControl } from '../../protocol.ts';
import { Field } from '../settings/field.tsx';
import { useKnown, useSheet } from '../use-sheet.ts';
import { Fold } from './fold.tsx';
import { playedAt } from './played-at.ts';
import { Says } from './says.tsx';

/** Entries shown at once. */
const MOST_SHOWN = 100;
/** Counts changes of songs, each of which is a step back of its own. */
let turn = 0;

export function Song({ rhythm }: { readonly rhythm: RhythmView }) {
  const { module, song, entries } = rhythm;
  const sheet = useSheet();
  const id = useId();
  const [chosen, setChosen] = useState(0);
  // What keys choose counts for the next key at once; it is drawn with the next frame.
  const choice = useRef(0);
  const choose = (entry: number): void => {
    choice.current = entry;
    setChosen(entry);
  };
  const here = (): number => Math.min(choice.current, entries.length - 1);
  const [refusal, setRefusal] = useState<string>();
  const isBusy = useRef(false);
  const list = useRef<HTMLDivElement>(null);
  const at = Math.min(chosen, entries.length - 1);
  const first = Math.floor(at / MOST_SHOWN) * MOST_SHOWN;
  const shown = entries.slice(first, first + MOST_SHOWN);
  useEffect(() => {
    const line = list.current?.children[at - first];
    if (line instanceof HTMLElement) keepInView(line);
  }, [at, first]);
  const edit = async (change: SongEdit, next: number): Promise<void> => {
    // Places are those of the song as it is drawn: the next change waits for the answer.
    if (isBusy.current) return;
    isBusy.current = true;
    turn += 1;
    const words = await sheet.change({ type: 'song', module, turn, edit: change });
    isBusy.current = false;
    setRefusal(words);
    if (words !== undefined) return;
    choose(next);
    sheet.say(`${done(change)} Undo takes it back.`);
  };
  const move = (by: number): void => {
    const from = here();
    const to = from + by;
    if (to >= 0 && to < entries.length) void edit({ type: 'move', from, to }, to);
  };
  const remove = (): void =>
    void edit({ type: 'remove', at: here() }, Math.min(here(), entries.length - 2));
  const byHand = ({ target }: Event): void => {
    const line = target instanceof Element ? target.closest<HTMLElement>('[data-entry]') : null;
    if (line !== null) choose(Number(line.dataset.entry));
    // The list has the keys, whichever line is under the hand.
    list.current?.focus({ preventScroll: true });
  };
  const byKeys = (event: KeyboardEvent): void => {
    const { key, altKey, ctrlKey, metaKey } = event;
    if (ctrlKey || metaKey) return;
    const steps = { ArrowUp: -1, ArrowDown: 1, PageUp: -10, PageDown: 10 }[key];
    if (altKey && (key === 'ArrowUp' || key === 'ArrowDown')) move(key === 'ArrowUp' ? -1 : 1);
    else if (altKey) return;
    else if (steps !== undefined) choose(Math.min(Math.max(here() + steps, 0), entries.length - 1));
    else if (key === 'Home') choose(0);
    else if (key === 'End') choose(entries.length - 1);
    else if (key === 'Delete') remove();
    else if (key === 'Enter') sheet.setFrom({ type: 'entry', module, entry: here() });
    else return;
    event.preventDefault();
    event.stopPropagation();
  };
  return (
    <div class="song">
      <h3 id={id}>
        Song of {module}{' '}
        <span class="quiet">{entries.length === 1 ? '1 entry' : `${entries.length} entries`}</span>
      </h3>
      <div class="song-desk">
        <div
          ref={list}
          class="entries"
          role="listbox"
          tabIndex={0}
          aria-labelledby={id}
          aria-activedescendant={`${id}-${at}`}
          onKeyDown={byKeys}
          onClick={byHand}
        >
          {shown.map((entry, index) => (
            <div
              key={first + index}
              id={`${id}-${first + index}`}
              role="option"
              aria-selected={first + index === at}
              data-entry={first + index}
              tabIndex={-1}
            >
              <span class="number">{first + index + 1}</span>
              <span class="number quiet">{placeWords(entry)}</span>
              <span>{song[first + index]}</span>
            </div>
          ))}
        </div>
        <NowPlaying list={list} module={module} />
        <Entry
          rhythm={rhythm}
          at={at}
          onMove={move}
          onRemove={remove}
          onAdd={() =>
            void edit({ type: 'insert', at: at + 1, pattern: entries[at]?.pattern ?? '' }, at + 1)
          }
        />
      </div>
      {entries.length > MOST_SHOWN && (
        <p class="quiet">
          Entries {first + 1} to {first + shown.length} of {entries.length}: arrow keys and Page
          Down go on.
        </p>
      )}
      <FromBar bars={rhythm.bars} />
      {refusal !== undefined && (
        <p class="refusal" role="alert">
          Not taken: {refusal}
        </p>
      )}
    </div>
  );
}

/** Plays from any bar; how many, the length says. */
function FromBar({ bars }: { readonly bars: number }) {
  const sheet = useSheet();
  const from = useKnown('from');
  const typed = from?.type === 'bar' ? String(from.bar) : '';
  const go = async (text: string): Promise<string | undefined> => {
    const bar = Number(text);
    if (text !== '' && !(Number.isInteger(bar) && bar >= 1 && bar <= bars))
      return `there is no bar "${text}"\nexpected a whole number from 1 to ${bars}`;
    sheet.setFrom(text === '' ? undefined : { type: 'bar', bar });
    return undefined;
  };
  return (
    <p class="from-bar">
      <span>
        Begin with bar <Field label="First bar to play" text={typed} usual="1" short onSend={go} />{' '}
        of {bars}
      </span>
      <span class="quiet"> “Length” says how many bars go round.</span>
    </p>
  );
}

function done(change: SongEdit): string {
  switch (change.type) {
    case 'insert':
      return `Entry ${change.at + 1} added: ${change.pattern}.`;
    case 'remove':
      return `Entry ${change.at + 1} removed.`;
    case 'move':
      return `Entry ${change.from + 1} is now entry ${change.to + 1}.`;
  }
}

function placeWords({ bar, beat }: EntryView): string {
  return beat === 1 ? `bar ${bar}` : `bar ${bar}, beat ${Number(beat.toFixed(2))}`;
}

/** Scrolls the list alone, and never the page. */
function keepInView(line: HTMLElement): void {
  const box = line.parentElement as HTMLElement;
  const top = line.offsetTop - box.offsetTop;
  if (top < box.scrollTop) box.scrollTop = top;
  else if (top + line.offsetHeight > box.scrollTop + box.clientHeight)
    box.scrollTop = top + line.offsetHeight - box.clientHeight;
}

interface NowPlayingProps {
  readonly list: { readonly current: HTMLElement | null };
  readonly module: string;
}

/** Marks the entry that plays. */
function NowPlaying({ list, module }: NowPlayingProps) {
  const sheet = useSheet();
  const loop = useKnown('view')?.loop;
  const isPlaying = useKnown('isPlaying');
  const from = useKnown('from');
  const isSong = from?.type !== 'pattern';
  const last = useRef<number>(undefined);
  usePlace(sheet.deck, (share) => {
    if (loop === undefined) return;
    const seconds = (share * loop.frames) / loop.sampleRate;
    const now = isPlaying && isSong ? playedAt(loop.played, seconds, module)?.entry : undefined;
    if (now === last.current) return;
    last.current = now;
    for (const line of list.current?.children ?? []) {
      if (!(line instanceof HTMLElement)) continue;
      if (Number(line.dataset.entry) === now) line.dataset.now = '';
      else delete line.dataset.now;
    }
  });
  return null;
}

interface EntryProps {
  readonly rhythm: RhythmView;
  readonly at: number;
  readonly onMove: (by: number) => void;
  readonly onRemove: () => void;
  readonly onAdd: () => void;
}

/** What can be done with the chosen entry. */
function Entry({ rhythm, at, onMove, onRemove, onAdd }: EntryProps) {
  const { module, entries, patterns, controls } = rhythm;
  const sheet = useSheet();
  const from = useKnown('from');
  const entry = entries[at];
  if (entry === undefined) return null;
  const pattern = patterns.find(({ name }) => name === entry.pattern);
  const isFrom = (one: From): boolean => JSON.stringify(one) === JSON.stringify(from);
  const here: From = { type: 'entry', module, entry: at };
  const alone: From = { ...here, alone: true };
  const says = (some: readonly WordControl[]) => (
    <Says
      key={at}
      module={module}
      at={{ type: 'entry', entry: at }}
      name={`Entry ${at + 1}`}
      controls={some}
      said={entry.said}
      usual={{ repeats: '1', ...pattern?.usual, ...pattern?.said }}
    />
  );
  return (
    <fieldset class="entry" aria-label={`Entry ${at + 1}`}>
      <div class="controls">
        <b>Entry {at + 1}</b>
        <select
          value={entry.pattern}
          aria-label={`Entry ${at + 1}: pattern`}
          onChange={({ currentTarget }) =>
            void sheet.change({
              type: 'word',
              module,
              at: { type: 'entry', entry: at },
              word: 'pattern',
              text: currentTarget.value,
            })
          }
        >
          {patterns.map(({ name }) => (
            <option key={name}>{name}</option>
          ))}
        </select>
        {says(controls.entry.slice(0, 1))}
        <button type="button" disabled={at === 0} onClick={() => onMove(-1)}>
          Up
        </button>
        <button type="button" disabled={at === entries.length - 1} onClick={() => onMove(1)}>
          Down
        </button>
        <button type="button" onClick={onAdd}>
          Add after
        </button>
        <button type="button" disabled={entries.length === 1} onClick={onRemove}>
          Take out
        </button>
        <button
          type="button"
          aria-pressed={isFrom(alone)}
          onClick={() => sheet.setFrom(isFrom(alone) ? undefined : alone)}
        >
          Loop it
        </button>
        <button
          type="button"
          aria-pressed={isFrom(here)}
          onClick={() => sheet.setFrom(isFrom(here) ? undefined : here)}
        >
          Begin with it
        </button>
      </div>
      <Fold words={`What entry ${at + 1} says besides`}>{() => says(controls.entry.slice(1))}</Fold>
    </fieldset>
  );
}
