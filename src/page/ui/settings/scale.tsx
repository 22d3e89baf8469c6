/** A setting on its scale: dragged, or moved by the arrow keys in steps that suit its quantity. */

import { useRef } from 'preact/hooks';
import { useCell } from '../../pieces/cell.ts';
import {
  briefOf,
  type NumberControl,
  scalePosition,
  scaleText,
  scaleTicks,
  scaleValue,
  stepped,
  steppedFar,
} from '../../worker/scale.ts';
import type { ChangeOutcome } from '../moves.ts';

export interface ScaleProps {
  readonly label: string;
  readonly text: string;
  readonly control: NumberControl;
  readonly onSend: (text: string) => Promise<ChangeOutcome>;
}

export function SettingScale({ label, text, control, onSend }: ScaleProps) {
  // The position while it is moved, until the engine has followed.
  const held = useCell<number | undefined>(() => undefined);
  const newest = useRef(0);
  const value = held.now ?? control.value;
  // The present value, drawn or not: keys may come faster than the screen is drawn.
  const latest = useRef(value);
  latest.current = value;
  const move = async (to: number): Promise<void> => {
    if (to === latest.current) return;
    latest.current = to;
    held.put(to);
    newest.current += 1;
    const mine = newest.current;
    await onSend(scaleText(to, control));
    if (newest.current === mine) held.put(undefined);
  };
  const byKeys = (event: KeyboardEvent): void => {
    const to = keyTarget(event, latest.current, control);
    if (to === undefined) return;
    event.preventDefault();
    void move(to);
  };
  const usual = scalePosition(control.fallback, control);
  return (
    <span class="scale">
      <input
        type="range"
        min={0}
        max={1}
        step="any"
        value={scalePosition(value, control)}
        aria-label={label}
        aria-valuetext={held.now === undefined ? text : briefOf(held.now, control)}
        onKeyDown={byKeys}
        onInput={({ currentTarget }) => void move(scaleValue(Number(currentTarget.value), control))}
      />
      {scaleTicks(control).map((at) => (
        <span key={at} class="tick" aria-hidden="true" ref={(tick) => place(tick, at)} />
      ))}
      <span class="ends" aria-hidden="true">
        <span>{briefOf(control.min, control)}</span>
        <span>{briefOf(control.max, control)}</span>
      </span>
      <span
        class="usual-mark"
        aria-hidden="true"
        title={`usually ${briefOf(control.fallback, control)}`}
        ref={(mark) => place(mark, usual)}
      />
    </span>
  );
}

/** Puts a mark at a position of the scale. */
function place(mark: HTMLElement | null, at: number): void {
  mark?.style.setProperty('--at', String(at));
}

function keyTarget(
  { key, ctrlKey, metaKey, altKey }: KeyboardEvent,
  value: number,
  control: NumberControl,
): number | undefined {
  if (ctrlKey || metaKey || altKey) return undefined;
  switch (key) {
    case 'ArrowRight':
    case 'ArrowUp':
      return stepped(value, 1, control);
    case 'ArrowLeft':
    case 'ArrowDown':
      return stepped(value, -1, control);
    case 'PageUp':
      return steppedFar(value, 1, control);
    case 'PageDown':
      return steppedFar(value, -1, control);
    case 'Home':
      return control.min;
    case 'End':
      return control.max;
    default:
      return undefined;
  }
}
