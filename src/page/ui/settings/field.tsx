/** A typed value: Enter sends it; what is refused stays as it was typed, with the reason beside it. */

import { useId, useRef, useState } from 'preact/hooks';
import type { ChangeOutcome } from '../moves.ts';

export interface FieldProps {
  readonly label: string;
  /** What stands now. */
  readonly text: string;
  /** What may be typed. */
  readonly hint?: string;
  readonly wide?: boolean;
  readonly short?: boolean;
  /** What holds where nothing is given. */
  readonly usual?: string;
  /** Id of what is said of it besides. */
  readonly describedBy?: string | undefined;
  /** What may have been meant by what is refused. */
  readonly offer?: (typed: string) => readonly string[];
  readonly onSend: (text: string) => Promise<ChangeOutcome>;
}

export function Field(props: FieldProps) {
  const { label, text, hint, wide, short, usual, describedBy, offer, onSend } = props;
  const id = useId();
  const [draft, setDraft] = useState<string>();
  const [refusal, setRefusal] = useState<string>();
  const [meant, setMeant] = useState<readonly string[]>([]);
  const sent = useRef<string>(undefined);
  const field = useRef<HTMLInputElement>(null);
  // From the field itself: Enter may follow the last letter sooner than it is drawn.
  const send = async ({ value }: HTMLInputElement): Promise<void> => {
    // Leaving the field after a refusal does not ask again.
    if (value === sent.current) return;
    if (value.trim() === text) {
      reset();
      return;
    }
    sent.current = value;
    const words = await onSend(value.trim());
    if (words === undefined) reset();
    else {
      setRefusal(words);
      setMeant(offer?.(value) ?? []);
    }
  };
  const reset = (): void => {
    sent.current = undefined;
    setDraft(undefined);
    setRefusal(undefined);
    setMeant([]);
  };
  const take = async (offered: string): Promise<void> => {
    field.current?.focus();
    const words = await onSend(offered);
    if (words === undefined) reset();
    else setRefusal(words);
  };
  return (
    <>
      <input
        ref={field}
        class={wide ? 'typed long' : short ? 'typed short' : 'typed'}
        value={draft ?? text}
        aria-label={label}
        aria-invalid={refusal !== undefined}
        aria-describedby={refusal !== undefined ? id : describedBy}
        title={hint}
        placeholder={usual}
        spellcheck={false}
        autocomplete="off"
        data-text={text}
        data-draft={draft !== undefined && draft !== text ? '' : undefined}
        onInput={({ currentTarget }) => setDraft(currentTarget.value)}
        onBlur={({ currentTarget }) => void send(currentTarget)}
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
      {refusal !== undefined && (
        <span id={id} class="refusal" role="alert">
          Not taken: {refusal}
          {meant.map((one) => (
            <button key={one} type="button" class="meant" onClick={() => void take(one)}>
              {one}
            </button>
          ))}
        </span>
      )}
    </>
  );
}
