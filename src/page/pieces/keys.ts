/** Which keys the focused element uses itself: these are not keys of the page. */

const TYPED =
  'input:not([type=checkbox],[type=range]), select, textarea, [role=grid] td, [data-takes-keys]';
const PRESSED =
  'button, a, summary, select, input:not([type=range]), textarea, audio, [data-takes-keys]';

/** Whether a letter or a number pressed here is typed. */
export function isTyped(target: Element): boolean {
  return target.matches(TYPED);
}

/** Whether Space presses or types something here. */
export function isPressed(target: Element): boolean {
  return target.matches(PRESSED);
}

/** Calls for each key press without a modifier for commands that is no repeat and not handled yet. */
export function onPlainKey(
  act: (key: string, target: Element, event: KeyboardEvent) => void,
): void {
  document.addEventListener('keydown', (event) => {
    if (event.defaultPrevented || event.altKey || event.ctrlKey || event.metaKey || event.repeat)
      return;
    act(event.key, event.target instanceof Element ? event.target : document.body, event);
  });
}
