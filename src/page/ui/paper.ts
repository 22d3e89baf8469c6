/** Puts the page into the order of the paper to print it, and back: on paper one patches, on a screen one works. */

import { PAPER_ORDER } from '../../output/sheet/paper.ts';

/** Takes care of it from now on. */
export function orderPaper(): void {
  let back: (() => void) | undefined;
  addEventListener('beforeprint', () => {
    back ??= ordered();
  });
  addEventListener('afterprint', () => {
    back?.();
    back = undefined;
  });
}

/** Moves all; @returns what moves it back. */
function ordered(): () => void {
  const main = document.querySelector('main');
  const about = document.querySelector('.about');
  const sections = PAPER_ORDER.flatMap(
    (id) => document.getElementById(id)?.closest('section') ?? [],
  );
  if (main === null) return () => undefined;
  const places = [...(about === null ? [] : [about]), ...sections].map((element) => {
    const mark = document.createComment('');
    element.before(mark);
    return { element, mark };
  });
  for (const { element } of places) main.append(element);
  return () => {
    for (const { element, mark } of places) mark.replaceWith(element);
  };
}
