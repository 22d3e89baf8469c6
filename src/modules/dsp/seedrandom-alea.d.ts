/** The one generator of `seedrandom` that is used here; the package's whole set takes longer to load. */
declare module 'seedrandom/lib/alea.js' {
  interface Generator {
    (): number;
    int32(): number;
  }
  export default function alea(seed: string): Generator;
}
