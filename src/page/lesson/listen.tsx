/** Listening to a lesson: the strip, how stages follow one another, and a button at each. */

import { Checkbox } from '../pieces/checkbox.tsx';
import { Chooser } from '../pieces/chooser.tsx';
import { KeysBox } from '../pieces/keys-box.tsx';
import { Strip } from '../pieces/strip.tsx';
import { whereWords } from '../pieces/where.ts';
import { useKnown, useLesson } from './use-lesson.ts';

export function LessonStrip() {
  const lesson = useLesson();
  const taken = useKnown('taken');
  const volume = useKnown('volume');
  const span = lesson.deck.span();
  return (
    <Strip
      deck={lesson.deck}
      sounding={taken}
      span={span}
      words={(share) => (span === undefined ? '' : whereWords(share, span))}
      isReady
      onPlay={() => lesson.toggle()}
      volume={volume}
      onVolume={(decibels) => lesson.setVolume(decibels)}
    />
  );
}

export function ListenLesson() {
  const lesson = useLesson();
  const message = useKnown('message');
  const isAround = useKnown('isAround');
  const goesOn = useKnown('goesOn');
  const needsFiles = useKnown('needsFiles');
  const hasKeys = useKnown('hasKeys');
  return (
    <>
      <p id="status" class="message on-screen" role="status" aria-live="polite">
        {message}
      </p>
      {needsFiles && <Chooser onFiles={(files) => lesson.takeFiles(files)} />}
      <p class="controls on-screen">
        <Checkbox isOn={isAround} onTurn={(isOn) => lesson.setAround(isOn)}>
          A stage again and again
        </Checkbox>
        <Checkbox isOn={goesOn} onTurn={(isOn) => lesson.setGoesOn(isOn)}>
          One stage after the other
        </Checkbox>
      </p>
      <KeysBox hasKeys={hasKeys} onKeys={(on) => lesson.setKeys(on)}>
        <kbd>1</kbd> to <kbd>9</kbd> play a stage from its start, <kbd>Space</kbd> plays and stops.
      </KeysBox>
    </>
  );
}

/** The button of a stage. */
export function Hear({ stage }: { readonly stage: number }) {
  const lesson = useLesson();
  const isPlaying = useKnown('isPlaying');
  const isHere = useKnown('stage') === stage && isPlaying;
  return (
    <button
      type="button"
      aria-pressed={isHere}
      aria-label={`Hear ${lesson.nameOf(stage)}`}
      {...(stage < 9 && { 'aria-keyshortcuts': String(stage + 1) })}
      onClick={() => lesson.toggleStage(stage)}
    >
      Hear
    </button>
  );
}
