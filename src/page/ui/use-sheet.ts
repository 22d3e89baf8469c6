/** How a part of the page reaches the worksheet. */

import { sessionHooks } from '../pieces/session.ts';
import type { SheetState } from './sheet-state.ts';
import type { Worksheet } from './worksheet.ts';

export const {
  Context: SheetContext,
  useSession: useSheet,
  useKnown,
} = sessionHooks<SheetState, Worksheet>();
