/** The version in package.json, kept the same by a test. */
export const VERSION = '0.1.0';
