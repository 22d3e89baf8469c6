/** The blind test: no name is shown while it goes on, and how well one did is told at the end. */

import { useEffect, useRef } from 'preact/hooks';
import { LEAST_TRIALS, MOST_TRIALS, type Trial, type TrialSound } from './comparison.ts';
import { useComparison, useKnown } from './use-comparison.ts';

export function Blind() {
  const trial = useKnown('trial');
  const result = useKnown('result');
  return (
    <>
      {trial === undefined ? <Start /> : <Test {...trial} />}
      <p id="blind-result">{result}</p>
    </>
  );
}

function Start() {
  const comparison = useComparison();
  const isWrong = useKnown('isWrongCount');
  const result = useKnown('result');
  const trials = useRef<HTMLInputElement>(null);
  const begin = useRef<HTMLButtonElement>(null);
  // After a test the focus is where the next one begins.
  useEffect(() => {
    if (result !== '') begin.current?.focus();
  }, []);
  const onBegin = async (): Promise<void> => {
    await comparison.begin(trials.current?.value ?? '');
    if (comparison.store.now.isWrongCount) trials.current?.focus();
  };
  return (
    <div id="blind-start">
      <p>
        The names are hidden. X is one of the two, drawn by lot each time. Listen as long as you
        like, then say which it is; how well you did is told at the end.
      </p>
      <p>
        <label for="trials">Trials</label>{' '}
        <input
          ref={trials}
          id="trials"
          type="number"
          min={LEAST_TRIALS}
          max={MOST_TRIALS}
          defaultValue="10"
          aria-invalid={isWrong}
        />{' '}
        <button ref={begin} type="button" id="begin" onClick={() => void onBegin()}>
          Begin
        </button>
      </p>
    </div>
  );
}

function Test({ number, trials, heard }: Trial) {
  const comparison = useComparison();
  const x = useRef<HTMLButtonElement>(null);
  useEffect(() => x.current?.focus(), []);
  const isPlaying = useKnown('sounds') !== undefined;
  const hear = (which: TrialSound, words: string, key: string) => (
    <button
      ref={which === 'x' ? x : null}
      type="button"
      id={`blind-${which}`}
      aria-pressed={isPlaying && heard === which}
      aria-keyshortcuts={key}
      onClick={() => comparison.hearBlind(which)}
    >
      {words}
    </button>
  );
  return (
    <div id="blind">
      <p id="blind-count">
        Trial {number} of {trials}
      </p>
      <fieldset class="controls" aria-label="Listen">
        {hear('first', 'Hear the first', '1')}
        {hear('x', 'Hear X', 'X')}
        {hear('second', 'Hear the second', '2')}
      </fieldset>
      <fieldset class="controls" aria-label="Answer">
        <button type="button" id="answer-first" onClick={() => comparison.answer(0)}>
          X is the first
        </button>
        <button type="button" id="answer-second" onClick={() => comparison.answer(1)}>
          X is the second
        </button>
        <button type="button" id="give-up" onClick={() => comparison.giveUp()}>
          Give up
        </button>
      </fieldset>
      <p class="quiet">
        Keys: <kbd>1</kbd>, <kbd>X</kbd> and <kbd>2</kbd> listen.
      </p>
    </div>
  );
}
