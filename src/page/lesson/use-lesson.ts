/** How a part of the page reaches the lesson. */

import { createContext } from 'preact';
import { useContext } from 'preact/hooks';
import { usePicked } from '../pieces/store.ts';
import type { LessonSession, LessonState } from './lesson.ts';

export const LessonContext = createContext<LessonSession | undefined>(undefined);

/** The lesson. @throws outside the page's parts. */
export function useLesson(): LessonSession {
  const lesson = useContext(LessonContext);
  if (lesson === undefined) throw new Error('not within a part of the page');
  return lesson;
}

/** One thing that the page knows; the component is drawn again when it changes. */
export function useKnown<K extends keyof LessonState>(key: K): LessonState[K] {
  return usePicked(useLesson().store, (state) => state[key]);
}
