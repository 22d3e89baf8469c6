/** What rhythms play, as the page shows it: their patterns with all attributes, and the song. */

import type { RhythmSheet } from '../../../output/sheet/patterns.ts';
import { rhythmSheets, stepMarks } from '../../../output/sheet/patterns.ts';
import { WrittenValues } from '../../../patch/edit/written.ts';
import type { Patch, PatchModule } from '../../../patch/patch.ts';
import { MAX_STEPS } from '../../../patch/score/tab.ts';
import { settingText } from '../../../patch/setting-text.ts';
import type { PatchTexts } from '../../../patch/texts.ts';
import type { Words, WrittenLine } from '../../../patch/words.ts';
import { type RhythmSettings, rhythmSettings } from '../../../timing/rhythm.ts';
import { songOf } from '../../../timing/song.ts';
import type {
  ChannelView,
  EntryView,
  PatternView,
  RhythmView,
  Said,
  WordControls,
} from '../../protocol.ts';
import { controlOf } from '../control.ts';
import { wordSpecs } from '../words.ts';
import { signsOf, writtenLine } from './lines.ts';

/** Describes each rhythm of a patch. */
export function rhythmViews(patch: Patch, files: PatchTexts): readonly RhythmView[] {
  const rhythms = patch.modules.filter(({ definition }) => definition.role === 'score');
  if (rhythms.length === 0) return [];
  const values = new WrittenValues(files.texts[files.main] ?? '');
  const sheets = rhythmSheets(patch);
  return rhythms.map((module, at) => rhythmView(module, sheets[at] as RhythmSheet, values));
}

function rhythmView(module: PatchModule, sheet: RhythmSheet, values: WrittenValues): RhythmView {
  const { name, settings, definition } = module;
  const rhythm = rhythmSettings(settings);
  const specs = wordSpecs(definition.settings);
  const controls = Object.fromEntries(
    Object.entries(specs).map(([type, words]) => [
      type,
      [...words].map(([word, spec]) => ({ word, about: spec.about, control: controlOf(spec) })),
    ]),
  ) as unknown as WordControls;
  const usual = Object.fromEntries(
    ['tempo', 'swing', 'chance', 'flam', 'clock', 'gate']
      .filter((word) => Object.hasOwn(definition.settings, word))
      .map((word) => [word, settingText(module, word)]),
  );
  return {
    module: name,
    song: sheet.song,
    entries: entriesOf(module, rhythm),
    bars: barsOf(rhythm),
    channels: sheet.channels,
    controls,
    patterns: rhythm.patterns.map((_, place) => patternView(place, module, sheet, usual, values)),
  };
}

function patternView(
  place: number,
  { name: module, settings, written: words }: PatchModule,
  sheet: RhythmSheet,
  usual: Said,
  values: WrittenValues,
): PatternView {
  const rhythm = rhythmSettings(settings);
  const pattern = rhythm.patterns[place] as RhythmSettings['patterns'][number];
  const { name, stepsPerQuarter, length, lines } = pattern;
  const written = words?.patterns[place];
  const path = ['modules', module, 'patterns', name];
  const from = values.at([...path, 'from'])?.text;
  const base = words?.patterns[rhythm.patterns.findIndex((one) => one.name === from)]?.words;
  const said: Record<string, string> = {};
  const inherited: Record<string, string> = {};
  for (const [word, text] of written?.words ?? [])
    (values.at([...path, word]) !== undefined || base?.get(word) !== text ? said : inherited)[
      word
    ] = text;
  const printed = sheet.patterns[place];
  return {
    name,
    ...ownOf(printed),
    ...(from !== undefined && { from }),
    said,
    usual: { ...usual, 'steps-per-quarter': '4', length: `${length}`, ...inherited },
    stepsPerQuarter,
    length,
    channels: rhythm.channels.map((channel, index): ChannelView => {
      const inFile = writtenLine(values, module, name, channel.name);
      const at = lines.findIndex((one) => one.channel === index);
      const line = lines[at];
      const steps =
        line === undefined ? '-'.repeat(Math.min(length, MAX_STEPS)) : signsOf(line, inFile);
      return {
        name: channel.name,
        ...ownOf(printed?.lines.find((one) => one.channel === channel.name)),
        steps,
        isOwn: line !== undefined && inFile?.isOwn === true,
        hasLine: line !== undefined,
        marks: line === undefined ? {} : Object.fromEntries(stepMarks(line, pattern, rhythm)),
        ...sayingsOf(written?.lines[at]),
      };
    }),
  };
}

/** Other attributes, if there are any. */
function ownOf(said: { readonly own: string } | undefined): { readonly own?: string } {
  return said === undefined || said.own === '' ? {} : { own: said.own };
}

function sayingsOf(line: WrittenLine | undefined): Pick<ChannelView, 'said' | 'at'> {
  return {
    said: saidIn(line?.words),
    at: Object.fromEntries([...(line?.at ?? [])].map(([step, words]) => [step, saidIn(words)])),
  };
}

function saidIn(words: Words | undefined): Said {
  return Object.fromEntries(words ?? []);
}

function barsOf(rhythm: RhythmSettings): number {
  const { parts, partsPerBar } = songOf(rhythm, 1);
  return Number((parts + partsPerBar - 1n) / partsPerBar);
}

function entriesOf({ written }: PatchModule, rhythm: RhythmSettings): readonly EntryView[] {
  const { plays, partsPerBar, partsPerQuarter } = songOf(rhythm, 1);
  return rhythm.song.map(({ pattern, repeats }, at) => {
    // Where it starts: every entry has some length.
    const part = plays[at]?.firstPart ?? 0n;
    return {
      pattern: rhythm.patterns[pattern]?.name ?? '',
      said: { ...(repeats !== 1 && { repeats: String(repeats) }), ...saidIn(written?.song[at]) },
      bar: 1 + Number(part / partsPerBar),
      beat: 1 + Number(((part % partsPerBar) * 1000n) / partsPerQuarter) / 1000,
    };
  });
}
