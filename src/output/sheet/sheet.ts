/** The sheet of a patch: all that one needs to patch it by hand, as data. `sheet-page` and `sheet-markdown` write it. */

import { type Length, playedSeconds } from '../../engine/take.ts';
import { findingsIn } from '../../findings/check.ts';
import { contextOf } from '../../findings/context.ts';
import type { Context, Finding } from '../../findings/finding.ts';
import { inPercent, inVolts } from '../../findings/words.ts';
import type { Patch } from '../../patch/patch.ts';
import { counted } from '../../patch/text/counted.ts';
import { rhythmSettings } from '../../timing/settings.ts';
import { scoreOf } from '../score/score-of.ts';
import { plain } from '../score/score-words.ts';
import type { Score } from '../score/time-score.ts';
import { type CableGroup, cableList } from './cables.ts';
import { type RhythmSheet, rhythmSheets } from './patterns.ts';
import { type ModuleSettings, moduleSettings } from './settings.ts';
import { playForSheet, type SheetSound } from './sound.ts';

/** What can be told without playing the patch. */
export interface Outline {
  readonly patch: Patch;
  readonly facts: readonly Fact[];
  readonly cables: readonly CableGroup[];
  readonly settings: readonly ModuleSettings[];
  readonly rhythms: readonly RhythmSheet[];
  readonly triggers: readonly TriggerRow[];
}

export interface Sheet extends Outline {
  /** The first bars of the song; absent without a rhythm sequencer. */
  readonly score?: Score;
  /** How long the song is, if the score is not all of it, s. */
  readonly songSeconds?: number;
  readonly findings: readonly Finding[];
  /** Absent for a patch that has not exactly one output module. */
  readonly sound?: SheetSound;
}

/** What it is, and the value. */
export type Fact = readonly [what: string, value: string];

/** A trigger input: its jack, what drives it, low, high, where it fires, where it is ready again, margin. */
export type TriggerRow = readonly [string, string, string, string, string, string, string];

export const TRIGGER_HEADS: TriggerRow = [
  'input',
  'driven by',
  'low',
  'high',
  'fires',
  'ready again',
  'margin',
];

export interface SheetOptions {
  readonly length: Length;
  /** Called some times a second with the seconds of sound done. */
  readonly onProgress?: (seconds: number) => void;
}

/** Bars that a score on paper has at most. */
export const MOST_BARS_SHOWN = 8;

const SAMPLE_RATE = 48_000;

/** Works out what can be told at once. */
export function outlineOf(patch: Patch): Outline {
  return outlineIn(contextOf(patch));
}

function outlineIn(context: Context): Outline {
  const { patch } = context;
  return {
    patch,
    facts: factsOf(patch),
    cables: cableList(patch),
    settings: moduleSettings(patch),
    rhythms: rhythmSheets(patch),
    triggers: triggerRows(context),
  };
}

/** Works a sheet out. The same patch gives the same sheet. */
export async function sheetOf(patch: Patch, options: SheetOptions): Promise<Sheet> {
  const outputs = patch.modules.filter(({ definition }) => definition.role === 'output');
  const sound = outputs.length === 1 ? await playForSheet(patch, options) : undefined;
  const context = contextOf(patch);
  const song = playedSeconds(patch, { unit: 'song' });
  const shown = playedSeconds(patch, { unit: 'bars', value: MOST_BARS_SHOWN });
  const score = scoreOf(patch, {
    sampleRate: SAMPLE_RATE,
    seconds: Math.min(song, shown),
    curves: true,
  });
  return {
    ...outlineIn(context),
    ...(score && { score }),
    ...(score && shown < song && { songSeconds: song }),
    findings: findingsIn(context),
    ...(sound && { sound }),
  };
}

function factsOf(patch: Patch): readonly Fact[] {
  const { modules, cables, owned } = patch;
  const rhythm = modules.find(({ definition }) => definition.role === 'score');
  const multiples = modules.filter(({ definition }) => definition.role === 'passive').length;
  const facts: Fact[] = [
    [
      'Modules',
      multiples === 0
        ? `${modules.length}`
        : `${modules.length}, of them ${counted(multiples, 'multiple')}`,
    ],
    [
      'Cables',
      owned?.cables === undefined ? `${cables.length}` : `${cables.length} of ${owned.cables}`,
    ],
  ];
  if (owned !== undefined) facts.push(['Rack', owned.title === '' ? owned.file : owned.title]);
  if (rhythm !== undefined) {
    const { tempo, swing } = rhythmSettings(rhythm.settings);
    facts.push(
      ['Tempo', `${plain(tempo)} bpm`],
      ['Swing', swing === 0.5 ? 'straight' : inPercent(swing)],
      ['Song', `${plain(playedSeconds(patch, { unit: 'song' }))} s`],
    );
  }
  return [...facts, ['Seed', patch.seed]];
}

function triggerRows({ levels }: Context): readonly TriggerRow[] {
  return [...levels.values()].flatMap(({ net, low, high, inputs }) =>
    inputs.flatMap(({ terminal, trigger }): TriggerRow[] => {
      if (trigger === undefined) return [];
      const { type, on, off, margin, share, release } = trigger;
      const [fires, ready] = type === 'voltage' ? ['above', 'below'] : ['below', 'above'];
      const fate = margin < 0 ? ', never fires' : release < 0 ? ', never lets go' : '';
      return [
        [
          `${terminal.module.name}.${terminal.jack.name}`,
          net.outputs.map(({ module, jack }) => `${module.name}.${jack.name}`).join(' + '),
          inVolts(low),
          inVolts(high),
          `${fires} ${inVolts(on)}`,
          `${ready} ${inVolts(off)}`,
          `${inVolts(margin)} (${inPercent(share)})${fate}`,
        ],
      ];
    }),
  );
}
