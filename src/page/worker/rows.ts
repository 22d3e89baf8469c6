/** Rows that a patch names, each a separate setting on the page: `rows.pitch`. */

/** The name of a row's setting. */
export function rowName(setting: string, row: string): string {
  return `${setting}.${row}`;
}

/** The setting and its row; undefined for a name that is not a row's. */
export function rowNamed(
  name: string,
): { readonly setting: string; readonly row: string } | undefined {
  const dot = name.indexOf('.');
  return dot < 0 ? undefined : { setting: name.slice(0, dot), row: name.slice(dot + 1) };
}
