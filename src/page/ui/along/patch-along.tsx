/** Patching along: a dialog that shows one cable at a time, large enough to be read from the cabinet. */

import { useEffect, useRef } from 'preact/hooks';
import { usePlaying } from '../../pieces/deck.ts';
import { isPressed, isTyped } from '../../pieces/keys.ts';
import { Volume } from '../../pieces/strip.tsx';
import type {
  AlongEnd,
  AlongHeard,
  AlongStepView,
  AlongView,
  SuspectView,
} from '../../protocol.ts';
import { useKnown, useSheet } from '../use-sheet.ts';
import { Wide } from '../wide.tsx';

export function PatchAlong() {
  const sheet = useSheet();
  const isOpen = useKnown('along') !== undefined;
  const ticks = useKnown('ticks');
  return (
    <div class="on-screen">
      <p class="controls">
        <button type="button" onClick={() => sheet.patching.open()}>
          Patch along
        </button>
        <span class="quiet">
          one cable after another: what to measure, what to hear, and what can be wrong.
          {ticks.size > 0 && ' Ticks are kept.'}
        </span>
      </p>
      {isOpen && <Dialog />}
    </div>
  );
}

function Dialog() {
  const sheet = useSheet();
  const view = useKnown('along')?.view;
  const hasKeys = useKnown('hasKeys');
  const dialog = useRef<HTMLDialogElement>(null);
  useEffect(() => dialog.current?.showModal(), []);
  const { patching } = sheet;

  const onKey = (event: KeyboardEvent): void => {
    const { key, target, altKey, ctrlKey, metaKey, repeat } = event;
    if (altKey || ctrlKey || metaKey) return;
    // The page below the dialog has keys of its own.
    event.stopPropagation();
    if (!(target instanceof Element) || repeat || !hasKeys) return;
    if (key === ' ' ? isPressed(target) : isTyped(target)) return;
    const play = (): void => {
      if (sheet.store.now.along?.heard?.sound !== undefined) sheet.toggle();
    };
    const act = {
      ' ': play,
      p: play,
      d: () => patching.done(),
      n: () => patching.turnDoubt(),
      arrowright: () => patching.step(1),
      arrowleft: () => patching.step(-1),
    }[key.toLowerCase()];
    if (act === undefined) return;
    event.preventDefault();
    act();
  };

  return (
    <dialog
      ref={dialog}
      class="along"
      aria-labelledby="along-title"
      onClose={() => patching.close()}
      onKeyDown={onKey}
    >
      <div class="along-head">
        <h2 id="along-title" class="plain">
          Patch along
        </h2>
        {view !== undefined && view.cables.length > 0 && <Chosen view={view} />}
        <button type="button" onClick={() => dialog.current?.close()}>
          Close
        </button>
      </div>
      {view === undefined ? <p>The cables are being looked up.</p> : <Told view={view} />}
    </dialog>
  );
}

/** Which cable it is, and a list to go to any other. */
function Chosen({ view: { cables, step } }: { readonly view: AlongView }) {
  const { patching } = useSheet();
  const ticks = useKnown('ticks');
  const groups = [...new Set(cables.map(({ group }) => group))];
  const count = cables.filter(({ name }) => ticks.has(name)).length;
  return (
    <>
      <label>
        Cable{' '}
        <select value={step?.name} onChange={({ currentTarget: { value } }) => patching.go(value)}>
          {groups.map((group) => (
            <optgroup key={group} label={group}>
              {cables
                .filter((cable) => cable.group === group)
                .map(({ name, number, from, to }) => (
                  <option key={name} value={name}>
                    {`${number}. ${from} → ${to}${ticks.has(name) ? ', done' : ''}`}
                  </option>
                ))}
            </optgroup>
          ))}
        </select>
      </label>
      <span class="along-count">
        {count} of {cables.length} done
      </span>
      {count > 0 && (
        <button type="button" onClick={() => patching.clear()}>
          Take all ticks off
        </button>
      )}
    </>
  );
}

function Told({ view }: { readonly view: AlongView }) {
  const { step, cables, lack } = view;
  if (step === undefined)
    return (
      <p>{lack ?? 'This patch has no cables. Write some into its file, and they are here.'}</p>
    );
  const at = cables.findIndex(({ name }) => name === step.name);
  return <Step step={step} number={at + 1} count={cables.length} />;
}

interface StepProps {
  readonly step: AlongStepView;
  readonly number: number;
  readonly count: number;
}

function Step({ step, number, count }: StepProps) {
  const sheet = useSheet();
  const { patching } = sheet;
  const heard = useKnown('along')?.heard;
  const isDoubted = useKnown('along')?.isDoubted === true;
  const ticks = useKnown('ticks');
  const cables = useKnown('along')?.view?.cables ?? [];
  const done = useRef<HTMLButtonElement>(null);
  const isDone = ticks.has(step.name);
  // The focus is on "done", so that Enter goes from cable to cable.
  useEffect(() => {
    if (isDoubted) return;
    done.current?.focus({ preventScroll: true });
    done.current?.closest('dialog')?.scrollTo({ top: 0 });
  }, [step.name, isDoubted]);
  const { from, to, carries, rows, trigger } = step;
  return (
    <>
      <div class="along-cable" aria-live="polite">
        <p class="along-number">
          {number} <span class="quiet">of {count}</span>
        </p>
        <dl>
          <End what="from" end={from} />
          <End what="to" end={to} />
          <div>
            <dt>carries</dt>
            <dd>{carries}</dd>
          </div>
        </dl>
      </div>
      <div class="along-both">
        <div>
          <h3>
            Measure at {to.module}.{to.jack}
          </h3>
          <table class="along-volts">
            <tbody>
              {[...rows, ...(heard?.rows ?? [['while it plays', '…']])].map(([when, volts]) => (
                <tr key={when}>
                  <th scope="row">{when}</th>
                  <td>{volts}</td>
                </tr>
              ))}
            </tbody>
          </table>
          {trigger !== undefined && <p>{trigger}</p>}
        </div>
        <div>
          <h3>Hear</h3>
          <Hear heard={heard} />
        </div>
      </div>
      {isDoubted && <Suspects suspects={step.suspects} to={to} />}
      <p class="message" role="status">
        {cables.every(({ name }) => ticks.has(name)) && 'All cables are in.'}
      </p>
      <fieldset class="controls along-acts" aria-label="This cable">
        <button
          ref={done}
          type="button"
          class="due"
          aria-keyshortcuts="D"
          onClick={() => patching.done()}
        >
          {isDone ? 'Done already: next' : 'Done'}
        </button>
        <button
          type="button"
          aria-keyshortcuts="N"
          aria-expanded={isDoubted}
          onClick={() => patching.turnDoubt()}
        >
          It is not so
        </button>
        <button
          type="button"
          aria-keyshortcuts="ArrowLeft"
          disabled={number === 1}
          onClick={() => patching.step(-1)}
        >
          Back
        </button>
        <button
          type="button"
          aria-keyshortcuts="ArrowRight"
          disabled={number === count}
          onClick={() => patching.step(1)}
        >
          Next
        </button>
        {isDone && (
          <button type="button" onClick={() => patching.tick(step.name, false)}>
            Take the tick off
          </button>
        )}
        <p class="quiet along-keys">
          Keys: <kbd>D</kbd> done, <kbd>N</kbd> it is not so, <kbd>←</kbd> and <kbd>→</kbd> back and
          on, <kbd>P</kbd> plays and stops, <kbd>Esc</kbd> closes. Power modules down before
          touching anything but patch cables.
        </p>
      </fieldset>
    </>
  );
}

function End({ what, end }: { readonly what: string; readonly end: AlongEnd }) {
  const { module, jack, kind, about } = end;
  return (
    <div class="along-end">
      <dt>{what}</dt>
      <dd>
        <b>{module}</b>.{jack}
        <span class="under">
          {kind}: {about}
        </span>
      </dd>
    </div>
  );
}

function Hear({ heard }: { readonly heard: AlongHeard | undefined }) {
  const sheet = useSheet();
  const isPlaying = usePlaying(sheet.deck);
  const volume = useKnown('volume');
  if (heard === undefined) return <p>It is being played.</p>;
  return (
    <>
      <p>{heard.words}</p>
      {heard.sound !== undefined && (
        <p class="controls">
          <button type="button" class="play" aria-keyshortcuts="P" onClick={() => sheet.toggle()}>
            {isPlaying ? 'Stop' : 'Play'}
          </button>
          <Volume volume={volume} onVolume={(decibels) => sheet.setVolume(decibels)} />
          <span class="quiet">
            Never loud: steady volts are taken out, and at most −12 dB under full scale before the
            volume.
          </span>
        </p>
      )}
    </>
  );
}

function Suspects({
  suspects,
  to,
}: {
  readonly suspects: readonly SuspectView[];
  readonly to: AlongEnd;
}) {
  const head = useRef<HTMLHeadingElement>(null);
  useEffect(() => {
    head.current?.focus({ preventScroll: true });
    head.current?.scrollIntoView({ block: 'nearest' });
    // Told again, they leave a hand where it is.
  }, []);
  return (
    <section class="along-suspects" aria-label="What can be wrong">
      <h3 ref={head} tabIndex={-1}>
        What can be wrong, and what the meter shows at {to.module}.{to.jack} then
      </h3>
      <Wide name="What can be wrong">
        <table>
          <thead>
            <tr>
              <th scope="col">if it shows</th>
              <th scope="col">this may be it</th>
              <th scope="col">what to do</th>
            </tr>
          </thead>
          <tbody>
            {suspects.map(({ what, look, shows, isAlike, why }) => (
              <tr key={what}>
                <th scope="row">
                  {shows}
                  {isAlike && <span class="under">as it should: a meter cannot tell</span>}
                </th>
                <td>
                  {what}
                  {why !== undefined && (
                    <details>
                      <summary>Why</summary>
                      {why}
                    </details>
                  )}
                </td>
                <td>{look}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </Wide>
    </section>
  );
}
