/** A finding at its place: what happens, what to do, and a button that mends it. */

import { haveSameTexts } from '../../patch/texts.ts';
import type { FindingView, MendLine } from '../protocol.ts';
import { useKnown, useSheet } from './use-sheet.ts';

/** A sign of its own for faults and cautions, beside their word. */
export function Sign({ severity }: Pick<FindingView, 'severity'>) {
  return <span class={`sign ${severity}`} aria-hidden="true" />;
}

/** Mends the finding that is shown; present where `check --fix` would change something. */
export function MendButton() {
  const sheet = useSheet();
  const mend = useKnown('mend');
  const files = useKnown('files');
  if (mend === undefined) return null;
  return (
    <button
      type="button"
      class="mend"
      title={mend.lines.map(lineWords).join('\n')}
      // If the texts have changed since, the check must look at them first.
      disabled={!haveSameTexts(mend.of, files)}
      onClick={({ currentTarget }) => {
        // The button disappears with the finding, so the focus goes to its row: to a scale if there is one,
        // which leaves letter keys to the page.
        const row = currentTarget.closest('.told-row')?.previousElementSibling;
        (
          row?.querySelector<HTMLElement>('[type=range]') ??
          row?.querySelector<HTMLElement>('select,input')
        )?.focus();
        void sheet.mend();
      }}
    >
      Mend
    </button>
  );
}

function lineWords({ isNew, text }: MendLine): string {
  return `${isNew ? '+' : '−'} ${text}`;
}

/** Id of the finding's text; only one finding is shown at a time. */
export const TOLD = 'told-here';

export interface FindingHereProps {
  readonly told: FindingView;
}

export function FindingHere({ told }: FindingHereProps) {
  const mend = useKnown('mend');
  const { severity, message, fix, isByHand } = told;
  return (
    <div class={`told-at ${severity}`}>
      <p id={TOLD}>
        <Sign severity={severity} />
        <b>{isByHand ? `new ${severity}` : severity}:</b> {message} <span class="quiet">{fix}</span>
      </p>
      {mend !== undefined && (
        <p class="mending">
          <MendButton />{' '}
          {mend.lines.map((line, index) => (
            <code key={index}>{lineWords(line)}</code>
          ))}
        </p>
      )}
    </div>
  );
}
