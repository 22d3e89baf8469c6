/** Why nothing is fitted. In a file of its own since every step of the search throws it, and none of them may import another for it. */

/** What was asked for cannot be fitted; the message says why and what would be right. */
export class FitError extends Error {}
