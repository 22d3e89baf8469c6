/** The spectra of the chosen versions over each other, each in its own line style. */

import { useEffect } from 'preact/hooks';
import { LINE_STYLES } from '../../../output/chart/colours.ts';
import { type Cell, useCell } from '../../pieces/cell.ts';
import { Checkbox } from '../../pieces/checkbox.tsx';
import type { SpectraView, SpectrumOf } from '../../protocol.ts';
import { DiagramFigure } from '../diagram/figure.tsx';
import { InlineSvg } from '../diagram/inline-svg.tsx';
import { useKnown, useSheet } from '../use-sheet.ts';
import { equalGain, type Version } from './bank.ts';

export function Spectra({ versions }: { readonly versions: readonly Version[] }) {
  const isOpen = useCell(() => false);
  // Ids in drawing order; the first few versions until a person has chosen.
  const chosen = useCell<readonly number[] | undefined>(() => undefined);
  return (
    <details open={isOpen.now} onToggle={({ currentTarget }) => isOpen.put(currentTarget.open)}>
      <summary>Spectra over each other</summary>
      {isOpen.now && <Chosen versions={versions} chosen={chosen} />}
    </details>
  );
}

interface ChosenProps {
  readonly versions: readonly Version[];
  readonly chosen: Cell<readonly number[] | undefined>;
}

function Chosen({ versions, chosen }: ChosenProps) {
  const { store } = useSheet();
  const shown = shownOf(versions, chosen);
  const turn = (id: number, isOn: boolean): void => {
    const now = shownOf(store.now.versions, chosen);
    chosen.put(isOn ? [...now, id].slice(-LINE_STYLES) : now.filter((one) => one !== id));
  };
  return (
    <>
      <p class="controls">
        {versions.map(({ id, name }) => (
          <Checkbox key={id} isOn={shown.includes(id)} onTurn={(isOn) => turn(id, isOn)}>
            <span class="unseen">spectrum of </span>
            {name}
          </Checkbox>
        ))}
        {versions.length > LINE_STYLES && (
          <span class="quiet">At most {LINE_STYLES} at once: the one chosen first gives way.</span>
        )}
      </p>
      <Chart versions={shown.flatMap((id) => versions.find((one) => one.id === id) ?? [])} />
    </>
  );
}

function shownOf(
  versions: readonly Version[],
  { now }: Cell<readonly number[] | undefined>,
): readonly number[] {
  const ids = versions.map(({ id }) => id);
  return (now?.filter((id) => ids.includes(id)) ?? ids).slice(0, LINE_STYLES);
}

function Chart({ versions }: { readonly versions: readonly Version[] }) {
  const { keeping } = useSheet();
  const isEqual = useKnown('isEqual');
  const all = useKnown('versions');
  const drawn = useCell<SpectraView | undefined>(() => undefined);
  const of = versions.flatMap(({ name, loop, figures }): readonly SpectrumOf[] => {
    if (figures === undefined) return [];
    const gain = isEqual ? equalGain(loop, all) : 0;
    return [
      { name, points: figures.bands.map(({ hz, db }) => [hz, db === null ? null : db + gain]) },
    ];
  });
  const wish = JSON.stringify({ of, isEqual });
  useEffect(() => {
    let isMeant = true;
    void keeping.spectra(of, isEqual).then((spectra) => {
      if (isMeant) drawn.put(spectra);
    });
    return () => {
      isMeant = false;
    };
  }, [wish, keeping]);
  if (versions.length === 0) return <p class="quiet">None is chosen.</p>;
  const missing = versions.filter(({ figures }) => figures === undefined);
  return (
    <>
      {missing.length > 0 && (
        <p class="quiet">Not heard to the end yet: {missing.map(({ name }) => name).join(', ')}.</p>
      )}
      {of.length > 0 && drawn.now !== undefined && (
        <DiagramFigure name="Spectra of kept versions" caption={drawn.now.caption} isPassing>
          <InlineSvg svg={drawn.now.svg} />
        </DiagramFigure>
      )}
    </>
  );
}
