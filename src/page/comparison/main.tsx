/** The entry of the page to compare on: mounts its interactive parts. */

import { type ComponentChildren, render } from 'preact';
import type { PageClip } from '../pieces/clip.ts';
import { Clips } from '../pieces/clips.ts';
import { isPressed, isTyped, onPlainKey } from '../pieces/keys.ts';
import { rescueFocus } from '../pieces/rescued-focus.ts';
import { stripPlace } from '../pieces/strip.tsx';
import { ComparisonSession } from './comparison.ts';
import { Acts, BlindComparison, ComparisonStrip, ListenComparison } from './listen.tsx';
import { ComparisonContext } from './use-comparison.ts';

const comparison = new ComparisonSession(
  new Clips(JSON.parse(document.getElementById('clips')?.textContent ?? '[]') as PageClip[]),
);

function mount(place: Element | null, part: ComponentChildren): void {
  if (place !== null)
    render(
      <ComparisonContext.Provider value={comparison}>{part}</ComparisonContext.Provider>,
      place,
    );
}

mount(stripPlace(), <ComparisonStrip />);
mount(document.querySelector('[data-island=listen]'), <ListenComparison />);
mount(document.querySelector('[data-island=blind]'), <BlindComparison />);
for (const cell of document.querySelectorAll<HTMLElement>('tbody .acts'))
  mount(cell, <Acts index={Number(cell.parentElement?.dataset.clip)} />);

// The table and the pictures are static parts of the document.
comparison.store.listen(() => {
  const { trial, sounds } = comparison.store.now;
  const root = document.documentElement;
  root.toggleAttribute('data-blind', trial !== undefined);
  root.toggleAttribute('data-placeless', comparison.isPaceTelling);
  for (const row of document.querySelectorAll<HTMLElement>('[data-clip]'))
    row.classList.toggle('sounds', trial === undefined && Number(row.dataset.clip) === sounds);
});

rescueFocus(document);
onPlainKey((key, target, event) => {
  const { hasKeys, trial } = comparison.store.now;
  if (!hasKeys || (key === ' ' ? isPressed(target) : isTyped(target))) return;
  const acts: Readonly<Record<string, () => void>> = {
    ' ': () => comparison.toggle(),
    ...(trial === undefined
      ? { a: () => comparison.hearSide('a'), b: () => comparison.hearSide('b') }
      : {
          1: () => comparison.blind.hear('first'),
          2: () => comparison.blind.hear('second'),
          x: () => comparison.blind.hear('x'),
        }),
  };
  const act = acts[key.toLowerCase()];
  if (act === undefined) return;
  event.preventDefault();
  act();
});
