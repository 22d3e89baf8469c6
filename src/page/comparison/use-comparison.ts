/** How a part of the page reaches the comparison. */

import { sessionHooks } from '../pieces/session.ts';
import type { ComparisonSession, ComparisonState } from './comparison.ts';

export const {
  Context: ComparisonContext,
  useSession: useComparison,
  useKnown,
} = sessionHooks<ComparisonState, ComparisonSession>();
