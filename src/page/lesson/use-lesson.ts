/** How a part of the page reaches the lesson. */

import { sessionHooks } from '../pieces/session.ts';
import type { LessonSession, LessonState } from './lesson.ts';

export const {
  Context: LessonContext,
  useSession: useLesson,
  useKnown,
} = sessionHooks<LessonState, LessonSession>();
