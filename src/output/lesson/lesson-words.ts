/** What a lesson says of its stages, from the modules' own descriptions, for every form that it has. */

import { jackName, type Patch, type PatchModule } from '../../patch/patch.ts';
import { dialText, settingText } from '../../patch/setting-text.ts';
import { isScoreSpec } from '../../patch/settings.ts';
import type { Stage } from './stages.ts';

export interface ToldStage {
  readonly stage: Stage;
  /** Names of files beside the page. */
  readonly clip?: string;
  readonly picture: string;
  /** The picture as SVG, in the colours of `IN_PAGE`. */
  readonly drawing: string;
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
  readonly stages: readonly ToldStage[];
  /** Name of the file with all clips one after the other. */
  readonly joined: string;
  /** What all clips were brought to, LUFS; null if all are silent. */
  readonly targetLufs: number | null;
  /** Hz. */
  readonly sampleRate: number;
}

/** How a form marks words: those of a patch are markup nowhere. */
export interface Marks {
  readonly plain: (words: string) => string;
  readonly strong: (words: string) => string;
  readonly code: (words: string) => string;
}

/** What the lesson is called. */
export function titleOf({ patch }: Lesson): string {
  return `${patch.title || 'Patch'}, step by step`;
}

/** How the clips were made alike. */
export function levelOf({ targetLufs }: Lesson): string {
  return targetLufs === null
    ? 'Every clip is silent.'
    : `Every clip is at ${targetLufs.toFixed(1)} LUFS, so that what changes from one to the next is the sound and not its level.`;
}

/** Where the joined file has a stage. */
export function cueOf({ cue }: ToldStage): string {
  return cue === undefined ? 'picture only' : `${cue.toFixed(2)} s`;
}

/** What a stage is and where it is heard, and then each module that is new in it: paragraphs. */
export function paragraphsOf(told: ToldStage, marks: Marks): readonly string[] {
  return [sentence(told, marks), ...told.stage.modules.map((module) => moduleText(module, marks))];
}

function sentence(
  { stage, gainDb, centroidHz, centroidBeforeHz }: ToldStage,
  { code }: Marks,
): string {
  const jack = code(jackName(stage.jack));
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
      return `Heard at ${jack}${without(stage.pulled, code)}.${moved}${gain}`;
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

function without(pulled: Stage['pulled'], code: Marks['code']): string {
  if (pulled === undefined) return '';
  const jacks = pulled.map(code).join(' and ');
  return `, with nothing plugged into ${jacks} yet`;
}

function moduleText(module: PatchModule, { plain, strong }: Marks): string {
  const { name, definition, settingPlaces } = module;
  const written = [...settingPlaces.keys()].flatMap((key) => {
    const spec = definition.settings[key];
    if (spec === undefined || isScoreSpec(spec)) return [];
    const dial = dialText(module, key);
    return [`${key} ${plain(settingText(module, key))}${dial === undefined ? '' : ` (${dial})`}`];
  });
  const set = written.length === 0 ? '' : ` Set to: ${written.join(', ')}.`;
  return `${strong(name)} (${definition.kind}). ${plain(definition.about)}${set}`;
}

function hertz(value: number): string {
  return value < 1000 ? `${value.toFixed(0)} Hz` : `${(value / 1000).toFixed(1)} kHz`;
}
