/** The page of a lesson, in Markdown: what each stage is, from the modules' own descriptions. */

import { jackName, type Patch, type PatchModule } from '../../patch/patch.ts';
import { dialText, settingText } from '../../patch/setting-text.ts';
import { isScoreSpec } from '../../patch/settings.ts';
import { printableLines } from '../../patch/text/printable.ts';
import type { Stage } from './stages.ts';

export interface Told {
  readonly stage: Stage;
  /** Names of files beside the page. */
  readonly clip?: string;
  readonly picture: string;
  /** dB that its clip was made louder by. */
  readonly gainDb?: number;
  /** s at which the joined file has it. */
  readonly cue?: number;
  /** Where the middle of its spectrum lies, Hz, and that of what went into it. */
  readonly centroidHz?: number;
  readonly centroidBeforeHz?: number;
}

export interface Lesson {
  readonly patch: Patch;
  readonly stages: readonly Told[];
  /** Name of the file with all clips one after the other. */
  readonly joined: string;
  /** What all clips were brought to, LUFS; null if all are silent. */
  readonly targetLufs: number | null;
}

/** Writes the page. */
export function lessonPage({ patch, stages, joined, targetLufs }: Lesson): string {
  const level =
    targetLufs === null
      ? 'Every clip is silent.'
      : `Every clip is at ${targetLufs.toFixed(1)} LUFS, so that what changes from one to the next is the sound and not its level.`;
  const parts = [
    `# ${plain(patch.title)}, step by step`,
    ...(patch.about === '' ? [] : [plain(patch.about)]),
    `Start with the volume low. ${level} [All of them one after the other](${joined}), with a cue point at each.`,
    [
      '| | stage | at the jack | in the joined file |',
      '|---|---|---|---|',
      ...stages.map(
        ({ stage, cue }, index) =>
          `| ${index + 1} | ${plain(stage.title)} | \`${jackName(stage.jack)}\` | ${cue === undefined ? 'picture only' : `${cue.toFixed(2)} s`} |`,
      ),
    ].join('\n'),
    ...stages.map(stageText),
  ];
  return printableLines(`${parts.join('\n\n')}\n`);
}

function stageText(told: Told, index: number): string {
  const { stage, clip, picture } = told;
  const lines = [
    `## ${index + 1}. ${plain(stage.title)}`,
    sentence(told),
    ...stage.modules.map(moduleText),
    ...(clip === undefined ? [] : [`Listen: [${clip}](${clip})`]),
    `![${plain(stage.title)}](${picture})`,
  ];
  return lines.filter((line) => line !== '').join('\n\n');
}

function sentence({ stage, gainDb, centroidHz, centroidBeforeHz }: Told): string {
  const jack = `\`${jackName(stage.jack)}\``;
  const gain =
    gainDb === undefined
      ? ''
      : ` The clip was made ${Math.abs(gainDb).toFixed(1)} dB ${gainDb < 0 ? 'softer' : 'louder'}.`;
  const moved =
    centroidHz === undefined || centroidBeforeHz === undefined
      ? ''
      : ` The middle of its spectrum goes from ${hertz(centroidBeforeHz)} to ${hertz(centroidHz)}.`;
  switch (stage.type) {
    case 'source':
    case 'shaped':
      return `Heard at ${jack}${without(stage.pulled)}.${moved}${gain}`;
    case 'control':
      return `Not a sound but the volts that arrive at ${jack}: a picture, since a control voltage must not reach a loudspeaker.`;
    case 'moved':
      return `One stroke, heard at ${jack}: the sound from before, under the control voltage.${gain}`;
    case 'pattern':
      return `The voice as it is played, heard at ${jack}.${gain}`;
    case 'mix':
      return `What leaves the instrument, at ${jack}.${gain}`;
  }
}

function without(pulled: Stage['pulled']): string {
  if (pulled === undefined) return '';
  const jacks = pulled.map((name) => `\`${name}\``).join(' and ');
  return `, with nothing plugged into ${jacks} yet`;
}

function moduleText(module: PatchModule): string {
  const { name, definition, settingPlaces } = module;
  const written = [...settingPlaces.keys()].flatMap((key) => {
    const spec = definition.settings[key];
    if (spec === undefined || isScoreSpec(spec)) return [];
    const dial = dialText(module, key);
    return [`${key} ${plain(settingText(module, key))}${dial === undefined ? '' : ` (${dial})`}`];
  });
  const set = written.length === 0 ? '' : ` Set to: ${written.join(', ')}.`;
  return `**${plain(name)}** (${definition.kind}). ${plain(definition.about)}${set}`;
}

function hertz(value: number): string {
  return value < 1000 ? `${value.toFixed(0)} Hz` : `${(value / 1000).toFixed(1)} kHz`;
}

/** Nothing in a patch's text is markup, and none of it breaks a line or a table. */
function plain(words: string): string {
  return words
    .trim()
    .replace(/\s+/g, ' ')
    .replace(/[\\`*_[\]<>|#]/g, (mark) => `\\${mark}`);
}
