/** What need not follow every move of a hand. */

import { useEffect, useState } from 'preact/hooks';

/** ms without a change. */
const QUIET = 400;

/** The value once it has not changed for a while; nothing until then. */
export function useLater<T>(value: T): T | undefined {
  const [later, setLater] = useState<T>();
  useEffect(() => {
    const timer = setTimeout(() => setLater(() => value), QUIET);
    return () => clearTimeout(timer);
  }, [value]);
  return later;
}
