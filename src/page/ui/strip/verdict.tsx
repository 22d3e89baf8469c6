/** What the check says, and the state of the file: in sight wherever the page is scrolled to. */

import { useEffect, useRef } from 'preact/hooks';
import type { FindingPlace, FindingView } from '../../protocol.ts';
import { fileName } from '../files/saving.ts';
import { MendButton, Sign } from '../finding.tsx';
import { useKeptFocus } from '../kept-focus.ts';
import { useKnown, useSheet } from '../use-sheet.ts';

export function Verdict() {
  const files = useKnown('files');
  const told = useKnown('told');
  const place = useRef<HTMLFieldSetElement>(null);
  useKeptFocus(place);
  const said = useRef<HTMLDivElement>(null);
  useEffect(() => {
    // From now on the summary is shown here as well.
    const words = document.querySelector('.about [data-part=summary]')?.innerHTML;
    if (said.current !== null) said.current.innerHTML = words ?? '';
  }, []);
  return (
    <fieldset ref={place} class="verdict" aria-label="What the check says" data-takes-keys="">
      <span class="file">{fileName(files.main)}</span>
      <div ref={said} data-part="summary" hidden={told !== undefined} />
      {told !== undefined && <Told told={told} />}
    </fieldset>
  );
}

function Told({ told }: { readonly told: FindingView }) {
  const sheet = useSheet();
  const { at, severity, counts, headline, message } = told;
  return (
    <>
      <p class={`told-now ${severity}`} title={message} role="status">
        <Sign severity={severity} />
        <b>{counts}:</b> {headline}
      </p>
      <a
        href={at.type === 'patch' ? '#findings' : at.type === 'cable' ? '#cables' : '#settings'}
        aria-label={`Show ${placeName(at)}`}
        onClick={(event) => {
          if (at.type === 'patch') return;
          event.preventDefault();
          sheet.seek(at);
        }}
      >
        Show
      </a>
      <MendButton />
    </>
  );
}

function placeName(at: FindingPlace): string {
  switch (at.type) {
    case 'setting':
      return `${at.module} ${at.setting}`;
    case 'cable':
      return `the cable from ${at.from} to ${at.to}`;
    case 'module':
      return at.module;
    case 'patch':
      return 'the findings';
  }
}
