/**
 * The weight of each channel of a recording in its loudness, by the loudspeaker it is meant for.
 *
 * Source: Recommendation ITU-R BS.1770-5, Annex 1 and Annex 3 (from memory): channels at 60 to 120
 * degrees to either side count 1.41 times (+1.5 dB), the others once, and the LFE channel not at all.
 * The bits of the mask: Multiple Channel Audio Data and WAVE Files (Microsoft, 2001; from memory).
 */

export interface Speaker {
  readonly name: string;
  /** The factor of its power. */
  readonly weight: number;
}

const ASIDE = 1.41;

/** In the order of the mask's bits, which is that of the channels. */
const SPEAKERS: readonly Speaker[] = [
  { name: 'L', weight: 1 },
  { name: 'R', weight: 1 },
  { name: 'C', weight: 1 },
  { name: 'LFE', weight: 0 },
  // At 110 degrees; at 135 where there are speakers at the sides as well.
  { name: 'back L', weight: ASIDE },
  { name: 'back R', weight: ASIDE },
  { name: 'L of C', weight: 1 },
  { name: 'R of C', weight: 1 },
  { name: 'back C', weight: 1 },
  { name: 'side L', weight: ASIDE },
  { name: 'side R', weight: ASIDE },
  { name: 'top C', weight: 1 },
  { name: 'top L', weight: 1 },
  { name: 'top front C', weight: 1 },
  { name: 'top R', weight: 1 },
  { name: 'top back L', weight: 1 },
  { name: 'top back C', weight: 1 },
  { name: 'top back R', weight: 1 },
];
const BACK = 0x030;
const SIDE = 0x600;
const UNPLACED: Speaker = { name: 'unplaced', weight: 1 };

/** The loudspeakers of files without a mask, by the number of channels (common practice, no source). */
const USUAL: Readonly<Record<number, number>> = { 5: 0x037, 6: 0x03f, 8: 0x63f };

/**
 * Tells the loudspeakers of a recording's channels.
 * @param channels how many, at least 1.
 * @param mask the bits of their places; 0 for channels without a place, such as tracks; null for not
 * known, which of five, six and eight channels makes 5.0, 5.1 and 7.1.
 * @returns one for each channel; those beyond the mask's bits have no place and count once.
 */
export function speakersOf(channels: number, mask: number | null): readonly Speaker[] {
  const bits = mask ?? USUAL[channels] ?? 0;
  // One channel is heard as it is, two as left and right, whatever the mask says.
  const placed = channels < 3 ? [] : SPEAKERS.filter((_, bit) => ((bits >> bit) & 1) === 1);
  const isWide = (bits & BACK) !== 0 && (bits & SIDE) !== 0;
  return Array.from({ length: channels }, (_, c) => {
    const speaker = placed[c] ?? UNPLACED;
    return isWide && speaker.name.startsWith('back') ? { ...speaker, weight: 1 } : speaker;
  });
}
