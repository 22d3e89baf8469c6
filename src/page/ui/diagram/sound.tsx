/** Envelope and spectrum of the chosen voice. */

import { useKnown, useSheet } from '../use-sheet.ts';
import { DiagramFigure } from './figure.tsx';
import { InlineSvg } from './inline-svg.tsx';

/** The chart of the probed jack, which stands with the diagram. */
export const VOLTS = 'volts';

export function SoundCharts() {
  const sheet = useSheet();
  const charts = useKnown('charts').filter(({ name }) => name !== VOLTS);
  const lack = useKnown('lack');
  const voice = useKnown('voice');
  const voices = useKnown('view')?.voices ?? [];
  return (
    <>
      {voices.length > 0 && (
        <p class="controls on-screen">
          <label>
            Voice{' '}
            <select
              value={voice ?? ''}
              onChange={({ currentTarget: { value } }) =>
                sheet.setVoice(value === '' ? undefined : value)
              }
            >
              <option value="">the mix</option>
              {voices.map(({ name }) => (
                <option key={name}>{name}</option>
              ))}
            </select>
          </label>
        </p>
      )}
      {charts.length === 0 && lack !== undefined && <p>No envelope and no spectrum: {lack}</p>}
      {charts.map(({ name, svg, caption }) => (
        <DiagramFigure key={name} name={name} caption={caption}>
          <InlineSvg svg={svg} />
        </DiagramFigure>
      ))}
    </>
  );
}
