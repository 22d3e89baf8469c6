/** Lights the cable under the pointer with both its ends, or all cables of the jack under it. */

/** Takes care of it from now on, whatever is drawn there later. */
export function lightCables(diagram: HTMLElement): void {
  diagram.addEventListener('pointerover', ({ target }) => {
    if (target instanceof Element) light(target);
  });
  diagram.addEventListener('pointerleave', () => unlight(diagram));
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
