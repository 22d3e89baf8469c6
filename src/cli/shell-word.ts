/** A word of a command line that is printed, to be copied into a POSIX shell: quoted where that needs it. */
export function shellWord(text: string): string {
  return /^[\w@%+=:,./-]+$/.test(text) ? text : `'${text.replaceAll("'", "'\\''")}'`;
}
