/** How an island reaches the worksheet. */

import { createContext } from 'preact';
import { useContext } from 'preact/hooks';
import { usePicked } from '../pieces/store.ts';
import type { SheetState } from './sheet-state.ts';
import type { Worksheet } from './worksheet.ts';

export const SheetContext = createContext<Worksheet | undefined>(undefined);

/** The worksheet. @throws outside an island. */
export function useSheet(): Worksheet {
  const sheet = useContext(SheetContext);
  if (sheet === undefined) throw new Error('not within an island');
  return sheet;
}

/** One thing that the page knows; the component is drawn again when it changes. */
export function useKnown<K extends keyof SheetState>(key: K): SheetState[K] {
  return usePicked(useSheet().store, (state) => state[key]);
}
