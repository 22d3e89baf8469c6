/** Listening: the strip, the two sides to switch between, and the buttons of each clip. */

import { Blind } from '../pieces/blind.tsx';
import { Chooser } from '../pieces/chooser.tsx';
import { KeysBox } from '../pieces/keys-box.tsx';
import { Strip } from '../pieces/strip.tsx';
import { whereWords } from '../pieces/where.ts';
import type { Side } from './comparison.ts';
import { useComparison, useKnown } from './use-comparison.ts';

export function ComparisonStrip() {
  const comparison = useComparison();
  const taken = useKnown('taken');
  const isBlind = useKnown('trial') !== undefined;
  const volume = useKnown('volume');
  const span = comparison.deck.span() ?? NOTHING;
  // A picture or a length would give away which clip it is.
  const words = (share: number): string => {
    if (comparison.isPaceTelling) return 'hidden';
    return isBlind || taken === undefined
      ? `${Math.round(100 * share)} %`
      : whereWords(share, span);
  };
  return (
    <Strip
      deck={comparison.deck}
      sounding={isBlind ? undefined : taken}
      span={span}
      words={words}
      isReady
      onPlay={() => comparison.toggle()}
      volume={volume}
      onVolume={(decibels) => comparison.setVolume(decibels)}
    />
  );
}

/** The place to begin may be chosen before a clip has been heard. */
const NOTHING = { bars: [], frames: 1, sampleRate: 1 };

export function ListenComparison() {
  const comparison = useComparison();
  const isBlind = useKnown('trial') !== undefined;
  const message = useKnown('message');
  const needsFiles = useKnown('needsFiles');
  const hasKeys = useKnown('hasKeys');
  const hasSides = !isBlind && comparison.clips.all.length > 1;
  return (
    <>
      <p id="status" class="message" role="status" aria-live="polite">
        {message}
      </p>
      {hasSides && (
        <div class="sides">
          <SideRow side="a" />
          <SideRow side="b" />
        </div>
      )}
      {needsFiles && <Chooser onFiles={(files) => comparison.takeFiles(files)} />}
      <KeysBox hasKeys={hasKeys} onKeys={(on) => comparison.setKeys(on)}>
        {hasSides && (
          <>
            <kbd>A</kbd> and <kbd>B</kbd> switch at the same place of the loop,{' '}
          </>
        )}
        <kbd>Space</kbd> plays and stops.
      </KeysBox>
    </>
  );
}

function SideRow({ side }: { readonly side: Side }) {
  const comparison = useComparison();
  const clip = useKnown(side);
  const sounds = useKnown('sounds');
  const letter = side.toUpperCase();
  return (
    <div class="side">
      <label for={`side-${side}`}>{letter}</label>
      <select
        id={`side-${side}`}
        value={clip}
        onChange={({ currentTarget }) => comparison.choose(side, Number(currentTarget.value))}
      >
        {comparison.clips.all.map(({ name }, at) => (
          <option key={name} value={at}>
            {name}
          </option>
        ))}
      </select>
      <button
        type="button"
        id={`hear-${side}`}
        aria-pressed={sounds === clip}
        aria-keyshortcuts={letter}
        onClick={() => comparison.hearSide(side)}
      >
        Hear {letter}
      </button>
    </div>
  );
}

export function BlindComparison() {
  const { blind, store } = useComparison();
  const isPlaying = useKnown('sounds') !== undefined;
  return (
    <Blind
      test={blind}
      pair={() => [store.now.a, store.now.b]}
      isPlaying={isPlaying}
      trial={useKnown('trial')}
      isWrongCount={useKnown('isWrongCount')}
      result={useKnown('result')}
    />
  );
}

/** The buttons in a clip's row of the table. */
export function Acts({ index }: { readonly index: number }) {
  const comparison = useComparison();
  const sounds = useKnown('sounds');
  const name = comparison.nameOf(index);
  const sides: readonly Side[] = comparison.clips.all.length > 1 ? ['a', 'b'] : [];
  const take = (side: Side): void => {
    comparison.choose(side, index);
    comparison.hearSide(side);
  };
  return (
    <>
      <button
        type="button"
        class="hear"
        aria-pressed={sounds === index}
        aria-label={`Hear ${name}`}
        onClick={() => comparison.toggleClip(index)}
      >
        Hear
      </button>
      {sides.map((side) => (
        <button
          key={side}
          type="button"
          aria-label={`Take ${name} as ${side.toUpperCase()}`}
          onClick={() => take(side)}
        >
          {side.toUpperCase()}
        </button>
      ))}
    </>
  );
}
