/** Paths in a patch: with `/`, relative to the file that names them. */

/**
 * Joins `path` to the folder of the file `from` and takes out `.` and `..` as far as they go.
 * @returns undefined for what is no such path: an absolute one, a backslash, a drive, an address,
 * a control character, or one that names a folder.
 */
export function resolvePath(from: string, path: string): string | undefined {
  if (/^\/|^[A-Za-z][A-Za-z0-9+.-]*:|\\|\p{Cc}|(?:^|\/)\.{0,2}$/u.test(path)) return undefined;
  const folder = (from.includes('/') ? from : from.replaceAll('\\', '/')).split('/').slice(0, -1);
  const pieces: string[] = [];
  for (const piece of [...folder, ...path.split('/')]) {
    if (piece === '.' || (piece === '' && pieces.length > 0)) continue;
    const last = pieces.at(-1);
    if (piece !== '..' || last === undefined || last === '..') pieces.push(piece);
    // Above the root of an absolute path is the root.
    else if (last !== '') pieces.pop();
  }
  return pieces.join('/');
}

/** The name of a file without its folder and ending. */
export function baseName(file: string): string {
  const name = file.slice(Math.max(file.lastIndexOf('/'), file.lastIndexOf('\\')) + 1);
  return name.replace(/(?!^)\.[^.]*$/, '');
}
