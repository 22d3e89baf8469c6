/** The commonest mend: a trigger converter put into a cable. */

import type { Edit } from '../../patch/edit/edit.ts';
import type { Context, Finding } from '../finding.ts';
import { cableInto, freshName, localName } from '../words.ts';

/** Edits that lead the one cable into a finding's jack through a new trigger converter. */
export function insertConverter(
  { jack }: Finding,
  { patch, netlist }: Context,
  input: 'voltage-in' | 'switch-in',
  output: 'switch-out' | 'voltage-out',
): readonly Edit[] | undefined {
  const net = jack && netlist.at(jack);
  const cable = net && cableInto(net, jack);
  if (cable === undefined) return undefined;
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
