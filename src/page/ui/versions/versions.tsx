/** The bank of kept versions: kept, heard at the same place, at equal loudness if asked. */

import { useRef } from 'preact/hooks';
import { haveSameTexts } from '../../../patch/texts.ts';
import { Checkbox } from '../../pieces/checkbox.tsx';
import { decibels } from '../../pieces/where.ts';
import { useKnown, useSheet } from '../use-sheet.ts';
import { Wide } from '../wide.tsx';
import { differences, equalGain, type Version } from './bank.ts';

/** Differences that a row has room for. */
const MOST_WORDS = 6;

export function Versions() {
  const sheet = useSheet();
  const versions = useKnown('versions');
  const heard = useKnown('heard');
  const isEqual = useKnown('isEqual');
  const isSounding = (version: Version): boolean =>
    heard !== undefined && haveSameTexts(version.files, heard);
  return (
    <div class="on-screen">
      <h2 class="plain">Kept versions</h2>
      <KeepForm count={versions.length} />
      {versions.length > 0 && (
        <>
          <p class="controls">
            <Checkbox isOn={isEqual} onTurn={(isOn) => sheet.setEqual(isOn)}>
              Equally loud: each turned down to the quietest
            </Checkbox>
          </p>
          <Wide name="Kept versions">
            <table class="bank">
              <thead>
                <tr>
                  <th scope="col">key</th>
                  <th scope="col">version</th>
                  <th scope="col">differs from the first by</th>
                  <th scope="col">loudness</th>
                  {isEqual && <th scope="col">turned by</th>}
                  <th scope="col">
                    <span class="unseen">what to do</span>
                  </th>
                </tr>
              </thead>
              <tbody>
                {versions.map((version, index) => (
                  <tr key={version.id} aria-current={isSounding(version) ? 'true' : undefined}>
                    <td>
                      <kbd>{index + 1}</kbd>
                    </td>
                    <th scope="row">
                      {version.name}
                      {isSounding(version) && <span class="under">sounding</span>}
                    </th>
                    <td>{words(versions[0], version)}</td>
                    <td class="figure">{loudness(version)}</td>
                    {isEqual && (
                      <td class="figure">
                        {decibels(equalGain(version.loop?.loudnessLufs, versions))}
                      </td>
                    )}
                    <td class="acts">
                      <button
                        type="button"
                        aria-label={`Hear ${version.name}`}
                        aria-pressed={isSounding(version)}
                        onClick={() => sheet.hear(version)}
                      >
                        Hear
                      </button>
                      <button
                        type="button"
                        aria-label={`Remove ${version.name}`}
                        // The second of two quick clicks would meet the next row.
                        onClick={({ detail }) => detail < 2 && sheet.remove(version)}
                      >
                        Remove
                      </button>
                    </td>
                  </tr>
                ))}
              </tbody>
            </table>
          </Wide>
        </>
      )}
    </div>
  );
}

function KeepForm({ count }: { readonly count: number }) {
  const sheet = useSheet();
  const field = useRef<HTMLInputElement>(null);
  const keep = (event: Event): void => {
    event.preventDefault();
    const { current: input } = field;
    const isKept = sheet.keep(input?.value.trim() || `version ${count + 1}`);
    if (isKept && input !== null) input.value = '';
  };
  return (
    <form class="controls" onSubmit={keep}>
      <label>
        Name <input ref={field} placeholder={`version ${count + 1}`} />
      </label>
      <button type="submit">Keep what sounds now</button>
    </form>
  );
}

function words(first: Version | undefined, version: Version): string {
  if (first === undefined || first.id === version.id) return 'the first';
  if (first.view === undefined || version.view === undefined) return 'not heard yet';
  const all = differences(first.view, version.view);
  if (all.length === 0) return 'nothing that is heard';
  const more = all.length - MOST_WORDS;
  return all.slice(0, MOST_WORDS).join('; ') + (more > 0 ? `; and ${more} more` : '');
}

function loudness({ loop }: Version): string {
  const lufs = loop?.loudnessLufs;
  if (lufs === undefined) return '–';
  return Number.isFinite(lufs) ? `${decibels(lufs).replace(' dB', '')} LUFS` : 'silent';
}
