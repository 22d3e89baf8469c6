/**
 * The bank of kept versions: kept, named, heard at the same place, at equal loudness if wanted, and
 * compared as by the command `compare`.
 */

import { useEffect, useLayoutEffect, useRef } from 'preact/hooks';
import { differenceText } from '../../../compare/figures.ts';
import { DOUBT_NOTE, showsDoubt } from '../../../measure/doubt.ts';
import { withMinus } from '../../../output/markup.ts';
import { haveSameTexts } from '../../../patch/texts.ts';
import { Blind } from '../../pieces/blind.tsx';
import { type Cell, useCell } from '../../pieces/cell.ts';
import { Checkbox } from '../../pieces/checkbox.tsx';
import { decibels } from '../../pieces/where.ts';
import { useKnown, useSheet } from '../use-sheet.ts';
import { Wide } from '../wide.tsx';
import { equalGain, freeName, leftOf, TOLD_FIGURES, type Version } from './bank.ts';
import { Spectra } from './spectra.tsx';

/** The most moves that a row shows. */
const MOST_WORDS = 6;

export function Versions() {
  const sheet = useSheet();
  const versions = useKnown('versions');
  const isEqual = useKnown('isEqual');
  const isBlind = useKnown('trial') !== undefined;
  return (
    <div class="on-screen">
      <h2 class="plain" id="versions">
        Kept versions
      </h2>
      {!isBlind && <KeepForm name={freeName(versions)} />}
      {versions.length === 0 && (
        <p class="quiet">
          None yet. Keep what sounds, change something and keep that too: the keys <kbd>1</kbd> and{' '}
          <kbd>2</kbd> then switch between them at the same place.
        </p>
      )}
      {!isBlind && versions.length > 0 && (
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
                  <th scope="col">to make it of the first</th>
                  <th scope="col">loudness</th>
                  {isEqual && <th scope="col">turned by</th>}
                  <th scope="col">
                    <span class="unseen">what to do</span>
                  </th>
                </tr>
              </thead>
              <tbody>
                {versions.map((version, index) => (
                  <Row key={version.id} version={version} number={index + 1} />
                ))}
              </tbody>
            </table>
          </Wide>
          <Spectra versions={versions} />
          {versions.length > 1 && <SideBySide versions={versions} />}
        </>
      )}
      {versions.length > 1 && <TellApart versions={versions} />}
    </div>
  );
}

/** @param name the name of a version that is not given one. */
function KeepForm({ name }: { readonly name: string }) {
  const sheet = useSheet();
  const field = useRef<HTMLInputElement>(null);
  const keep = async (event: Event): Promise<void> => {
    event.preventDefault();
    const typed = field.current?.value ?? '';
    const isKept = await sheet.keeping.keep(typed.trim());
    // Text that is typed meanwhile is for the next version.
    if (isKept && field.current?.value === typed) field.current.value = '';
  };
  return (
    <form class="controls" onSubmit={(event) => void keep(event)}>
      <label>
        Name <input ref={field} placeholder={name} />
      </label>
      <button type="submit">Keep what sounds now</button>
    </form>
  );
}

function Row({ version, number }: { readonly version: Version; readonly number: number }) {
  const { keeping } = useSheet();
  const versions = useKnown('versions');
  const isEqual = useKnown('isEqual');
  const heard = useKnown('heard');
  const isNaming = useCell(() => false);
  const rename = useRef<HTMLButtonElement>(null);
  const isBegun = useRef(false);
  // The focus goes back to the button that began it, unless it has moved elsewhere.
  useLayoutEffect(() => {
    if (isBegun.current && !isNaming.now && document.activeElement === document.body)
      rename.current?.focus();
    isBegun.current = isNaming.now;
  }, [isNaming.now]);
  const { name } = version;
  const isSounding = heard !== undefined && haveSameTexts(version.files, heard);
  return (
    <tr aria-current={isSounding ? 'true' : undefined}>
      <td>
        <kbd>{number}</kbd>
      </td>
      <th scope="row">
        {isNaming.now ? <NameField version={version} onEnd={() => isNaming.put(false)} /> : name}
        {isSounding && <span class="under">sounding</span>}
        {!isNaming.now && (
          <button
            ref={rename}
            type="button"
            class="rename"
            aria-label={`Retitle ${name}`}
            onClick={() => isNaming.put(true)}
          >
            Retitle
          </button>
        )}
      </th>
      <td>
        <Moves version={version} first={versions[0]} />
      </td>
      <td class="figure">{loudness(version)}</td>
      {isEqual && <td class="figure">{decibels(equalGain(version.loop, versions))}</td>}
      <td class="acts">
        <button
          type="button"
          aria-label={`Hear ${name}`}
          aria-pressed={isSounding}
          onClick={() => keeping.hear(version)}
        >
          Hear
        </button>
        <button
          type="button"
          aria-label={`Remove ${name}`}
          // The second of two quick clicks would hit the next row.
          onClick={({ detail }) => detail < 2 && keeping.remove(version)}
        >
          Remove
        </button>
      </td>
    </tr>
  );
}

interface NameFieldProps {
  readonly version: Version;
  readonly onEnd: () => void;
}

/** Enter takes the name, Escape leaves it as it was. */
function NameField({ version, onEnd }: NameFieldProps) {
  const { keeping } = useSheet();
  const field = useRef<HTMLInputElement>(null);
  const isLeft = useRef(false);
  useEffect(() => field.current?.select(), []);
  const onKey = (event: KeyboardEvent): void => {
    if (event.key !== 'Enter' && event.key !== 'Escape') return;
    event.preventDefault();
    isLeft.current = event.key === 'Escape';
    field.current?.blur();
  };
  return (
    <input
      ref={field}
      class="typed"
      aria-label={`Title of ${version.name}`}
      defaultValue={version.name}
      data-text={version.name}
      onKeyDown={onKey}
      onBlur={({ currentTarget }) => {
        if (!isLeft.current) keeping.rename(version, currentTarget.value);
        onEnd();
      }}
    />
  );
}

/** The moves that make the first version into this one. */
function Moves({
  version,
  first,
}: {
  readonly version: Version;
  readonly first: Version | undefined;
}) {
  if (first === undefined || first.id === version.id) return <>the first</>;
  const { told } = version;
  if (told?.beside !== first.id) return <>…</>;
  const { moves } = told;
  if (moves === undefined) return <>not known: one of the two is not a valid patch</>;
  if (moves.length === 0) return <>nothing: patched and set alike</>;
  const more = moves.length - MOST_WORDS;
  return (
    <ul class="moves">
      {moves.slice(0, MOST_WORDS).map(([verb, what, detail]) => (
        <li key={`${verb} ${what}`}>
          {verb} <b>{what}</b> {detail}
        </li>
      ))}
      {more > 0 && <li>and {more} more</li>}
    </ul>
  );
}

function SideBySide({ versions }: { readonly versions: readonly Version[] }) {
  const isOpen = useCell(() => false);
  const [first] = versions;
  const cells = TOLD_FIGURES.flatMap(({ of }) =>
    versions.flatMap(({ figures }) => (figures === undefined ? [] : [of(figures)])),
  );
  return (
    <details open={isOpen.now} onToggle={({ currentTarget }) => isOpen.put(currentTarget.open)}>
      <summary>Figures side by side</summary>
      {isOpen.now && first !== undefined && (
        <Wide name="Figures side by side">
          <table class="figures">
            <thead>
              <tr>
                <th scope="col">figure</th>
                {versions.map(({ id, name }) => (
                  <th key={id} scope="col">
                    {name}
                  </th>
                ))}
              </tr>
            </thead>
            <tbody>
              {TOLD_FIGURES.map(({ name, of }) => (
                <tr key={name}>
                  <th scope="row">{name}</th>
                  {versions.map(({ id, figures }) => (
                    <td key={id}>{figures === undefined ? '…' : withMinus(of(figures))}</td>
                  ))}
                </tr>
              ))}
              <tr>
                <th scope="row">left without the first, as loud</th>
                {versions.map((version) => (
                  <td key={version.id}>{version === first ? '–' : left(first, version)}</td>
                ))}
              </tr>
            </tbody>
          </table>
          {showsDoubt(cells) && <p class="quiet">{DOUBT_NOTE}</p>}
          <p class="quiet">
            The first, made as loud, subtracted sample by sample: two unrelated sounds leave +3 dB,
            a difference of 0.1 dB in level leaves −39 dB.
          </p>
        </Wide>
      )}
    </details>
  );
}

function left(first: Version, other: Version): string {
  const db = leftOf(first, other);
  return db === undefined ? '…' : withMinus(differenceText(db));
}

/** A blind test of two of them. */
function TellApart({ versions }: { readonly versions: readonly Version[] }) {
  const sheet = useSheet();
  // Kept separately: the second may be chosen before the first is drawn.
  const chosenOne = useCell<number | undefined>(() => undefined);
  const chosenOther = useCell<number | undefined>(() => undefined);
  const trial = useKnown('trial');
  const isPlaying = useKnown('isPlaying');
  const pair = (): readonly [number, number] => {
    const { versions: now } = sheet.store.now;
    const there = ({ now: id }: Cell<number | undefined>): number | undefined =>
      now.find((one) => one.id === id)?.id;
    return [there(chosenOne) ?? now[0]?.id ?? 0, there(chosenOther) ?? now.at(-1)?.id ?? 0];
  };
  const [one, other] = pair();
  const list = (label: string, value: number, chosen: Cell<number | undefined>) => (
    <label>
      {label}{' '}
      <select
        value={value}
        onChange={({ currentTarget }) => chosen.put(Number(currentTarget.value))}
      >
        {versions.map(({ id, name }) => (
          <option key={id} value={id}>
            {name}
          </option>
        ))}
      </select>
    </label>
  );
  return (
    <details class="tell-apart">
      <summary>Can you tell two apart?</summary>
      {trial === undefined && (
        <p class="controls">
          {list('Tell', one, chosenOne)}
          {list('from', other, chosenOther)}
          <span class="quiet">both as loud as the quieter</span>
        </p>
      )}
      <Blind
        test={sheet.keeping.blind}
        pair={pair}
        isPlaying={isPlaying}
        trial={trial}
        isWrongCount={useKnown('isWrongCount')}
        result={useKnown('result')}
      />
    </details>
  );
}

function loudness({ loop }: Version): string {
  const lufs = loop?.loudnessLufs;
  if (lufs === undefined) return '–';
  return Number.isFinite(lufs) ? `${decibels(lufs).replace(' dB', '')} LUFS` : 'silent';
}
