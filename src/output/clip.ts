/** Renders a patch to files: the mix, and beside it the stems and taps that were asked for. */

import { basename, dirname, join } from 'node:path';
import { goingRound, Loop } from '../engine/loop.ts';
import { type Prepared, prepared } from '../engine/prepared.ts';
import { type Stem, stemsOf } from '../engine/stems.ts';
import { type Playing, type Tail, Take } from '../engine/take.ts';
import { FileSet, type SetFile } from '../files/file-set.ts';
import { LoopLoudnessMeter } from '../measure/loudness/loop-loudness.ts';
import { LoudnessMeter } from '../measure/loudness/loudness.ts';
import { PeakMeter } from '../measure/loudness/peak.ts';
import { dbOfGain } from '../modules/dsp/math.ts';
import { FULL_SCALE_VOLTS } from '../modules/output.ts';
import { type JackRef, jackName, type Patch } from '../patch/patch.ts';
import type { Length } from '../timing/length.ts';
import { StemRounding } from '../wav/stem-rounding.ts';
import { openWav, type WavWriter } from '../wav/wav-file.ts';
import type { Depth } from '../wav/wav-pack.ts';
import { BarCues } from './bar-cues.ts';

/** What is rendered, how, and where it goes. */
export interface ClipOptions {
  /** Where the mix goes; stems and taps lie beside it. */
  readonly path: string;
  /** Hz. */
  readonly sampleRate: number;
  readonly depth: Depth;
  readonly length: Length;
  /** Ignored for a loop, whose tail goes round to its head. */
  readonly tail: Tail;
  readonly loop: boolean;
  readonly stems: boolean;
  /** Jacks whose volts are wanted as files; 10 V is full scale. */
  readonly taps: readonly JackRef[];
  /** Listens while the clip is played; its jacks are probed for it. */
  readonly listener?: ClipListener;
  /** Called some times a second with the frames done, and all of them once that is known. */
  readonly onProgress?: (done: number, total: number | undefined) => void;
  /** Stops the work and removes what is unfinished. */
  readonly signal?: AbortSignal;
}

/** Takes in what a clip sounds like, for instance to check it. */
export interface ClipListener {
  readonly jacks: readonly JackRef[];
  begin(channels: readonly Float64Array[], probes: readonly Float64Array[], frames: number): void;
  read(start: number, given: number): void;
}

/** One file of a clip, and what was measured of it. */
export interface ClipFile {
  readonly path: string;
  readonly kind: 'mix' | 'stem' | 'tap';
  /** `module.jack` of a stem or a tap. */
  readonly jack?: string;
  /** How many. */
  readonly channels: number;
  /** Hz. */
  readonly sampleRate: number;
  readonly bitDepth: Depth;
  /** Samples of each channel. */
  readonly frames: number;
  /** Minus infinity for silence. */
  readonly peakDbfs: number;
  /** ITU-R BS.1770 integrated loudness; minus infinity for silence, absent for a tap. */
  readonly loudnessLufs?: number;
  /** Samples beyond full scale, which a whole-number depth had to limit. */
  readonly clipped: number;
}

/** What was rendered. */
export interface Clip {
  /** The mix first. */
  readonly files: readonly ClipFile[];
  /** Of all that was written, the tail included. */
  readonly seconds: number;
  /** Whether the sound had not died away when the longest tail was over. */
  readonly cut: boolean;
  /** How high the mix still goes where it ends, dBFS; minus infinity for silence, and for a loop, which has no end. */
  readonly endDbfs: number;
}

/** Between two reports of progress, and two looks at the signal, ms. */
const BREATH = 50;

/**
 * Renders a patch.
 * @param of a checked patch with exactly one output module.
 * @throws OutputError if a file cannot be written; the signal's reason if it stops the work. No file
 *   is left behind then.
 */
export async function renderClip(of: Patch | Prepared, options: ClipOptions): Promise<Clip> {
  const all = options.loop ? goingRound(of) : prepared(of);
  const { patch } = all;
  const stems = options.stems ? stemsOf(all) : [];
  const cues = new BarCues(all);
  const play = {
    onStep: cues.onStep,
    sampleRate: options.sampleRate,
    length: options.length,
    probes: [...options.taps, ...(options.listener?.jacks ?? [])],
    stems,
  };
  const take = options.loop ? new Loop(all, play) : new Take(all, { ...play, tail: options.tail });
  const { listener } = options;
  listener?.begin(take.channels, take.probes.slice(options.taps.length), take.musicFrames);
  const plans = plannedTracks(patch, take, stems, options);
  const { path } = options;
  const set =
    plans.length > 1 || options.stems ? new FileSet(dirname(path), basename(path)) : undefined;
  const members = plans.map(setFile);
  try {
    set?.plan(members);
    const stage = set?.stage;
    const tracks = await openTracks(cues, take, plans, { ...options, stage });
    try {
      const end = await fill(take, tracks, options);
      const files: ClipFile[] = [];
      for (const track of tracks) files.push(await track.finish());
      set?.commit(members, { keepsOthers: !options.stems });
      const endDbfs = options.loop ? Number.NEGATIVE_INFINITY : dbOfGain(end);
      return { files, seconds: take.frames / take.sampleRate, cut: take.cut, endDbfs };
    } catch (error) {
      for (const track of tracks) track.abandon();
      throw error;
    }
  } catch (error) {
    set?.abandon();
    throw set === undefined ? error : set.told(error);
  }
}

/** The person names the mix; earlier taps stay useful beside later ones. */
function setFile({ kind, path }: TrackPlan): SetFile {
  const name = basename(path);
  if (kind === 'mix') return { name, isNamed: true };
  return kind === 'tap' ? { name, stays: true } : { name };
}

/** @returns the highest sample of the last two blocks, 1 being full scale. */
async function fill(
  take: Playing,
  tracks: readonly FileTrack[],
  { onProgress, signal, listener }: ClipOptions,
): Promise<number> {
  let before = 0;
  let last = 0;
  let breath = Date.now() + BREATH;
  for (let frames = take.read(); frames > 0; frames = take.read()) {
    [before, last] = [last, highest(take.channels, frames)];
    for (const track of tracks) track.add(frames);
    listener?.read(take.frames - frames, frames);
    if (Date.now() < breath) continue;
    onProgress?.(take.frames, take.totalFrames);
    // Lets a signal in.
    await new Promise((resume) => setImmediate(resume));
    signal?.throwIfAborted();
    breath = Date.now() + BREATH;
  }
  return Math.max(before, last);
}

function highest(channels: readonly Float64Array[], frames: number): number {
  let most = 0;
  for (const samples of channels)
    for (let i = 0; i < frames; i++) most = Math.max(most, Math.abs(samples[i] as number));
  return most;
}

function plannedTracks(
  patch: Patch,
  take: Playing,
  stems: readonly Stem[],
  options: ClipOptions,
): readonly TrackPlan[] {
  const rounding =
    stems.length > 0 ? new StemRounding(take.channels, take.stems, options.depth) : undefined;
  const paths = new Set<string>([options.path.toLowerCase()]);
  return [
    {
      kind: 'mix',
      path: options.path,
      title: patch.title,
      signals: rounding?.mix ?? take.channels,
      rounding,
    },
    ...stems.map(
      ({ jack }, index): TrackPlan => ({
        kind: 'stem',
        jack: jackName(jack),
        path: beside(options.path, jack, paths),
        title: `${patch.title}: ${jackName(jack)}`,
        signals: rounding?.stems[index] ?? [],
        rounding,
      }),
    ),
    ...options.taps.map(
      (jack, index): TrackPlan => ({
        kind: 'tap',
        jack: jackName(jack),
        path: beside(options.path, jack, paths),
        title: `${patch.title}: volts at ${jackName(jack)}`,
        comment: `Volts, ${FULL_SCALE_VOLTS} V at full scale. May be direct current: not for headphones or loudspeakers.`,
        signals: [take.probes[index] as Float64Array],
      }),
    ),
  ];
}

/** @param options with the folder that the files are made in, if they are a set. */
async function openTracks(
  cues: BarCues,
  take: Playing,
  plans: readonly TrackPlan[],
  options: ClipOptions & { readonly stage: string | undefined },
): Promise<FileTrack[]> {
  const { sampleRate, depth, stage } = options;
  const tracks: FileTrack[] = [];
  try {
    for (const plan of plans) {
      const { path, signals, title, comment, rounding } = plan;
      const writer = await openWav(stage === undefined ? path : join(stage, basename(path)), {
        makesFolder: stage === undefined,
        sampleRate,
        depth,
        channels: signals.length,
        title,
        cues: () => cues.within(sampleRate, take.musicFrames),
        ...(comment === undefined ? {} : { comment }),
        ...(take.totalFrames === undefined ? {} : { frames: take.totalFrames }),
        // Stems are rounded together with the mix already.
        dither: rounding === undefined,
      });
      tracks.push(new FileTrack(plan, writer, options));
    }
  } catch (error) {
    for (const track of tracks) track.abandon();
    throw error;
  }
  return tracks;
}

interface TrackPlan {
  readonly kind: ClipFile['kind'];
  readonly jack?: string;
  readonly path: string;
  readonly title: string;
  readonly comment?: string;
  readonly signals: readonly Float64Array[];
  /** What rounds the mix and its stems together, if there are any. */
  readonly rounding?: StemRounding | undefined;
}

/** One file in the making, and what is measured of it meanwhile. */
class FileTrack {
  private readonly plan: TrackPlan;
  private readonly writer: WavWriter;
  private readonly options: ClipOptions;
  private readonly signals: readonly Float64Array[];
  private readonly peak = new PeakMeter();
  private readonly loudness: LoudnessMeter | LoopLoudnessMeter | undefined;

  constructor(plan: TrackPlan, writer: WavWriter, options: ClipOptions) {
    this.plan = plan;
    this.writer = writer;
    this.options = options;
    this.signals =
      plan.kind === 'tap'
        ? plan.signals.map((signal) => new Float64Array(signal.length))
        : plan.signals;
    if (plan.kind === 'tap') return;
    const Meter = options.loop ? LoopLoudnessMeter : LoudnessMeter;
    this.loudness = new Meter(options.sampleRate, plan.signals.length);
  }

  add(frames: number): void {
    // The mix comes first and rounds all of them together.
    if (this.plan.kind === 'mix') this.plan.rounding?.run(frames);
    if (this.plan.kind === 'tap') this.scale(frames);
    this.writer.write(this.signals, frames);
    this.peak.add(this.signals, frames);
    this.loudness?.add(this.signals, frames);
  }

  async finish(): Promise<ClipFile> {
    const { kind, jack, path, signals } = this.plan;
    const { frames, clipped } = await this.writer.finish();
    return {
      path,
      kind,
      ...(jack === undefined ? {} : { jack }),
      channels: signals.length,
      sampleRate: this.options.sampleRate,
      bitDepth: this.options.depth,
      frames,
      peakDbfs: this.peak.dbfs,
      ...(this.loudness === undefined ? {} : { loudnessLufs: this.loudness.integrated() }),
      clipped,
    };
  }

  abandon(): void {
    this.writer.abandon();
  }

  private scale(frames: number): void {
    this.plan.signals.forEach((signal, index) => {
      const scaled = this.signals[index] as Float64Array;
      for (let i = 0; i < frames; i++) scaled[i] = (signal[i] as number) / FULL_SCALE_VOLTS;
    });
  }
}

/**
 * `NAME.MODULE-JACK.wav` beside `NAME.wav`, with a number behind it if that is taken; names that
 * differ in case alone are one on some disks.
 */
function beside(mix: string, jack: JackRef, taken: Set<string>): string {
  const stem = `${mix.replace(/\.wav$/i, '')}.${jackName(jack).replaceAll('.', '-')}`;
  let path = `${stem}.wav`;
  for (let count = 2; taken.has(path.toLowerCase()); count++) path = `${stem}-${count}.wav`;
  taken.add(path.toLowerCase());
  return path;
}
