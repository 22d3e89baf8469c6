/** What the page shows of a patch: its modules with their settings, and its rhythms with their steps. */

import { asDrawn } from '../../engine/drawn.ts';
import { type Prepared, prepared } from '../../engine/prepared.ts';
import { USUAL_RATE } from '../../engine/usual-rate.ts';
import type { Row, SettingSpec } from '../../modules/definition.ts';
import { rhythmSheets } from '../../output/sheet/patterns.ts';
import { WrittenValues } from '../../patch/edit/written.ts';
import type { Patch, PatchModule } from '../../patch/patch.ts';
import { positionOf } from '../../patch/rack/dial.ts';
import { RECORDING_RULE } from '../../patch/recording/read-recording.ts';
import { expectedRow } from '../../patch/score/row.ts';
import { MAX_STEPS } from '../../patch/score/tab.ts';
import { dialText, rowText, settingText } from '../../patch/setting-text.ts';
import { expectedOf, isScoreSpec } from '../../patch/settings.ts';
import type { PatchTexts } from '../../patch/texts.ts';
import { formatValue, unitsOf } from '../../patch/units.ts';
import { barsWithin } from '../../timing/length.ts';
import { rhythmSettings } from '../../timing/settings.ts';
import type {
  Control,
  LoopView,
  ModuleView,
  PatchView,
  RhythmView,
  SettingView,
} from '../protocol.ts';
import type { LoopLength } from './length.ts';
import { signsOf, writtenLine } from './lines.ts';
import { rowName } from './rows.ts';
import { voiceViews } from './voice.ts';

/** Describes a patch. @param played the same as it goes round, for a length. */
export function viewOf(
  of: Patch | Prepared,
  files: PatchTexts,
  played: Patch,
  length: LoopLength,
): PatchView {
  const all = prepared(of);
  const { patch } = all;
  return {
    title: patch.title,
    modules: patch.modules.map((module) => moduleView(module, patch)),
    rhythms: rhythmViews(patch, files),
    ...voiceViews(all),
    loop: loopView(played, length),
  };
}

function loopView(patch: Patch, { seconds, shortened }: LoopLength): LoopView {
  const frames = Math.round(seconds * USUAL_RATE);
  return {
    sampleRate: USUAL_RATE,
    frames,
    bars: barsWithin(patch, frames / USUAL_RATE),
    shortened,
  };
}

function moduleView(written: PatchModule, patch: Patch): ModuleView {
  const module = asDrawn(written, patch);
  const { name, definition, unit } = module;
  return {
    name,
    kind: definition.kind,
    about: definition.about,
    ...(unit && { unit: unit.name }),
    settings: Object.entries(definition.settings).flatMap(([setting, spec]) =>
      settingView(setting, spec, module, patch),
    ),
  };
}

function settingView(
  name: string,
  spec: SettingSpec,
  module: PatchModule,
  { owned }: Patch,
): SettingView[] {
  // What a rhythm plays is shown as patterns.
  if (isScoreSpec(spec)) return [];
  const value = module.settings[name];
  const isGiven = module.settingPlaces.has(name);
  const { about } = spec;
  if (spec.type === 'recording') {
    const text = settingText(module, name);
    return [{ name, about, text, isGiven, control: { type: 'text', expected: RECORDING_RULE } }];
  }
  if (spec.type === 'row') {
    const text = settingText(module, name);
    return [{ name, about, text, isGiven, control: { type: 'text', expected: expectedRow(spec) } }];
  }
  if (spec.type === 'rows') {
    const control: Control = { type: 'text', expected: expectedRow(spec.row) };
    return (value as readonly Row[]).map((row) => ({
      name: rowName(name, row.name),
      about: `${spec.row.about} ${about}`,
      text: rowText(module, name, row, spec),
      isGiven,
      control,
    }));
  }
  const table = owned?.units.find((one) => one.name === module.unit?.name)?.dials.get(name);
  const given = dialText(module, name);
  const position = table && positionOf(table, value as number);
  // A tenth is finer than a hand turns.
  const dial =
    given ?? (position === undefined ? undefined : `dial ${Number(position.toFixed(1))}`);
  const isChoice = spec.type === 'choice' || spec.type === 'flag';
  return [
    {
      name,
      about,
      // A choice is one of those that the page offers.
      text: isChoice ? formatValue(value, spec.type) : settingText(module, name),
      isGiven,
      usual: formatValue(spec.fallback, spec.type),
      ...(dial !== undefined && { dial, isDialGiven: given !== undefined }),
      control: controlOf(spec, value),
    },
  ];
}

function controlOf(
  spec: Exclude<SettingSpec, { type: 'row' | 'rows' | 'recording' }>,
  value: unknown,
): Control {
  switch (spec.type) {
    case 'choice':
      return { type: 'choice', options: spec.options };
    case 'flag':
      return { type: 'choice', options: ['true', 'false'] };
    case 'span':
    case 'rate':
      return { type: 'text', expected: expectedOf(spec) };
    case 'channels':
    case 'patterns':
    case 'song':
    case 'notes':
      return { type: 'text', expected: spec.about };
    default: {
      const { type, min, max, fallback, rings } = spec;
      const units = unitsOf(type);
      const range = { min, max, fallback, ...(rings && { rings }) };
      return { type: 'number', quantity: type, value: value as number, ...range, units };
    }
  }
}

/** What is said besides, where anything is. */
function ownOf(said: { readonly own: string } | undefined): { readonly own?: string } {
  return said === undefined || said.own === '' ? {} : { own: said.own };
}

function rhythmViews(patch: Patch, files: PatchTexts): readonly RhythmView[] {
  const rhythms = patch.modules.filter(({ definition }) => definition.role === 'score');
  if (rhythms.length === 0) return [];
  const values = new WrittenValues(files.texts[files.main] ?? '');
  const sheets = rhythmSheets(patch);
  return rhythms.map(({ name: module, settings }, at): RhythmView => {
    const { channels, patterns } = rhythmSettings(settings);
    const sheet = sheets[at];
    return {
      module,
      song: sheet?.song ?? [],
      channels: sheet?.channels ?? '',
      patterns: patterns.map(({ name: pattern, stepsPerQuarter, length, lines }, place) => ({
        name: pattern,
        ...ownOf(sheet?.patterns[place]),
        stepsPerQuarter,
        channels: channels.map(({ name }, index) => {
          const written = writtenLine(values, module, pattern, name);
          const line = lines.find(({ channel }) => channel === index);
          return {
            name,
            ...ownOf(sheet?.patterns[place]?.lines.find(({ channel }) => channel === name)),
            steps:
              line === undefined ? '-'.repeat(Math.min(length, MAX_STEPS)) : signsOf(line, written),
            isOwn: line !== undefined && written?.isOwn === true,
          };
        }),
      })),
    };
  });
}
