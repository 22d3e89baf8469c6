/** How a part of the page reaches the comparison. */

import { createContext } from 'preact';
import { useContext } from 'preact/hooks';
import { usePicked } from '../pieces/store.ts';
import type { ComparisonSession, ComparisonState } from './comparison.ts';

export const ComparisonContext = createContext<ComparisonSession | undefined>(undefined);

/** The comparison. @throws outside the page's parts. */
export function useComparison(): ComparisonSession {
  const comparison = useContext(ComparisonContext);
  if (comparison === undefined) throw new Error('not within a part of the page');
  return comparison;
}

/** One thing that the page knows; the component is drawn again when it changes. */
export function useKnown<K extends keyof ComparisonState>(key: K): ComparisonState[K] {
  return usePicked(useComparison().store, (state) => state[key]);
}
