/** The browser that the engine is measured against. */

import { existsSync } from 'node:fs';

/** Debian's, unless another is named. */
const BROWSER = process.env.CHROMIUM ?? '/usr/bin/chromium';

/** Its path. @throws Error if it is missing. */
export function browserPath() {
  if (existsSync(BROWSER)) return BROWSER;
  throw new Error(
    `${BROWSER} is missing: install Debian's chromium, or name another with CHROMIUM=...`,
  );
}
