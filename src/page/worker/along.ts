/** The answers about one cable for patching along: at once what to measure, then what to hear. */

import { Prepared } from '../../engine/prepared.ts';
import { voltsAtRest } from '../../findings/at-rest.ts';
import { ruleNamed } from '../../findings/rules/rules.ts';
import { inVolts } from '../../findings/words.ts';
import { type AlongStep, alongSteps, voltsAt } from '../../output/along/along.ts';
import {
  isGateStep,
  playedVolts,
  playedWords,
  triggerWords,
  voltsWords,
} from '../../output/along/along-words.ts';
import { firstAtOutput, whySilent } from '../../output/along/heard.ts';
import { suspectsAt } from '../../output/along/suspects.ts';
import { LOOKS } from '../../output/diagram/looks.ts';
import { type JackRef, jackName, type Patch } from '../../patch/patch.ts';
import { unplayable } from '../../patch/texts.ts';
import type { AlongEnd, AlongHeard, AlongStepView, AlongView, EngineRequest } from '../protocol.ts';
import type { Breath } from './pictures.ts';
import { LoopSound } from './sound.ts';

/** A share of full scale: -80 dBFS, below which a sound counts as silence. */
const AUDIBLE = 1e-4;

export type AlongRequest = Extract<EngineRequest, { type: 'along' }>;

/** The steps of a patch, and the requested one; if that is gone, the first that is not done. */
export function alongView(
  patch: Patch,
  { cable, done }: Pick<AlongRequest, 'cable' | 'done'>,
): { readonly view: AlongView; readonly step?: AlongStep; readonly steps: readonly AlongStep[] } {
  const steps = alongSteps(patch);
  const isDone = new Set(done);
  const step =
    steps.find(({ name }) => name === cable) ??
    steps.find(({ name }) => !isDone.has(name)) ??
    steps[0];
  const cables = steps.map(({ name, group, cable: { number, from, to } }) => ({
    name,
    group,
    number,
    from: jackName(from),
    to: jackName(to),
  }));
  return {
    view: { cables, ...(step && { step: stepView(step) }) },
    ...(step && { step }),
    steps,
  };
}

function stepView(step: AlongStep): AlongStepView {
  const { of, patch, cable } = step;
  const { from, to, sort } = cable;
  const volts = voltsAt(of, to);
  const isGate = isGateStep(step, volts);
  const trigger = triggerWords(volts);
  return {
    name: step.name,
    from: endView(patch, from),
    to: endView(patch, to),
    carries: LOOKS[sort].words,
    rows: [
      [
        // The outputs of sounds have no fixed levels.
        sort === 'audio' ? 'in ordinary use' : 'with the cables so far',
        voltsWords(volts, isGate),
      ],
      ['while nothing plays', restWords(of, to)],
    ],
    ...(trigger !== undefined && { trigger }),
    suspects: suspectsAt(step).map(({ what, look, volts: shown, isAlike, rule }) => {
      const why = rule && ruleNamed(rule).explanation.why;
      return {
        what,
        look: look.trim(),
        shows: voltsWords(shown, isGate),
        isAlike,
        ...(why !== undefined && { why }),
      };
    }),
  };
}

function endView(patch: Patch, { module, jack }: JackRef): AlongEnd {
  const found = patch.modules.find(({ name }) => name === module);
  return {
    module,
    jack,
    kind: found?.definition.kind ?? '',
    about: found?.jacks.find(({ name }) => name === jack)?.about ?? '',
  };
}

function restWords(of: Prepared, at: JackRef): string {
  if (unplayable(of.patch).length > 0) return 'not known: the patch needs one output to be played';
  const [rest] = voltsAtRest(of, [at]);
  return rest === undefined ? 'it moves by itself' : `steady ${inVolts(rest)}`;
}

/** How a step is played. */
export interface AlongPlay {
  /** The patch of the step, as it loops. */
  readonly patch: Patch;
  /** The loop's length in s, for a patch that can be played. */
  readonly seconds: () => number;
  /** Plays until the next breath is due. */
  readonly play: (sound: LoopSound) => void;
  readonly breathe: Breath;
}

/** Plays a step, and says what should be heard and what a meter shows meanwhile. */
export async function alongHeard(
  step: AlongStep,
  steps: readonly AlongStep[],
  { patch, seconds, play, breathe }: AlongPlay,
): Promise<AlongHeard> {
  const { to, sort } = step.cable;
  const first = firstAtOutput(steps);
  if (unplayable(patch).length > 0)
    return { words: 'Nothing can be played: the patch needs one output.', rows: [] };
  const sound = new LoopSound(new Prepared(patch), {
    seconds: seconds(),
    probe: { jack: to, name: jackName(to) },
  });
  while (!sound.isWhole) {
    play(sound);
    await breathe();
  }
  const volts = sound.probe?.volts ?? new Float64Array(sound.frames);
  const rows = [['while it plays', playedWords(playedVolts(volts), sort === 'audio')]] as const;
  const mix = sound.channels.some((channel) => isAudible(channel));
  if (mix)
    return {
      words: 'At the output: the patch as far as it is.',
      rows,
      sound: { at: 'output', frames: sound.frames, channels: sound.channels.map(single) },
    };
  const none = `Nothing is heard at the output yet: ${whySilent(step, first)}.`;
  if (sort !== 'audio')
    return {
      words: `${none} ${jackName(to)} carries ${LOOKS[sort].words}: no sound, so keep it away from headphones and loudspeakers.`,
      rows,
    };
  const own = volts.some((value) => Math.abs(value) > 10 * AUDIBLE);
  return own
    ? {
        words: `${none} What comes to ${jackName(to)} can be heard here.`,
        rows,
        sound: { at: 'jack', frames: sound.frames, channels: [single(volts)] },
      }
    : { words: `${none} Nor does anything come to ${jackName(to)} so far.`, rows };
}

function isAudible(channel: Float64Array): boolean {
  return channel.some((value) => Math.abs(value) > AUDIBLE);
}

function single(samples: Float64Array): Float32Array<ArrayBuffer> {
  return new Float32Array(samples);
}
