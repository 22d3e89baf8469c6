/** How the parts of a page reach its session and its state. */

import { type Context, createContext } from 'preact';
import { useContext } from 'preact/hooks';
import { type Store, usePicked } from './store.ts';

export interface SessionHooks<S, P> {
  readonly Context: Context<P | undefined>;
  /** The session. @throws Error outside the page's parts. */
  readonly useSession: () => P;
  /** One value of the state; the component is drawn again when it changes. */
  readonly useKnown: <K extends keyof S>(key: K) => S[K];
}

/** Made once a page. */
export function sessionHooks<S, P extends { readonly store: Store<S> }>(): SessionHooks<S, P> {
  const Context = createContext<P | undefined>(undefined);
  const useSession = (): P => {
    const session = useContext(Context);
    if (session === undefined) throw new Error('not within a part of the page');
    return session;
  };
  return {
    Context,
    useSession,
    useKnown: (key) => usePicked(useSession().store, (state) => state[key]),
  };
}
