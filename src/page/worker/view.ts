/** What the page shows of a patch: its modules with their settings, and its rhythms with their steps. */

import { type Prepared, prepared } from '../../engine/prepared.ts';
import { USUAL_RATE } from '../../engine/usual-rate.ts';
import type { Row, RowSpec, SettingSpec } from '../../modules/definition.ts';
import { asDrawn } from '../../output/sheet/settings.ts';
import type { Patch, PatchModule } from '../../patch/patch.ts';
import { positionOf } from '../../patch/rack/dial.ts';
import { RECORDING_RULE } from '../../patch/recording/read-recording.ts';
import { expectedRow } from '../../patch/score/row.ts';
import { dialText, rowText, settingText } from '../../patch/setting-text.ts';
import { isScoreSpec } from '../../patch/settings.ts';
import type { PatchTexts } from '../../patch/texts.ts';
import { formatValue } from '../../patch/units.ts';
import type { Control, LoopView, ModuleView, PatchView, SettingView } from '../protocol.ts';
import { controlOf } from './control.ts';
import { barsOf, type LoopPlace } from './place.ts';
import { playedViews } from './played.ts';
import { rowName } from './rows.ts';
import { rhythmViews } from './score/score-view.ts';
import { movedReading, rowReading } from './second-reading.ts';
import { voiceViews } from './voices/voice.ts';

/** Describes a patch. @param place the part of it that loops. */
export function viewOf(of: Patch | Prepared, files: PatchTexts, place: LoopPlace): PatchView {
  const all = prepared(of);
  const { patch } = all;
  return {
    title: patch.title,
    modules: patch.modules.map((module) => moduleView(module, patch)),
    rhythms: rhythmViews(patch, files),
    ...voiceViews(all),
    loop: loopView(place),
  };
}

function loopView(place: LoopPlace): LoopView {
  const { of, start, seconds, shortened } = place;
  const end = start + seconds;
  const bars = barsOf(place);
  return {
    sampleRate: USUAL_RATE,
    frames: Math.round(end * USUAL_RATE) - Math.round(start * USUAL_RATE),
    bars: bars.times.map((time) => Math.max(0, time - start)),
    shortened,
    start,
    firstBar: bars.first,
    played: playedViews(of, start, end),
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
  patch: Patch,
): SettingView[] {
  // The score of a rhythm is shown as patterns, not as settings.
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
    const reading = rowReading(value as readonly number[], spec);
    return [{ name, about, text, isGiven, ...reading, control: rowControl(spec) }];
  }
  if (spec.type === 'rows') {
    const control = rowControl(spec.row);
    return (value as readonly Row[]).map((row) => ({
      name: rowName(name, row.name),
      about: `${spec.row.about} ${about}`,
      text: rowText(module, name, row, spec),
      isGiven,
      ...rowReading(row.values, spec.row),
      control,
    }));
  }
  const table = patch.owned?.units.find((one) => one.name === module.unit?.name)?.dials.get(name);
  const given = dialText(module, name);
  const position = table && positionOf(table, value as number);
  // A tenth is finer than a person can turn a dial.
  const dial =
    given ?? (position === undefined ? undefined : `dial ${Number(position.toFixed(1))}`);
  const isChoice = spec.type === 'choice' || spec.type === 'flag';
  return [
    {
      name,
      about,
      // The text of a choice must be one that the page offers.
      text: isChoice ? formatValue(value, spec.type) : settingText(module, name),
      isGiven,
      usual: formatValue(spec.fallback, spec.type),
      ...('max' in spec && movedReading(value as number, spec, module, patch)),
      ...(dial !== undefined && { dial, isDialGiven: given !== undefined }),
      control: controlOf(spec, value),
    },
  ];
}

function rowControl(spec: RowSpec): Control {
  const expected = expectedRow(spec);
  return spec.unit === 'pitch'
    ? { type: 'text', expected, sort: 'pitches' }
    : { type: 'text', expected };
}
