/**
 * The lines of a pattern as edited: drawn at once, for the engine's answer comes later, and the answers to several
 * edits one after the other.
 */

import { useRef } from 'preact/hooks';
import { useCell } from '../../pieces/cell.ts';
import type { ChannelView } from '../../protocol.ts';
import type { ChangeOutcome } from '../moves.ts';
import { withSign } from './tab-line.ts';

export interface EditedLines {
  /** The steps of a channel, with what was not answered yet. */
  readonly stepsOf: (channel: ChannelView) => string;
  /** Writes a sign on a step, counted from 0. */
  readonly write: (channel: ChannelView, step: number, sign: string) => void;
}

/** @param send has the engine take a line; what is refused goes back to the line as it was. */
export function useEditedLines(
  channels: readonly ChannelView[],
  send: (channel: string, steps: string) => Promise<ChangeOutcome>,
): EditedLines {
  const lines = useRef(new Map<string, string>());
  const underWay = useRef(new Map<string, number>());
  const turn = useCell(() => ({}));
  for (const { name, steps } of channels)
    if (!underWay.current.get(name)) lines.current.set(name, steps);

  const stepsOf = ({ name, steps }: ChannelView): string => lines.current.get(name) ?? steps;
  const counted = (channel: string, by: number): void => {
    underWay.current.set(channel, (underWay.current.get(channel) ?? 0) + by);
  };
  const write = (channel: ChannelView, step: number, sign: string): void => {
    const { name } = channel;
    const line = withSign(stepsOf(channel), step, sign);
    lines.current.set(name, line);
    counted(name, 1);
    void send(name, line).then((refusal) => {
      counted(name, -1);
      if (refusal !== undefined) lines.current.delete(name);
      turn.put({});
    });
    turn.put({});
  };
  return { stepsOf, write };
}
