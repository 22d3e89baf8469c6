/** The page's view of the voices: what is in them, and how loud each is in the mix. */

import type { Prepared } from '../../../engine/prepared.ts';
import { type Stem, stemsOf } from '../../../engine/stems.ts';
import { USUAL_RATE } from '../../../engine/usual-rate.ts';
import { LoopLoudnessMeter } from '../../../measure/loudness/loop-loudness.ts';
import { notesOf } from '../../../output/score/midi-notes.ts';
import { cableList } from '../../../output/sheet/cables.ts';
import { sendsOf } from '../../../output/strokes/solo.ts';
import { type Voices, voicesOf } from '../../../output/voices.ts';
import { jackName, type Patch } from '../../../patch/patch.ts';
import { rhythmSettings } from '../../../timing/rhythm.ts';
import type { ChannelName, PatchView, VoiceLevel, VoiceView } from '../../protocol.ts';
import type { Breath } from '../pictures.ts';
import type { LoopSound } from '../sound.ts';

type VoiceChapters = Pick<PatchView, 'voices' | 'shared' | 'cables'>;

/** Cached, since the voices stay the same object while settings are moved. */
const known = new WeakMap<Voices, VoiceChapters>();

/** Describes the voices of a patch, what is shared, and the cables. */
export function voiceViews(of: Prepared): VoiceChapters {
  const all = voicesOf(of);
  const chapters = known.get(all) ?? described(of, all);
  known.set(all, chapters);
  return chapters;
}

function described(of: Prepared, all: Voices): VoiceChapters {
  const { patch } = of;
  const sends = sendsOf(patch, all);
  const plugged = new Set(patch.cables.flatMap(({ from, to }) => [jackName(from), jackName(to)]));
  const modules = new Map(patch.modules.map((module) => [module.name, module]));
  const voices = all.voices.map((voice): VoiceView => {
    const { name, channels } = voice;
    return {
      name,
      isPart: voice.modules.some((module) => module.startsWith(`${name}.`)),
      modules: voice.modules,
      jacks: voice.modules
        .flatMap((module) =>
          (modules.get(module)?.jacks ?? []).map((jack) => `${module}.${jack.name}`),
        )
        .filter((jack) => plugged.has(jack)).length,
      channels: channels.map((one) => ({ ...one, note: noteOf(one, patch) })),
      levels: sends
        .filter(({ from }) => all.of(from.module) === voice)
        .flatMap(({ to: { module, jack } }) => {
          const input = modules.get(module)?.jacks.find((one) => one.name === jack);
          const setting = input?.direction === 'in' ? input.level : undefined;
          return setting === undefined ? [] : [{ module, setting }];
        }),
    };
  });
  const cables = cableList(of).flatMap((group) =>
    group.cables.map(({ number, from, to }) => ({
      number,
      from: jackName(from),
      to: jackName(to),
    })),
  );
  return { voices, shared: all.shared, cables };
}

function noteOf({ module, channel }: ChannelName, { modules }: Patch): number {
  const settings = modules.find(({ name }) => name === module)?.settings ?? {};
  const { channels } = rhythmSettings(settings);
  return notesOf(channels)[channels.findIndex(({ name }) => name === channel)] as number;
}

/** The stems that sum to a voice in the mix. */
export interface PartsOfVoice {
  readonly stems: readonly Stem[];
  /** Whether the sum is as loud as in the mix: all shared modules only add. */
  readonly isExact: boolean;
}

const NOTHING: PartsOfVoice = { stems: [], isExact: false };

/**
 * Finds the parts of a voice. If it passes through shared modules that do more than add, its own outputs are taken.
 * @param of the patch as it is heard; `all` are the voices of the whole patch.
 */
export function partsOfVoice(of: Prepared, all: Voices, name: string | undefined): PartsOfVoice {
  const voice = all.voices.find((one) => one.name === name);
  if (voice === undefined) return NOTHING;
  const stems = stemsOf(of).filter(({ jack }) => all.of(jack.module) === voice);
  if (stems.length > 0) return { stems, isExact: true };
  return { stems: voice.ends.map((jack): Stem => ({ jack, gains: [1, 1] })), isExact: false };
}

/**
 * Measures how loud a voice is.
 * @param whole loudness of the mix, LUFS; undefined while the mix cannot be compared with it.
 */
export async function voiceLevel(
  { stems, isExact }: PartsOfVoice,
  loop: LoopSound,
  voice: string | undefined,
  whole: number | undefined,
  breathe: Breath,
): Promise<VoiceLevel | undefined> {
  if (voice === undefined || stems.length === 0) return undefined;
  if (!isExact) return { voice, isUntold: true };
  const channels = loop.stem();
  const meter = new LoopLoudnessMeter(USUAL_RATE, channels.length);
  for (let from = 0; from < loop.frames; from += USUAL_RATE) {
    const count = Math.min(USUAL_RATE, loop.frames - from);
    meter.add(
      channels.map((channel) => channel.subarray(from, from + count)),
      count,
    );
    await breathe();
  }
  const lufs = meter.integrated();
  if (!Number.isFinite(lufs)) return { voice };
  const under = whole !== undefined && Number.isFinite(whole) ? { under: whole - lufs } : {};
  return { voice, lufs, ...under };
}
