/** A typed value: Enter sends it; a refused value stays as it was typed, with the reason beside it. */

import { useId, useRef } from 'preact/hooks';
import { useCell } from '../../pieces/cell.ts';
import { usePicked } from '../../pieces/store.ts';
import type { ChangeOutcome } from '../moves.ts';
import { useSheet } from '../use-sheet.ts';

export interface FieldProps {
  readonly label: string;
  /** What it is the value of; the same for as long as the field is there. */
  readonly place: string;
  /** The present value. */
  readonly text: string;
  /** What may be typed. */
  readonly hint?: string;
  readonly wide?: boolean;
  readonly short?: boolean;
  /** The value that applies where none is given. */
  readonly usual?: string;
  /** Id of an element that describes it. */
  readonly describedBy?: string | undefined;
  /** Suggestions for a value that was refused. */
  readonly offer?: (typed: string) => readonly string[];
  readonly onSend: (text: string) => Promise<ChangeOutcome>;
}

export function Field(props: FieldProps) {
  const { label, place, text, hint, wide, short, usual, describedBy, offer, onSend } = props;
  const id = useId();
  const { drafts } = useSheet();
  const draft = usePicked(drafts, (all) => all[place]);
  const refusal = useCell<string | undefined>(() => undefined);
  const meant = useCell<readonly string[]>(() => []);
  const sent = useRef<string>(undefined);
  // The present value, or the one that was sent.
  const standing = useRef(text);
  const underWay = useRef(0);
  if (underWay.current === 0) standing.current = text;
  const field = useRef<HTMLInputElement>(null);
  // Read from the field itself: Enter may come before the last letter is drawn.
  const send = async ({ value }: HTMLInputElement): Promise<void> => {
    // Leaving the field after a refusal does not ask again.
    if (value === sent.current) return;
    if (value.trim() === standing.current) {
      if (underWay.current === 0) reset();
      else sent.current = value;
      return;
    }
    sent.current = value;
    const words = await ask(value.trim());
    // Text that was typed or sent meanwhile is not touched.
    if (sent.current !== value) return;
    if (words === undefined) {
      if (drafts.now[place] === value) reset();
    } else {
      refusal.put(words);
      meant.put(offer?.(value) ?? []);
    }
  };
  const ask = async (value: string): Promise<ChangeOutcome> => {
    const before = standing.current;
    standing.current = value;
    underWay.current += 1;
    const words = await onSend(value);
    underWay.current -= 1;
    if (words !== undefined && standing.current === value) standing.current = before;
    return words;
  };
  const reset = (): void => {
    sent.current = undefined;
    drafts.put({ [place]: undefined });
    refusal.put(undefined);
    meant.put([]);
  };
  const take = async (offered: string): Promise<void> => {
    field.current?.focus();
    const words = await ask(offered);
    if (words === undefined) reset();
    else refusal.put(words);
  };
  return (
    <>
      <input
        ref={field}
        class={wide ? 'typed long' : short ? 'typed short' : 'typed'}
        value={draft ?? text}
        aria-label={label}
        aria-invalid={refusal.now !== undefined}
        aria-describedby={refusal.now !== undefined ? id : describedBy}
        title={hint}
        placeholder={usual}
        spellcheck={false}
        autocomplete="off"
        data-text={text}
        data-draft={draft !== undefined && draft !== text ? '' : undefined}
        onInput={({ currentTarget }) => drafts.put({ [place]: currentTarget.value })}
        onBlur={({ currentTarget }) => {
          // A field that is drawn away has not been left by its hand, which may be in the middle of a number.
          if (field.current !== null) void send(currentTarget);
        }}
        onKeyDown={({ key, isComposing, currentTarget }) => {
          if (key === 'Enter' && !isComposing) {
            sent.current = undefined;
            void send(currentTarget);
          }
          if (key === 'Escape') {
            currentTarget.value = text;
            reset();
          }
        }}
      />
      {refusal.now !== undefined && (
        <span id={id} class="refusal" role="alert">
          Not taken: {refusal.now}
          {meant.now.map((one) => (
            <button key={one} type="button" class="meant" onClick={() => void take(one)}>
              {one}
            </button>
          ))}
        </span>
      )}
    </>
  );
}
