/** Listening at a jack: chosen in a list or on the diagram, with a chart of its volts. */

import { useEffect, useMemo } from 'preact/hooks';
import { DiagramFigure } from '../diagram/figure.tsx';
import { InlineSvg } from '../diagram/inline-svg.tsx';
import { VOLTS } from '../diagram/sound.tsx';
import { useKnown, useSheet } from '../use-sheet.ts';

/** @param diagram the island whose pictures have the jacks. */
export function Probe({ diagram }: { readonly diagram: HTMLElement }) {
  const sheet = useSheet();
  const probe = useKnown('probe');
  const drawn = useKnown('drawn');
  // Known from the start, since a list that grows would move everything below it.
  const jacks = useMemo(() => jacksIn(diagram), [diagram, drawn]);

  useEffect(() => {
    const listen = ({ target }: MouseEvent): void => {
      const jack = target instanceof Element ? jackOf(target) : undefined;
      if (jack !== undefined) sheet.setProbe(jack === sheet.store.now.probe ? undefined : jack);
    };
    diagram.addEventListener('click', listen);
    return () => diagram.removeEventListener('click', listen);
  }, [diagram, sheet]);
  useEffect(() => {
    for (const mark of diagram.querySelectorAll('[data-jack]'))
      mark.classList.toggle('probed', mark.getAttribute('data-jack') === probe);
  }, [diagram, probe, drawn]);

  return (
    <div class="on-screen">
      <p class="controls">
        <label>
          Listen at{' '}
          <select
            value={probe ?? ''}
            onChange={({ currentTarget: { value } }) =>
              sheet.setProbe(value === '' ? undefined : value)
            }
          >
            <option value="">the mix</option>
            {jacks.map((jack) => (
              <option key={jack}>{jack}</option>
            ))}
          </select>
        </label>
        <span class="quiet">
          or click a jack in the diagram: a tenth of its volts is heard, steady volts taken out,
          never loud.
        </span>
      </p>
    </div>
  );
}

/** The chart of the jack's volts, below the diagram, so that the diagram does not move. */
export function ProbeChart() {
  const probe = useKnown('probe');
  const charts = useKnown('charts').filter(({ name }) => name === VOLTS);
  if (probe === undefined) return null;
  return (
    <div class="on-screen">
      {charts.map(({ svg, caption }) => (
        <DiagramFigure key={caption} name={`Volts at ${probe}`} caption={caption} isPassing>
          <InlineSvg svg={svg} />
        </DiagramFigure>
      ))}
    </div>
  );
}

function jackOf(target: Element): string | undefined {
  return target.closest('[data-jack]')?.getAttribute('data-jack') ?? undefined;
}

function jacksIn(diagram: HTMLElement): readonly string[] {
  const names = [...diagram.querySelectorAll('[data-jack]')].map((one) => jackOf(one) ?? '');
  return [...new Set(names)].sort();
}
