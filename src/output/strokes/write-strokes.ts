/**
 * Writes each voice of a patch at each accent as files of their own, and the text that maps them to notes.
 *
 * A stroke is heard as in the mix, through all that is shared, so levels keep their proportions. An accent
 * that makes no difference has no file; nor has one that nothing is heard of, whose velocities then play nothing. Where a voice is another with another
 * seed, its strokes take turns: the first is that of the patch's seed, the second that of `SEED 2`, and so on.
 */

import { basename, join } from 'node:path';
import { type Prepared, prepared } from '../../engine/prepared.ts';
import { FileSet } from '../../files/file-set.ts';
import { writeWhole } from '../../files/whole-file.ts';
import { dbOfGain } from '../../modules/dsp/math.ts';
import { jackName, type Patch, type PatchModule } from '../../patch/patch.ts';
import { rhythmSettings } from '../../timing/rhythm.ts';
import { openWav } from '../../wav/wav-file.ts';
import type { Depth } from '../../wav/wav-pack.ts';
import { chosenNotes } from '../score/midi-choices.ts';
import { type ChannelRef, type Voice, voicesOf } from '../voices.ts';
import { type Chokes, chokesOf } from './chokes.ts';
import { FileNames } from './file-names.ts';
import { FLOOR_DBFS, isSameShot, type OneShot, oneShot } from './one-shot.ts';
import { type SfzChannel, sfzText } from './sfz.ts';
import { STRENGTHS, type Strength } from './struck.ts';

export interface WriteStrokesOptions {
  /** Where the files go; the folder that it lies in exists. */
  readonly folder: string;
  /** Path of the patch file; that of the mapping is made from it. */
  readonly name: string;
  /** Hz. */
  readonly sampleRate: number;
  readonly depth: Depth;
  /** How many strokes take turns, at most. */
  readonly turns: number;
  /** Notes other than the usual ones, by the channel's gate as `module.channel`. */
  readonly notes: ReadonlyMap<string, number>;
  /** Called after each stroke. */
  readonly onProgress: (done: number, total: number) => void;
  readonly signal: AbortSignal;
}

export interface StrokeFile {
  readonly path: string;
  readonly kind: 'stroke';
  readonly voice: string;
  /** The gate that strikes it. */
  readonly jack: string;
  readonly strength: Strength;
  /** From 1, among those that take turns. */
  readonly turn: number;
  readonly seed: string;
  /** MIDI, 0 to 127. */
  readonly note: number;
  readonly channels: number;
  /** Hz. */
  readonly sampleRate: number;
  readonly bitDepth: Depth;
  readonly frames: number;
  readonly peakDbfs: number;
  /** Samples beyond full scale, which a whole-number depth had to limit. */
  readonly clipped: number;
  /** Whether it still sounded when the longest tail was over. */
  readonly cut: boolean;
}

export interface StrokesWritten {
  readonly files: readonly StrokeFile[];
  /** The text that maps them; absent where there is no stroke. */
  readonly sfz?: string;
  /** Voices that no stroke is heard of. */
  readonly unheard: readonly string[];
  /** Of the others, what nothing is heard of. */
  readonly silent: readonly SilentStroke[];
}

export interface SilentStroke {
  readonly voice: string;
  /** The gate that strikes it. */
  readonly jack: string;
  readonly strength: Strength;
}

/**
 * Writes the strokes.
 * @param of a checked patch with exactly one output module.
 * @throws OutputError if a file cannot be written; the signal's reason if it stops the work. The files
 *   that were there are then still there.
 */
export async function writeStrokes(
  of: Patch | Prepared,
  options: WriteStrokesOptions,
): Promise<StrokesWritten> {
  const all = prepared(of);
  const { patch } = all;
  const { voices } = voicesOf(all);
  const struckOnes = voices.flatMap((voice) => voice.channels.map((ref) => ({ voice, ref })));
  if (struckOnes.length === 0)
    return { files: [], unheard: voices.map(({ name }) => name), silent: [] };
  const { folder } = options;
  const names = new FileNames();
  const sfz = names.take([options.name, 'strokes'], '.sfz');
  const set = new FileSet(folder, sfz);
  try {
    const files: StrokeFile[] = [];
    const silent: SilentStroke[] = [];
    const steps = new Steps(struckOnes.length * STRENGTHS.length * options.turns, options);
    for (const { voice, ref } of struckOnes) {
      const place = { stage: set.stage, names, steps };
      const played = await strokesOf(all, voice, ref, place, options);
      for (const file of played.files) files.push(file);
      if (played.files.length > 0) for (const one of played.silent) silent.push(one);
    }
    const heard = new Set(files.map(({ voice }) => voice));
    const unheard = voices.map(({ name }) => name).filter((name) => !heard.has(name));
    if (files.length === 0) {
      set.abandon();
      return { files, unheard, silent };
    }
    const text = sfzText(aboutOf(patch), mapOf(files, silent, chokesOf(all)));
    writeWhole(join(set.stage, sfz), new TextEncoder().encode(text));
    set.commit([...files.map(({ path }) => ({ name: basename(path) })), { name: sfz }]);
    return { files, sfz: join(folder, sfz), unheard, silent };
  } catch (error) {
    set.abandon();
    throw set.told(error);
  }
}

interface StrokePlace {
  readonly stage: string;
  readonly names: FileNames;
  readonly steps: Steps;
}

/** Writes the strokes of one channel in one voice. */
async function strokesOf(
  { patch, nets }: Prepared,
  voice: Voice,
  { module, channel }: ChannelRef,
  { stage, names, steps }: StrokePlace,
  { folder, sampleRate, depth, turns, notes }: WriteStrokesOptions,
): Promise<Pick<StrokesWritten, 'files' | 'silent'>> {
  const jack = jackName({ module, jack: channel });
  const note = noteOf(patch, { module, channel }, notes);
  const accents = nets.at({ module, jack: `${channel}-accent` })?.inputs.length ?? 0;
  // The plain one first: a stroke that sounds the same is no accent of its own.
  const strengths: readonly Strength[] = accents > 0 ? ['plain', 'accent', 'ghost'] : ['plain'];
  const first: OneShot[] = [];
  const files: StrokeFile[] = [];
  const silent: SilentStroke[] = [];
  for (const strength of strengths) {
    const kept: { readonly shot: OneShot; readonly seed: string }[] = [];
    let isOther = true;
    for (let turn = 1; turn <= turns; turn++) {
      await steps.next();
      const seed = turn === 1 ? patch.seed : `${patch.seed} ${turn}`;
      const stroke = { voice: voice.name, module, channel, strength };
      const shot = oneShot({ ...patch, seed }, stroke, sampleRate);
      if (shot.channels[0]?.length === 0) continue;
      const before = turn === 1 ? first : kept.map((one) => one.shot);
      if (before.some((one) => isSameShot(one, shot))) {
        // With the patch's own seed it is another accent, which then is the same with all seeds.
        if (turn === 1) {
          isOther = false;
          break;
        }
        continue;
      }
      if (turn === 1) first.push(shot);
      kept.push({ shot, seed });
    }
    if (kept.length === 0 && isOther) silent.push({ voice: voice.name, jack, strength });
    const own = voice.name === channel ? [channel] : [voice.name, channel];
    for (const [index, { shot, seed }] of kept.entries()) {
      const turn = index + 1;
      const name = names.take(
        [...own, strength, ...(kept.length > 1 ? [String(turn)] : [])],
        '.wav',
      );
      const written = await writeShot(join(stage, name), shot, {
        sampleRate,
        depth,
        rootNote: note,
        title: `${patch.title}: ${own.join(' ')}, ${strength}`,
        comment: `Seed: ${seed}. Trimmed at ${FLOOR_DBFS} dBFS.`,
      });
      files.push({
        ...{ path: join(folder, name), kind: 'stroke', voice: voice.name, jack, strength },
        ...{ turn, seed, note, sampleRate, bitDepth: depth, cut: shot.cut },
        ...written,
      });
    }
  }
  return { files, silent };
}

async function writeShot(
  path: string,
  { channels }: OneShot,
  spec: {
    readonly sampleRate: number;
    readonly depth: Depth;
    readonly rootNote: number;
    readonly title: string;
    readonly comment: string;
  },
): Promise<Pick<StrokeFile, 'channels' | 'frames' | 'peakDbfs' | 'clipped'>> {
  const frames = channels[0]?.length ?? 0;
  const writer = await openWav(path, { ...spec, channels: channels.length, frames });
  try {
    writer.write(channels, frames);
    const { clipped } = await writer.finish();
    let peak = 0;
    for (const samples of channels)
      for (const sample of samples) peak = Math.max(peak, Math.abs(sample));
    return { channels: channels.length, frames, peakDbfs: dbOfGain(peak), clipped };
  } catch (error) {
    writer.abandon();
    throw error;
  }
}

function noteOf({ modules }: Patch, ref: ChannelRef, notes: WriteStrokesOptions['notes']): number {
  const rhythm = modules.find(({ name }) => name === ref.module) as PatchModule;
  const { channels } = rhythmSettings(rhythm.settings);
  const channel = channels.findIndex(({ name }) => name === ref.channel);
  return chosenNotes(rhythm, notes)[channel] as number;
}

/** Counts strokes, tells of them and lets signals in between. */
class Steps {
  private done = 0;
  private readonly total: number;
  private readonly options: Pick<WriteStrokesOptions, 'onProgress' | 'signal'>;

  constructor(total: number, options: Pick<WriteStrokesOptions, 'onProgress' | 'signal'>) {
    this.total = total;
    this.options = options;
  }

  async next(): Promise<void> {
    this.options.onProgress(this.done, this.total);
    this.done += 1;
    await new Promise((resume) => setImmediate(resume));
    this.options.signal.throwIfAborted();
  }
}

function aboutOf({ title }: Patch): readonly string[] {
  return [
    `${title}: strokes for a sampler.`,
    'Every file is as loud as the stroke is in the mix, and is trimmed where it is under ' +
      `${FLOOR_DBFS} dBFS. Velocities are those of "timing --midi".`,
  ];
}

/** What each note plays. Channels of one voice and two voices of one channel have a group each. */
function mapOf(
  files: readonly StrokeFile[],
  silent: readonly SilentStroke[],
  chokes: Chokes,
): readonly SfzChannel[] {
  const groups = groupsOf(chokes);
  const keys = new Map(
    files.map((file) => [JSON.stringify([file.voice, file.jack]), file] as const),
  );
  return [...keys.values()].map(({ voice, jack, note }): SfzChannel => {
    const isOwn = (one: SilentStroke) => one.voice === voice && one.jack === jack;
    const own = files.filter(isOwn);
    const played = new Set([...own, ...silent.filter(isOwn)].map(({ strength }) => strength));
    const group = groups.get(jack);
    const [ender] = chokes.get(jack) ?? [];
    const endedBy = ender === undefined ? undefined : groups.get(ender);
    return {
      name: `${voice}: ${jack}`,
      note,
      ...(group !== undefined && { group }),
      ...(endedBy !== undefined && { endedBy }),
      layers: STRENGTHS.filter((strength) => played.has(strength)).map((strength) => ({
        strength,
        files: own.filter((file) => file.strength === strength).map(({ path }) => basename(path)),
      })),
    };
  });
}

/**
 * Numbers, from 1, for all gates that end others or are ended; those that end the same one share a number,
 * since `off_by` takes one.
 */
function groupsOf(chokes: Chokes): ReadonlyMap<string, number> {
  const groups = new Map<string, number>();
  let last = 0;
  for (const enders of chokes.values()) {
    const known = [...enders].flatMap((ender) => groups.get(ender) ?? []);
    const number = known[0] ?? ++last;
    for (const ender of enders) groups.set(ender, number);
  }
  for (const victim of chokes.keys()) if (!groups.has(victim)) groups.set(victim, ++last);
  return groups;
}
