/** The sheet of a patch: all that one needs to patch it by hand, as data. `sheet-page` and `sheet-markdown` write it. */

import { type Prepared, prepared } from '../../engine/prepared.ts';
import { USUAL_RATE } from '../../engine/usual-rate.ts';
import { findingsIn } from '../../findings/check.ts';
import { contextFrom, listenerFor } from '../../findings/context.ts';
import type { Finding } from '../../findings/finding.ts';
import { type Outset, outsetOf } from '../../findings/outset.ts';
import { inMargin, inVolts } from '../../findings/words.ts';
import type { Patch } from '../../patch/patch.ts';
import { settingText } from '../../patch/setting-text.ts';
import { counted } from '../../patch/text/counted.ts';
import { unplayable } from '../../patch/texts.ts';
import { formatBriefly } from '../../patch/units.ts';
import { type Length, playedSeconds } from '../../timing/length.ts';
import { type BlockFigure, blockFigures } from '../diagram/figures.ts';
import { scoreOf } from '../score/score-of.ts';
import type { TimeScore } from '../score/time-score.ts';
import { voicesOf } from '../voices.ts';
import { type CableGroup, cableList } from './cables.ts';
import { type RhythmSheet, rhythmSheets } from './patterns.ts';
import { type ModuleSettings, moduleSettings } from './settings.ts';
import { playForSheet, type SheetSound } from './sound.ts';

/** What can be told without playing the patch. */
export interface Outline {
  readonly patch: Patch;
  readonly facts: readonly Fact[];
  readonly cables: readonly CableGroup[];
  /** What the block diagrams show. */
  readonly figures: readonly BlockFigure[];
  readonly settings: readonly ModuleSettings[];
  readonly rhythms: readonly RhythmSheet[];
  readonly triggers: readonly TriggerRow[];
}

export interface Sheet extends Outline {
  /** The first bars of the song; absent without a rhythm sequencer. */
  readonly score?: TimeScore;
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

/** Works out what needs no playing. */
export function outlineOf(of: Patch | Prepared): Outline {
  return outlineIn(outsetOf(of));
}

function outlineIn(outset: Outset): Outline {
  const { patch, prepared: all } = outset;
  return {
    patch,
    facts: factsOf(all),
    cables: cableList(all),
    figures: blockFigures(all),
    settings: moduleSettings(patch),
    rhythms: rhythmSheets(patch),
    triggers: triggerRows(outset),
  };
}

/** Works a sheet out. The same patch gives the same sheet. */
export async function sheetOf(of: Patch | Prepared, options: SheetOptions): Promise<Sheet> {
  const all = prepared(of);
  const { patch } = all;
  const outset = outsetOf(all);
  const listener = listenerFor(outset);
  const isPlayable = unplayable(patch).length === 0;
  const sound = isPlayable ? await playForSheet(all, { ...options, listener }) : undefined;
  const song = playedSeconds(patch, { unit: 'song' });
  const shown = playedSeconds(patch, { unit: 'bars', value: MOST_BARS_SHOWN });
  const score = scoreOf(all, {
    sampleRate: USUAL_RATE,
    seconds: Math.min(song, shown),
    curves: true,
  });
  return {
    ...outlineIn(outset),
    ...(score && { score }),
    ...(score && shown < song && { songSeconds: song }),
    findings: findingsIn(contextFrom(outset, listener.heard(patch))),
    ...(sound && { sound }),
  };
}

function factsOf(all: Prepared): readonly Fact[] {
  const { patch } = all;
  const { modules, cables, owned } = patch;
  const { voices } = voicesOf(all);
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
  if (voices.length > 1) facts.push(['Voices', voices.map(({ name }) => name).join(', ')]);
  if (owned !== undefined)
    facts.push(['Rack', owned.title === '' ? owned.file : `${owned.title} (${owned.file})`]);
  if (rhythm !== undefined) {
    facts.push(
      ['Tempo', settingText(rhythm, 'tempo')],
      ['Swing', rhythm.settings.swing === 0.5 ? 'straight' : settingText(rhythm, 'swing')],
      ['Song', formatBriefly(playedSeconds(patch, { unit: 'song' }), 'time')],
    );
  }
  return [...facts, ['Seed', seedText(patch.seed)]];
}

/** Characters that print does not show as they are: all but letters, digits, signs and single spaces between. */
const UNPRINTED = / (?= )|(?<=^") | (?="$)|[^\p{L}\p{M}\p{N}\p{P}\p{S} ]/gu;

/** A seed as it is; one that print would not show exactly in quotation marks, with YAML's escapes. */
function seedText(seed: string): string {
  const quoted = JSON.stringify(seed).replace(UNPRINTED, (letter) =>
    [...Array(letter.length).keys()]
      .map((at) => `\\u${letter.charCodeAt(at).toString(16).padStart(4, '0')}`)
      .join(''),
  );
  return quoted === `"${seed}"` ? seed : quoted;
}

function triggerRows({ levels }: Outset): readonly TriggerRow[] {
  return [...levels.values()].flatMap(({ net, low, high, inputs }) =>
    inputs.flatMap(({ terminal, trigger }): TriggerRow[] => {
      if (trigger === undefined) return [];
      const { type, on, off, margin, release } = trigger;
      const [fires, ready] = type === 'voltage' ? ['above', 'below'] : ['below', 'above'];
      const fate = margin >= 0 && release < 0 ? ', never lets go' : '';
      return [
        [
          `${terminal.module.name}.${terminal.jack.name}`,
          net.outputs.map(({ module, jack }) => `${module.name}.${jack.name}`).join(' + '),
          inVolts(low),
          inVolts(high),
          `${fires} ${inVolts(on)}`,
          `${ready} ${inVolts(off)}`,
          `${inMargin(trigger)}${fate}`,
        ],
      ];
    }),
  );
}
