/** What the page shows of a patch: its modules with their settings, and its rhythms with their steps. */

import { stemsOf } from '../../engine/stems.ts';
import { barsWithin } from '../../engine/take.ts';
import type { SettingSpec } from '../../modules/definition.ts';
import { WrittenValues } from '../../patch/edit/written.ts';
import { jackName, type Patch, type PatchModule } from '../../patch/patch.ts';
import { positionOf } from '../../patch/rack/dial.ts';
import { expectedRow, formatRow } from '../../patch/score/row.ts';
import { MAX_STEPS } from '../../patch/score/tab.ts';
import { expectedOf, isScoreSpec } from '../../patch/settings.ts';
import type { PatchTexts } from '../../patch/texts.ts';
import { formatValue, unitsOf } from '../../patch/units.ts';
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
import { SAMPLE_RATE } from './length.ts';
import { signsOf, writtenLine } from './lines.ts';

/** Describes a patch. @param played the same as it goes round, for a length. */
export function viewOf(
  patch: Patch,
  files: PatchTexts,
  played: Patch,
  length: LoopLength,
): PatchView {
  const voices = stemsOf(patch).map(({ jack }) => jackName(jack));
  return {
    title: patch.title,
    modules: patch.modules.map((module) => moduleView(module, patch)),
    rhythms: rhythmViews(patch, files),
    voices,
    loop: loopView(played, length),
  };
}

function loopView(patch: Patch, { seconds, shortened }: LoopLength): LoopView {
  const frames = Math.round(seconds * SAMPLE_RATE);
  return {
    sampleRate: SAMPLE_RATE,
    frames,
    bars: barsWithin(patch, frames / SAMPLE_RATE),
    shortened,
  };
}

function moduleView(module: PatchModule, patch: Patch): ModuleView {
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
  if (spec.type === 'row') {
    const text = formatRow(value as readonly number[], spec);
    return [{ name, about, text, isGiven, control: { type: 'text', expected: expectedRow(spec) } }];
  }
  const table = owned?.units.find((one) => one.name === module.unit?.name)?.dials.get(name);
  const position =
    module.dials?.get(name)?.position ?? (table && positionOf(table, value as number));
  return [
    {
      name,
      about,
      text: formatValue(value, spec.type),
      isGiven,
      // A tenth is finer than a hand turns.
      ...(position !== undefined && { dial: `dial ${Number(position.toFixed(1))}` }),
      control: controlOf(spec, value),
    },
  ];
}

function controlOf(spec: Exclude<SettingSpec, { type: 'row' }>, value: unknown): Control {
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
      const { type, min, max, fallback } = spec;
      const units = unitsOf(type);
      return { type: 'number', quantity: type, value: value as number, min, max, fallback, units };
    }
  }
}

function rhythmViews(patch: Patch, files: PatchTexts): readonly RhythmView[] {
  const rhythms = patch.modules.filter(({ definition }) => definition.role === 'score');
  if (rhythms.length === 0) return [];
  const values = new WrittenValues(files.texts[files.main] ?? '');
  return rhythms.map(({ name: module, settings }): RhythmView => {
    const { channels, patterns, song } = rhythmSettings(settings);
    return {
      module,
      song: song.map(({ pattern, repeats }) => {
        const title = patterns[pattern]?.name ?? '';
        return repeats === 1 ? title : `${title} × ${repeats}`;
      }),
      patterns: patterns.map(({ name: pattern, stepsPerQuarter, length, lines }) => ({
        name: pattern,
        stepsPerQuarter,
        channels: channels.map(({ name }, index) => {
          const written = writtenLine(values, module, pattern, name);
          const line = lines.find(({ channel }) => channel === index);
          return {
            name,
            steps:
              line === undefined ? '-'.repeat(Math.min(length, MAX_STEPS)) : signsOf(line, written),
            isOwn: line !== undefined && written?.isOwn === true,
          };
        }),
      })),
    };
  });
}
