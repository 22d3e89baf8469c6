/** Gives a pulse's length in whole samples, one at least. */
export function pulseSamples(seconds: number, sampleRate: number): number {
  return Math.max(1, Math.round(seconds * sampleRate));
}
