/**
 * Writes fitted settings into the text of a patch, whose comments and layout stay. A part's module
 * gets its value through the `set:` of that part, so that no other patch that uses the part is changed.
 */

import { KINDS, type KindsOption } from '../modules/kinds.ts';
import { applyEdits, type Edit } from '../patch/edit/edit.ts';
import { WrittenValues } from '../patch/edit/written.ts';
import type { Patch } from '../patch/patch.ts';
import { fileText, type PatchTexts, readTexts, withText } from '../patch/texts.ts';
import { FitError, type Knob, knobText, valueText } from './settings.ts';

export interface NewValue {
  readonly knob: Knob;
  readonly value: number;
}

/**
 * Puts values into the text of a patch's main file.
 * @param written what it is now.
 * @throws FitError naming the values, if no place for one is found in the file.
 */
export function withValues(
  written: PatchTexts,
  values: readonly NewValue[],
  { kinds = KINDS }: KindsOption = {},
): string {
  const { main: file } = written;
  const text = values.reduce((before, { knob, value }) => {
    const path = pathOf(knob);
    return edited(file, before, path, writtenText(before, path, knob, value), values);
  }, fileText(written, file) ?? '');
  const { patch } = readTexts(withText(written, text), { kinds });
  const isKept = ({ knob, value }: NewValue): boolean => {
    const kept = patch && settingOf(patch, knob);
    if (knob.spec.type === 'choice') return kept === knob.spec.options[value];
    return typeof kept === 'number' && Math.abs(kept - value) <= 1e-5 * Math.abs(value);
  };
  if (!values.every(isKept)) throw unwritable(file, values);
  return text;
}

/**
 * Changes the paths in a patch's text, of its parts, its rack and its recordings, so that they work from another
 * folder.
 * @param moved gives a path's new form.
 */
export function withPaths(
  file: string,
  text: string,
  moved: (path: string) => string,
  { kinds = KINDS }: KindsOption = {},
): string {
  const read = new WrittenValues(text);
  const within = (path: readonly string[]): readonly (readonly string[])[] =>
    [...(read.at(path)?.entries?.keys() ?? [])].map((key) => [...path, key]);
  // A part's `set` names the setting last, whatever its module's kind.
  const recordings = new Set(
    kinds.flatMap(({ settings }) =>
      Object.keys(settings).filter((name) => settings[name]?.type === 'recording'),
    ),
  );
  const parts = within(['parts']);
  const settings = [
    ...within(['modules']).flatMap((module) => {
      const kind = read.at([...module, 'kind'])?.text;
      const own = kinds.find((one) => one.kind === kind)?.settings ?? {};
      return within(module).filter((path) => own[path.at(-1) ?? '']?.type === 'recording');
    }),
    ...parts
      .flatMap((part) => within([...part, 'set']))
      .filter((path) => recordings.has(path.at(-1)?.split('.').at(-1) ?? '')),
  ];
  const paths = [['rack'], ...parts, ...parts.map((part) => [...part, 'file']), ...settings];
  return paths.reduce((before, path) => {
    const found = read.at(path)?.text;
    return found === undefined
      ? before
      : edited(file, before, path, JSON.stringify(moved(found)), []);
  }, text);
}

function edited(
  file: string,
  text: string,
  path: readonly string[],
  value: string,
  values: readonly NewValue[],
): string {
  const edit: Edit = { type: 'set-value', file, path, text: value };
  const changed = applyEdits(file, text, [edit]);
  if (changed === undefined) throw unwritable(file, values);
  return changed;
}

/** A time that the file gives as a time constant stays one. */
function writtenText(text: string, path: readonly string[], knob: Knob, value: number): string {
  if (knob.spec.type === 'choice') return knobText(knob, value);
  const { timeConstants } = knob.spec;
  const before = new WrittenValues(text).at(path)?.text;
  return timeConstants !== undefined && value !== knob.before && before?.trimEnd().endsWith('tau')
    ? `${valueText(knob, value / timeConstants)} tau`
    : knobText(knob, value);
}

function pathOf({ module, setting }: Knob): readonly string[] {
  const [first = '', ...others] = module.split('.');
  return others.length === 0
    ? ['modules', first, setting]
    : ['parts', first, 'set', [...others, setting].join('.')];
}

function settingOf({ modules }: Patch, { module, setting }: Knob): unknown {
  return modules.find(({ name }) => name === module)?.settings[setting];
}

function unwritable(file: string, values: readonly NewValue[]): FitError {
  const list = values.map(({ knob, value }) => `${knob.path}: ${knobText(knob, value)}`);
  return new FitError(
    `${file}: no place for these values was found in it, so write them in by hand:\n  ${list.join('\n  ')}`,
  );
}
