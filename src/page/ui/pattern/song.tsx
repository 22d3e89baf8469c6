/**
 * The song as a list: one entry a line, the chosen one with its controls. Long songs are
 * shown a hundred entries at a time.
 */

import { useEffect, useId, useRef } from 'preact/hooks';
import { useCell } from '../../pieces/cell.ts';
import { usePlace } from '../../pieces/frames.ts';
import { SteadyButton } from '../../pieces/steady-button.tsx';
import type { EntryView, From, RhythmView, SongEdit, WordControl } from '../../protocol.ts';
import { Choice } from '../settings/choice.tsx';
import { Field } from '../settings/field.tsx';
import { isSameFrom } from '../strip/places.ts';
import { useKnown, useSheet } from '../use-sheet.ts';
import { Fold } from './fold.tsx';
import { playedAt } from './played-at.ts';
import { Says } from './says.tsx';

/** Entries shown at once. */
const MOST_SHOWN = 100;
/** Counts changes of songs, each of which is undone by itself. */
let turn = 0;

export function SongEditor({ rhythm }: { readonly rhythm: RhythmView }) {
  const { module, song, entries } = rhythm;
  const sheet = useSheet();
  const id = useId();
  const chosen = useCell(() => 0);
  const refusal = useCell<string | undefined>(() => undefined);
  // The song as it is now; its entries may differ from those drawn.
  const entriesNow = (): readonly EntryView[] =>
    sheet.store.now.view?.rhythms.find((one) => one.module === module)?.entries ?? [];
  const here = (): number => Math.min(chosen.now, entriesNow().length - 1);
  const underWay = useRef(Promise.resolve());
  const list = useRef<HTMLDivElement>(null);
  const at = Math.min(chosen.now, entries.length - 1);
  const first = Math.floor(at / MOST_SHOWN) * MOST_SHOWN;
  const shown = entries.slice(first, first + MOST_SHOWN);
  useEffect(() => {
    const line = list.current?.children[at - first];
    if (line instanceof HTMLElement) keepInView(line);
  }, [at, first]);
  /**
   * Makes a change of the song, after the last one is done.
   * @param plan gives the change, and the entry chosen afterwards.
   */
  const edit = (plan: () => readonly [SongEdit, number] | undefined): void => {
    const make = async (): Promise<void> => {
      const planned = plan();
      if (planned === undefined) return;
      const [change, next] = planned;
      turn += 1;
      const words = await sheet.change({ type: 'song', module, turn, edit: change });
      refusal.put(words);
      if (words !== undefined) return;
      chosen.put(next);
      sheet.say(`${done(change)} Undo takes it back.`);
    };
    underWay.current = underWay.current.then(make);
  };
  const move = (by: number): void =>
    edit(() => {
      const from = here();
      const to = from + by;
      return to >= 0 && to < entriesNow().length ? [{ type: 'move', from, to }, to] : undefined;
    });
  const remove = (): void =>
    edit(() => {
      const last = entriesNow().length - 1;
      return last > 0 ? [{ type: 'remove', at: here() }, Math.min(here(), last - 1)] : undefined;
    });
  const add = (): void =>
    edit(() => {
      const pattern = entriesNow()[here()]?.pattern ?? '';
      return [{ type: 'insert', at: here() + 1, pattern }, here() + 1];
    });
  const byHand = ({ target }: Event): void => {
    const line = target instanceof Element ? target.closest<HTMLElement>('[data-entry]') : null;
    if (line !== null) chosen.put(Number(line.dataset.entry));
    // The list takes the focus, whichever line is pressed.
    list.current?.focus({ preventScroll: true });
  };
  const byKeys = (event: KeyboardEvent): void => {
    const { key, altKey, ctrlKey, metaKey } = event;
    if (ctrlKey || metaKey) return;
    const steps = { ArrowUp: -1, ArrowDown: 1, PageUp: -10, PageDown: 10 }[key];
    if (altKey && (key === 'ArrowUp' || key === 'ArrowDown')) move(key === 'ArrowUp' ? -1 : 1);
    else if (altKey) return;
    else if (steps !== undefined)
      chosen.put(Math.min(Math.max(here() + steps, 0), entriesNow().length - 1));
    else if (key === 'Home') chosen.put(0);
    else if (key === 'End') chosen.put(entriesNow().length - 1);
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
          onAdd={add}
          onFrom={(isAlone) =>
            sheet.toggleFrom({
              type: 'entry',
              module,
              entry: here(),
              ...(isAlone && { alone: true }),
            })
          }
        />
      </div>
      {entries.length > MOST_SHOWN && (
        <p class="quiet">
          Entries {first + 1} to {first + shown.length} of {entries.length}: arrow keys and Page
          Down go on.
        </p>
      )}
      <FromBar rhythm={rhythm} />
      {refusal.now !== undefined && (
        <p class="refusal" role="alert">
          Not taken: {refusal.now}
        </p>
      )}
    </div>
  );
}

/** Plays from any bar; "Length" says how many bars. */
function FromBar({ rhythm: { module, bars } }: { readonly rhythm: RhythmView }) {
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
        Begin with bar{' '}
        <Field
          label="First bar to play"
          place={`${module} from bar`}
          text={typed}
          usual="1"
          short
          onSend={go}
        />{' '}
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

/** Scrolls only the list, never the page. */
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
  /** Plays from the entry, or only the entry; or ends that. */
  readonly onFrom: (isAlone: boolean) => void;
}

/** The controls of the chosen entry. */
function Entry({ rhythm, at, onMove, onRemove, onAdd, onFrom }: EntryProps) {
  const { module, entries, patterns, controls } = rhythm;
  const sheet = useSheet();
  const from = useKnown('from');
  const entry = entries[at];
  if (entry === undefined) return null;
  const pattern = patterns.find(({ name }) => name === entry.pattern);
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
        <Choice
          key={at}
          label={`Entry ${at + 1}: pattern`}
          value={entry.pattern}
          options={patterns.map(({ name }) => name)}
          onChoose={(text) =>
            sheet.change({
              type: 'word',
              module,
              at: { type: 'entry', entry: at },
              word: 'pattern',
              text,
            })
          }
        />
        {says(controls.entry.slice(0, 1))}
        <SteadyButton isOff={at === 0} onClick={() => onMove(-1)}>
          Up
        </SteadyButton>
        <SteadyButton isOff={at === entries.length - 1} onClick={() => onMove(1)}>
          Down
        </SteadyButton>
        <button type="button" onClick={onAdd}>
          Add after
        </button>
        <SteadyButton isOff={entries.length === 1} onClick={onRemove}>
          Take out
        </SteadyButton>
        <button type="button" aria-pressed={isSameFrom(from, alone)} onClick={() => onFrom(true)}>
          Loop it
        </button>
        <button type="button" aria-pressed={isSameFrom(from, here)} onClick={() => onFrom(false)}>
          Begin with it
        </button>
      </div>
      <Fold words={`Other values of entry ${at + 1}`}>{() => says(controls.entry.slice(1))}</Fold>
    </fieldset>
  );
}
