/** The blind test: no name is shown while it goes on, and the result is shown at the end. */

import { useEffect, useRef } from 'preact/hooks';
import type { BlindState, BlindTest, Trial, TrialSound } from './blind.ts';
import { LEAST_TRIALS, MOST_TRIALS } from './blind.ts';

export interface BlindProps extends BlindState {
  readonly test: BlindTest;
  /** Gives the numbers of the two sounds that are to be told apart. */
  readonly pair: () => readonly [number, number];
  readonly isPlaying: boolean;
}

export function Blind({ trial, ...props }: BlindProps) {
  const { test, isPlaying, result } = props;
  return (
    <>
      {trial === undefined ? (
        <Start {...props} />
      ) : (
        <Trials test={test} isPlaying={isPlaying} trial={trial} />
      )}
      <p id="blind-result">{result}</p>
    </>
  );
}

function Start({ test, pair, isWrongCount, result }: Omit<BlindProps, 'trial'>) {
  const trials = useRef<HTMLInputElement>(null);
  const begin = useRef<HTMLButtonElement>(null);
  // After a test the focus goes to the button that begins the next.
  useEffect(() => {
    if (result !== '') begin.current?.focus();
  }, []);
  const onBegin = async (): Promise<void> => {
    await test.begin(pair(), trials.current?.value ?? '');
    if (test.isWrongCount) trials.current?.focus();
  };
  return (
    <div id="blind-start">
      <p>
        The names are hidden. X is one of the two, drawn by lot each time. Listen as long as you
        like, then say which it is; the result is shown at the end.
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
          aria-invalid={isWrongCount}
        />{' '}
        <button ref={begin} type="button" id="begin" onClick={() => void onBegin()}>
          Begin
        </button>
      </p>
    </div>
  );
}

interface TrialsProps extends Pick<BlindProps, 'test' | 'isPlaying'> {
  readonly trial: Trial;
}

function Trials({ test, isPlaying, trial: { number, trials, heard } }: TrialsProps) {
  const x = useRef<HTMLButtonElement>(null);
  useEffect(() => x.current?.focus(), []);
  const hear = (which: TrialSound, words: string, key: string) => (
    <button
      ref={which === 'x' ? x : null}
      type="button"
      id={`blind-${which}`}
      aria-pressed={isPlaying && heard === which}
      aria-keyshortcuts={key}
      onClick={() => test.hear(which)}
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
        <button type="button" id="answer-first" onClick={() => test.answer(0)}>
          X is the first
        </button>
        <button type="button" id="answer-second" onClick={() => test.answer(1)}>
          X is the second
        </button>
        <button type="button" id="give-up" onClick={() => test.giveUp()}>
          Give up
        </button>
      </fieldset>
      <p class="quiet">
        Keys: <kbd>1</kbd>, <kbd>X</kbd> and <kbd>2</kbd> listen.
      </p>
    </div>
  );
}
