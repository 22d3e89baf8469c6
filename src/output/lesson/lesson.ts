/** Writes a lesson: a clip and a picture for each stage, all clips in one file, and two pages. */

import { join } from 'node:path';
import { fullScaleOf } from '../../engine/take.ts';
import { FileSet } from '../../files/file-set.ts';
import { writeWhole } from '../../files/whole-file.ts';
import { CEILING_DBTP, equalLoudness, type Loud } from '../../measure/loudness/equal-loudness.ts';
import { SignalMeter } from '../../measure/signal.ts';
import { largest } from '../../modules/dsp/extremes.ts';
import { gainOfDb } from '../../modules/dsp/math.ts';
import { FULL_SCALE_VOLTS } from '../../modules/output.ts';
import { jackName, type Patch } from '../../patch/patch.ts';
import { playedSeconds } from '../../timing/length.ts';
import { openWav } from '../../wav/wav-file.ts';
import type { Depth } from '../../wav/wav-pack.ts';
import { coloured, PRINT } from '../chart/colours.ts';
import { lessonMarkdown } from './lesson-markdown.ts';
import type { Lesson, ToldStage } from './lesson-words.ts';
import { controlPicture, isStill, spectrumPicture, waveformPicture } from './pictures.ts';
import { faded, playBars, playStroke, type StagePlayOptions } from './play.ts';
import { type Stage, stagesOf } from './stages.ts';

export interface LessonOptions extends StagePlayOptions {
  /** A folder, or where one is to be. */
  readonly folder: string;
  /** What the joined file and the pages are called. */
  readonly name: string;
  readonly depth: Depth;
  readonly onProgress: (done: number, total: number) => void;
  readonly signal: AbortSignal;
  /**
   * Writes the page to listen on, as HTML.
   * @param folder where the clips lie while it is written.
   */
  readonly page: (lesson: Lesson, folder: string) => string;
}

export interface LessonFiles {
  readonly stages: readonly {
    readonly title: string;
    readonly jack: string;
    /** The clip or, of a control voltage, the picture. */
    readonly file: string;
    readonly picture: string;
    /** Absent where there is no clip. */
    readonly gainDb?: number;
    /** Start in the joined file, s. */
    readonly cue?: number;
  }[];
  readonly joined: string;
  /** To listen on, and the same to go on writing, in Markdown. */
  readonly page: string;
  readonly markdown: string;
  readonly targetLufs: number | null;
  readonly ceilingDbtp: number;
}

/** What was played of a stage, volts over 10 or the output's channels, and what it measures. */
interface PlayedStage extends Loud {
  readonly stage: Stage;
  readonly base: string;
  /** 0 for a control voltage. */
  readonly width: number;
  readonly frames: number;
  /** Its samples, kept or played again. */
  readonly channels: () => readonly Float64Array[];
  readonly keptBytes: number;
  readonly centroidHz: number | null;
  readonly picture: string;
}

/** Between two clips of the joined file, s. */
const GAP = 0.6;
/** Bytes of samples that are kept until they are written; a stage beyond them is played again. */
const MOST_KEPT = 256 * 1024 * 1024;
/** Bytes that the samples of one stage may take. */
const MOST_PLAYED = 256 * 1024 * 1024;

/** A lesson that is too long for memory; the message says why and what to do. */
export class LessonError extends Error {}

/**
 * Writes the lesson of a patch.
 * @param patch a checked patch with one output module.
 * @returns no stages if nothing reaches the output; nothing is written then.
 * @throws LessonError for more bars than memory has room for; OutputError if a file cannot be written;
 *   the signal's reason if it stops the work. No file is left behind then, and an earlier lesson is
 *   still there.
 */
export async function writeLesson(patch: Patch, options: LessonOptions): Promise<LessonFiles> {
  const stages = stagesOf(patch);
  refuseTooLong(patch, options);
  const played: PlayedStage[] = [];
  let room = MOST_KEPT;
  const centroids = new Map<string, number>();
  for (const stage of stages) {
    const one = play(stage, played.length + 1, stages.length, room, options);
    room -= one.keptBytes;
    played.push(one);
    if (one.centroidHz !== null) centroids.set(jackName(stage.jack), one.centroidHz);
    options.onProgress(played.length, stages.length);
    // Lets a signal in.
    await new Promise((resume) => setImmediate(resume));
    options.signal.throwIfAborted();
  }
  const { targetLufs, gainsDb } = equalLoudness(played);
  const { folder, name } = options;
  const joined = `${name}-lesson.wav`;
  const page = `${name}-lesson.html`;
  const markdown = `${name}-lesson.md`;
  const set = stages.length === 0 ? undefined : new FileSet(folder, `${name}-lesson`);
  try {
    const place = set?.stage ?? folder;
    const cues =
      set === undefined
        ? []
        : await writeClips(patch, played, gainsDb, joined, { ...options, folder: place });
    const told = played.map(
      ({ stage, base, width, picture, centroidHz }, index): ToldStage => ({
        stage,
        picture: `${base}.svg`,
        drawing: picture,
        ...(width > 0 && {
          clip: `${base}.wav`,
          gainDb: gainsDb[index] as number,
          cue: cues[index] as number,
        }),
        ...known('centroidHz', centroidHz),
        ...known('centroidBeforeHz', stage.before && centroids.get(jackName(stage.before))),
      }),
    );
    if (set !== undefined) {
      for (const { picture, drawing } of told)
        writeText(join(place, picture), coloured(drawing, PRINT));
      const { sampleRate } = options;
      const lesson = { patch, stages: told, joined, targetLufs, sampleRate };
      writeText(join(place, markdown), lessonMarkdown(lesson));
      writeText(join(place, page), options.page(lesson, place));
      const clips = told.flatMap(({ clip, picture }) => [picture, ...(clip ? [clip] : [])]);
      set.commit([...clips, joined, markdown, page].map((file) => ({ name: file })));
    }
    return {
      stages: told.map(({ stage: { title, jack }, clip, picture, gainDb, cue }) => ({
        title,
        jack: jackName(jack),
        file: join(folder, clip ?? picture),
        picture: join(folder, picture),
        ...known('gainDb', gainDb),
        ...known('cue', cue),
      })),
      joined: join(folder, joined),
      page: join(folder, page),
      markdown: join(folder, markdown),
      targetLufs,
      ceilingDbtp: CEILING_DBTP,
    };
  } catch (error) {
    set?.abandon();
    throw set === undefined ? error : set.told(error);
  }
}

function known<K extends string>(key: K, value: number | null | undefined): { [P in K]?: number } {
  return (value === null || value === undefined ? {} : { [key]: value }) as { [P in K]?: number };
}

/** @param room bytes that may be kept. */
function play(
  stage: Stage,
  number: number,
  count: number,
  room: number,
  options: LessonOptions,
): PlayedStage {
  const { sampleRate } = options;
  const base = `${String(number).padStart(Math.max(2, String(count).length), '0')}-${fileWord(stage)}`;
  if (stage.type === 'control') return playControl(stage, base, options);
  const channels = channelsOf(stage, options);
  const frames = channels[0]?.length ?? 0;
  const bytes = channels.length * frames * Float64Array.BYTES_PER_ELEMENT;
  const kept = bytes <= room ? channels : undefined;
  const meter = new SignalMeter(sampleRate, channels.length, { isToBeLevelled: true });
  meter.add({ channels, frames });
  const measures = meter.finish();
  const { loudnessLufs, truePeakDbtp, centroidHz } = measures;
  const fullScale = stage.type === 'mix' ? fullScaleOf(stage.of.patch) : FULL_SCALE_VOLTS;
  const volts = (channels[0] as Float64Array).map((value) => value * fullScale);
  return {
    stage,
    base,
    width: channels.length,
    frames,
    channels: () => kept ?? channelsOf(stage, options),
    keptBytes: kept === undefined ? 0 : bytes,
    loudnessLufs,
    truePeakDbtp,
    loudnessSteps: meter.loudnessSteps(measures),
    centroidHz,
    picture:
      stage.type === 'source' || stage.type === 'shaped'
        ? spectrumPicture(stage.title, spectraOf(stage, volts, options), sampleRate)
        : waveformPicture(stage.title, volts, sampleRate),
  };
}

/** Plays a stage: 1 is full scale. */
function channelsOf(stage: Stage, options: LessonOptions): readonly Float64Array[] {
  const { type, of, jack, strokes } = stage;
  if (type === 'mix') return playBars(of, undefined, options);
  const signals =
    type === 'pattern'
      ? playBars(of, jack, options)
      : [faded(playStroke(of, jack, strokes, options), options.sampleRate)];
  for (const signal of signals)
    for (let n = 0; n < signal.length; n++) signal[n] = (signal[n] as number) / FULL_SCALE_VOLTS;
  return signals;
}

function playControl(stage: Stage, base: string, options: LessonOptions): PlayedStage {
  const { of, jack, strokes, title } = stage;
  const stroke = playStroke(of, jack, strokes, options);
  // What one stroke does not move, such as an accent, is shown through the pattern.
  const volts = isStill(stroke) ? (playBars(of, jack, options)[0] as Float64Array) : stroke;
  return {
    stage,
    base,
    width: 0,
    frames: 0,
    channels: () => [],
    keptBytes: 0,
    loudnessLufs: null,
    truePeakDbtp: null,
    centroidHz: null,
    picture: controlPicture(`${title}, at ${jackName(jack)}`, volts, options.sampleRate),
  };
}

/** The mix has two channels at most. */
function refuseTooLong(patch: Patch, { bars, sampleRate }: LessonOptions): void {
  const frame = 2 * Float64Array.BYTES_PER_ELEMENT * sampleRate;
  const seconds = playedSeconds(patch, { unit: 'bars', value: bars });
  const most = Math.floor(MOST_PLAYED / frame);
  if (seconds > most)
    throw new LessonError(
      `${bars} bars of this patch are ${Math.ceil(seconds)} s, and a lesson at ${sampleRate} Hz has room for ${most} s. Ask for fewer --bars or a lower --rate.`,
    );
}

function spectraOf(stage: Stage, volts: Float64Array, options: LessonOptions) {
  const after = { name: jackName(stage.jack), samples: volts };
  if (stage.before === undefined) return [after];
  const samples = playStroke(stage.of, stage.before, stage.strokes, options);
  return [{ name: jackName(stage.before), samples }, after];
}

/** Writes each clip, and all of them one after the other. @returns where each starts in that, s. */
async function writeClips(
  patch: Patch,
  played: readonly PlayedStage[],
  gainsDb: readonly number[],
  joined: string,
  { folder, sampleRate, depth }: LessonOptions,
): Promise<readonly (number | undefined)[]> {
  const gap = Math.round(GAP * sampleRate);
  const width = largest(
    played.map(({ width }) => width),
    1,
  );
  let start = 0;
  const places = played.map(({ stage, frames, width: own }, index) => {
    if (own === 0) return undefined;
    const place = { sample: start, label: `${index + 1} ${stage.title}` };
    start += frames + gap;
    return place;
  });
  const all = await openWav(join(folder, joined), {
    sampleRate,
    depth,
    channels: width,
    title: `${patch.title}, step by step`,
    cues: places.filter((place) => place !== undefined),
    frames: Math.max(0, start - gap),
  });
  try {
    let left = start;
    for (const [index, { stage, base, frames, width: own, channels }] of played.entries()) {
      if (own === 0) continue;
      const gain = gainOfDb(gainsDb[index] as number);
      const levelled = channels().map((channel) => channel.map((value) => value * gain));
      const clip = await openWav(join(folder, `${base}.wav`), {
        sampleRate,
        depth,
        channels: own,
        title: `${index + 1}. ${stage.title}`,
        frames,
      });
      clip.write(levelled, frames);
      await clip.finish();
      // A mono clip is heard on both sides.
      all.write(
        Array.from({ length: width }, (_, c) => levelled[c % levelled.length] as Float64Array),
        frames,
      );
      left -= frames + gap;
      if (left > 0)
        all.write(
          Array.from({ length: width }, () => new Float64Array(gap)),
          gap,
        );
    }
    await all.finish();
  } catch (error) {
    all.abandon();
    throw error;
  }
  return places.map((place) => place && place.sample / sampleRate);
}

/** What the stage is and where, in letters that every file system takes. */
function fileWord({ type, jack }: Stage): string {
  const place = jackName(jack).replace(/[^A-Za-z0-9]+/g, '-');
  return `${type}-${place}`;
}

function writeText(path: string, text: string): void {
  writeWhole(path, new TextEncoder().encode(text));
}
