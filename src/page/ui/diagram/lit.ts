/**
 * Highlights the cable under the pointer with both its ends, or all cables of the jack under it; by the
 * keyboard, the cable whose checkbox in the list has the focus.
 */

/** Starts the highlighting, also for diagrams that are drawn later. */
export function lightCables(diagram: HTMLElement): void {
  diagram.addEventListener('pointerover', ({ target }) => {
    if (target instanceof Element) light(target);
  });
  diagram.addEventListener('pointerleave', () => unlight(diagram));
  document.addEventListener('focusin', ({ target }) => {
    const cable = target instanceof HTMLElement ? target.dataset.cable : undefined;
    if (cable === undefined) return;
    // Its wire is in the figure of its part or, between parts, in the figure of the whole patch.
    const wire = [...diagram.querySelectorAll<SVGElement>('.wire')].find(
      ({ dataset }) => `${dataset.from} ${dataset.to}` === cable,
    );
    if (wire !== undefined) light(wire);
    else unlight(diagram);
  });
  function light(target: Element): void {
    unlight(diagram);
    const picture = target.closest('svg');
    if (picture === null) return;
    const wire = target.closest<SVGElement>('.wire');
    const jack = target.closest<SVGElement>('[data-jack]')?.dataset.jack;
    const wires = [...picture.querySelectorAll<SVGElement>('.wire')].filter(
      (one) =>
        one === wire || (jack !== undefined && [one.dataset.from, one.dataset.to].includes(jack)),
    );
    const ends = new Set(wires.flatMap(({ dataset }) => [dataset.from, dataset.to]));
    const jacks = [...picture.querySelectorAll<SVGElement>('[data-jack]')].filter(({ dataset }) =>
      ends.has(dataset.jack),
    );
    for (const one of [...wires, ...jacks]) one.dataset.lit = '';
  }
}

function unlight(diagram: HTMLElement): void {
  for (const one of diagram.querySelectorAll<SVGElement>('[data-lit]')) delete one.dataset.lit;
}
