/** What is said about people and gear: by every sheet, and by every page that sounds. */

export const LISTENING_CARE =
  'Start with the volume low: a click, a resonance or noise at full scale can hurt ears and loudspeakers.';

export const CARE: readonly string[] = [
  LISTENING_CARE,
  'Gates and control volts are direct current: never send them to headphones, loudspeakers or a line that is not made for it.',
  'Check your instrument’s own limits before you drive an input from an audio interface.',
  'Power modules down before you touch anything but patch cables; mains wiring is for qualified people and local rules.',
];
