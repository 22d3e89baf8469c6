/** Reorders the page for printing, and back: paper is for patching, the screen for working. */

import { PAPER_ORDER } from '../../output/sheet/paper.ts';

/** Starts reordering for each print. */
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

/** Moves all parts. @returns a function that moves them back. */
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
