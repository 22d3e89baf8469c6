/** Samples a second that a patch is played with where nobody asks for another, Hz. Source: AES5-2018, the preferred rate (from memory). */
export const USUAL_RATE = 48_000;
