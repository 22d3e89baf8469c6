/** How a part of the page reaches the comparison. */

import { createContext } from 'preact';
import { useContext } from 'preact/hooks';
import { usePicked } from '../pieces/store.ts';
import type { Comparison, State } from './comparison.ts';

export const ComparisonContext = createContext<Comparison | undefined>(undefined);

/** The comparison. @throws outside the page's parts. */
export function useComparison(): Comparison {
  const comparison = useContext(ComparisonContext);
  if (comparison === undefined) throw new Error('not within a part of the page');
  return comparison;
}

/** One thing that the page knows; the component is drawn again when it changes. */
export function useKnown<K extends keyof State>(key: K): State[K] {
  return usePicked(useComparison().store, (state) => state[key]);
}
