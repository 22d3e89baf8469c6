/** The settings of a patch in words, for all that shows them to people. */

import type { Recorded, Row, RowsSpec } from '../modules/definition.ts';
import type { PatchModule } from './patch.ts';
import { formatRow, formatRows } from './score/row.ts';
import { isScoreSpec } from './settings.ts';
import { formatBriefly, formatValue } from './units.ts';

/**
 * A setting's value for people: as the file writes it; where no file does, or only as the position of
 * a dial, in the unit of its size and to four digits.
 */
export function settingText(
  { definition, settings, written, dials }: PatchModule,
  name: string,
): string {
  const spec = definition.settings[name];
  if (spec === undefined || isScoreSpec(spec)) return '';
  const words = dials?.has(name) ? undefined : written?.settings.get(name);
  if (words !== undefined) return words;
  const value = settings[name];
  if (spec.type === 'recording') return (value as Recorded).path;
  if (spec.type === 'row') return formatRow(value as readonly number[], spec);
  if (spec.type === 'rows') return formatRows(value as readonly Row[], spec);
  return 'max' in spec ? formatBriefly(value as number, spec.type) : formatValue(value, spec.type);
}

/** A row of a setting that is rows, likewise. */
export function rowText(
  { written }: PatchModule,
  name: string,
  { name: row, values }: Row,
  spec: RowsSpec,
): string {
  return written?.rows.get(`${name}.${row}`) ?? formatRow(values, spec.row);
}

/** `dial 3.45`, as the file gives it; undefined if it gives a value. */
export function dialText({ written, dials }: PatchModule, name: string): string | undefined {
  const dial = dials?.get(name);
  return dial && (written?.settings.get(name) ?? `dial ${dial.position}`);
}
