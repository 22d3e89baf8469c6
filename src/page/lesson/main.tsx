/** The entry of the page of a lesson: mounts its interactive parts. */

import { type ComponentChildren, render } from 'preact';
import type { PageClip } from '../pieces/clip.ts';
import { isPressed, isTyped, onPlainKey } from '../pieces/keys.ts';
import { rescueFocus } from '../pieces/rescued-focus.ts';
import { stripPlace } from '../pieces/strip.tsx';
import { LessonSession } from './lesson.ts';
import { Hear, LessonStrip, ListenLesson } from './listen.tsx';
import { LessonContext } from './use-lesson.ts';

const lesson = new LessonSession(
  JSON.parse(document.getElementById('clips')?.textContent ?? '[]') as (PageClip | null)[],
);

function mount(place: Element | null, part: ComponentChildren): void {
  if (place !== null)
    render(<LessonContext.Provider value={lesson}>{part}</LessonContext.Provider>, place);
}

mount(stripPlace(), <LessonStrip />);
mount(document.querySelector('[data-island=listen]'), <ListenLesson />);
for (const place of document.querySelectorAll<HTMLElement>('[data-stage]'))
  mount(place, <Hear stage={Number(place.dataset.stage)} />);

// The list of stages is a static part of the document.
lesson.store.listen(() => {
  const { stage, isPlaying } = lesson.store.now;
  document.querySelectorAll('.overview tbody a').forEach((link, index) => {
    if (isPlaying && index === stage) link.setAttribute('aria-current', 'true');
    else link.removeAttribute('aria-current');
  });
});

rescueFocus(document);
onPlainKey((key, target, event) => {
  if (!lesson.store.now.hasKeys) return;
  if (key === ' ' && !isPressed(target)) {
    event.preventDefault();
    lesson.toggle();
  }
  if (/^[1-9]$/.test(key) && !isTyped(target) && lesson.canHear(Number(key) - 1)) {
    event.preventDefault();
    void lesson.hear(Number(key) - 1);
  }
});
