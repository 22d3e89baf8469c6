/** What `compare --moves` prints: what a person pulls, plugs and turns to make one patch into another. */

import { moveWords } from '../../compare/move-words.ts';
import type { Move } from '../../compare/moves.ts';
import { counted } from '../../patch/text/counted.ts';
import { table } from '../table.ts';

/** The moves in columns, with a sentence that counts them. */
export function movesText(moves: readonly Move[], from: string, to: string): string {
  if (moves.length === 0) return `${from} and ${to} are patched and set alike: nothing to move.`;
  const count = (...types: readonly Move['type'][]): number =>
    moves.filter(({ type }) => types.includes(type)).length;
  const cables = `${counted(count('pull'), 'cable')} to pull, ${count('plug')} to plug`;
  const rest = `${counted(count('turn'), 'setting')} to turn`;
  const rows = moves.map(moveWords);
  return `From ${from} to ${to}: ${cables}, ${rest}.\n\n${table(rows)}`;
}
