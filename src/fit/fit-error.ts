/** What was asked for cannot be fitted; the message says why and what would be right. */
export class FitError extends Error {}
