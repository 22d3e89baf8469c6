/** The commonest mend: a trigger converter put into a cable. */

import type { Edit } from '../../patch/edit/edit.ts';
import type { Cable, Patch } from '../../patch/patch.ts';
import { freshName, localName } from '../words.ts';

/** Edits that lead a cable through a new trigger converter. */
export function insertConverter(
  cable: Cable,
  input: 'voltage-in' | 'switch-in',
  output: 'switch-out' | 'voltage-out',
  patch: Patch,
): readonly Edit[] {
  const name = freshName(`${localName(cable.to.module)}-adapt`, patch);
  return [
    {
      type: 'add-module',
      file: cable.place.file,
      name,
      text: '{ kind: trigger-converter }',
    },
    {
      type: 'replace-cable',
      place: cable.place,
      texts: [`{from} -> ${name}.${input}`, `${name}.${output} -> {to}`],
    },
  ];
}
