/**
 * A change that a person makes, written into the texts of the patch. It goes into the main file: a
 * part's module gets its value through the `set:` of that part, so that a part used twice keeps
 * separate values, and a file that others share is not changed without their knowledge. A value of
 * the command line is replaced, since the change came later.
 */

import type { Row, RowSpec, RowsSpec } from '../../modules/definition.ts';
import { WrittenValues } from '../../patch/edit/written.ts';
import type { KeptTrees } from '../../patch/fragment.ts';
import type { Patch, PatchModule } from '../../patch/patch.ts';
import { DIAL } from '../../patch/rack/dial.ts';
import { isScoreSpec, parseSetting } from '../../patch/settings.ts';
import { describeFault } from '../../patch/text/describe.ts';
import type { PatchTexts } from '../../patch/texts.ts';
import { rhythmSettings } from '../../timing/rhythm.ts';
import type { PatchChange } from '../protocol.ts';
import { readFiles } from './reading.ts';
import { rowNamed } from './rows.ts';
import { bare, likeWritten, strokeCount, writtenLine } from './score/lines.ts';
import { changeSong, changeWord } from './score/score-change.ts';
import { type Changed, write } from './write.ts';

/**
 * Makes a change.
 * @param patch the patch as the texts are now.
 * @param kept the trees that earlier readings parsed.
 */
export function changed(
  files: PatchTexts,
  patch: Patch,
  change: PatchChange,
  kept: KeptTrees = new Map(),
): Changed {
  const module = patch.modules.find(({ name }) => name === change.module);
  if (module === undefined) return { refused: `there is no module "${change.module}"` };
  switch (change.type) {
    case 'setting':
      return changeSetting(files, module, change, kept);
    case 'steps':
      return changeSteps(files, module, change, kept);
    case 'word':
      return changeWord(files, module, change, kept);
    case 'song':
      return changeSong(files, module, change, kept);
  }
}

function changeSetting(
  files: PatchTexts,
  { name, definition, settings }: PatchModule,
  { setting, text }: Extract<PatchChange, { type: 'setting' }>,
  kept: KeptTrees,
): Changed {
  const row = rowNamed(setting);
  const key = row?.setting ?? setting;
  const whole = Object.hasOwn(definition.settings, key) ? definition.settings[key] : undefined;
  // A row among the rows, if one has that name.
  const spec =
    whole?.type === 'rows' && row !== undefined ? rowSpec(whole, settings[key], row.row) : whole;
  if (spec === undefined || spec.type === 'rows' || isScoreSpec(spec))
    return { refused: `"${definition.kind}" has no setting "${setting}" that can be moved` };
  // On one line, with single spaces.
  let value = text.trim().replace(/\s+/g, ' ');
  let wanted: unknown;
  if (spec.type === 'row' || spec.type === 'recording') {
    if (spec.type === 'row') value = rowText(value, spec.unit);
    // Read as an override first, where any text is allowed and cannot break the rest of the file.
    const { problems, patch } = readFiles({
      ...files,
      set: [...files.set, `${name}.${setting}=${value}`],
    });
    if (problems[0] !== undefined) return { refused: problems[0].text };
    wanted = patch?.modules.find((one) => one.name === name)?.settings[key];
  } else if (!('max' in spec && DIAL.test(value))) {
    const { fault } = parseSetting(value, spec, setting);
    if (fault !== undefined) return { refused: describeFault(fault) };
  }
  const [first = '', ...others] = name.split('.');
  const path =
    others.length === 0
      ? ['modules', first, ...(row === undefined ? [setting] : [row.setting, row.row])]
      : ['parts', first, 'set', [...others, setting].join('.')];
  return write(
    files,
    {
      edits: [{ type: 'set-value', file: files.main, path, text: value }],
      sets: [`${name}.${setting}`],
      holds: ({ modules }) => {
        const module = modules.find((one) => one.name === name);
        // A row is written into the file itself, wherever the other rows come from.
        return row === undefined
          ? module?.settingPlaces.get(setting)?.file === files.main
          : JSON.stringify(module?.settings[key]) === JSON.stringify(wanted);
      },
    },
    kept,
  );
}

function rowSpec({ row }: RowsSpec, rows: unknown, name: string): RowSpec | undefined {
  return (rows as readonly Row[]).some((one) => one.name === name) ? row : undefined;
}

function rowText(text: string, unit: RowSpec['unit']): string {
  if (unit !== 'gate') return text.startsWith('[') ? text : `[${text}]`;
  return JSON.stringify(text.replace(/^(["'])(.*)\1$/, '$2'));
}

function changeSteps(
  files: PatchTexts,
  { name, definition, settings }: PatchModule,
  { pattern, channel, steps }: Extract<PatchChange, { type: 'steps' }>,
  kept: KeptTrees,
): Changed {
  if (definition.role !== 'score') return { refused: `"${name}" plays no patterns` };
  const { patterns, channels } = rhythmSettings(settings);
  const played = patterns.find((one) => one.name === pattern);
  if (played === undefined) return { refused: `there is no pattern "${pattern}"` };
  const index = channels.findIndex((one) => one.name === channel);
  if (index < 0) return { refused: `there is no channel "${channel}"` };
  const signs = bare(steps);
  const wrong = /[^xXgf?2-8-]/.exec(signs);
  if (wrong !== null) return { refused: `"${wrong[0]}" is not a step` };

  const line = writtenLine(
    new WrittenValues(files.texts[files.main] ?? ''),
    name,
    pattern,
    channel,
  );
  const tab = JSON.stringify(likeWritten(signs, line?.tab, played.stepsPerQuarter));
  const path = ['modules', name, 'patterns', pattern, channel];
  const isInPlace = line?.isLong === true && line.isOwn;
  const text =
    line?.isLong === true && !line.isOwn
      ? // The other attributes of the other pattern's line are kept.
        `{ ${[`steps: ${tab}`, ...line.others].join(', ')} }`
      : tab;
  const set = path.slice(1).join('.');
  return write(
    files,
    {
      edits: [
        { type: 'set-value', file: files.main, path: isInPlace ? [...path, 'steps'] : path, text },
      ],
      sets: [set, `${set}.steps`],
      holds: ({ modules }) => {
        const module = modules.find((one) => one.name === name);
        const after = module && rhythmSettings(module.settings);
        const found = after?.patterns
          .find((one) => one.name === pattern)
          ?.lines.find((one) => one.channel === index);
        return (
          found?.steps.length === signs.length &&
          found.steps.every(({ strokes }, step) => strokes === strokeCount(signs[step]))
        );
      },
    },
    kept,
  );
}
