/**
 * The engine's side of the page: takes requests, keeps the texts and their patch, and works on the sound and
 * the pictures in slices, so that a newer request never waits long. Knows nothing of workers: `main.ts` ties it
 * to one.
 */

import { instantEnd } from '../../engine/instant.ts';
import { withoutCountIn } from '../../engine/loop.ts';
import { Prepared } from '../../engine/prepared.ts';
import { partFed, Recording } from '../../engine/recording.ts';
import { BLOCK, type Part } from '../../engine/renderer.ts';
import { jacksOfStem } from '../../engine/stems.ts';
import { unchanged } from '../../engine/unchanged.ts';
import { USUAL_RATE } from '../../engine/usual-rate.ts';
import { findingsIn } from '../../findings/check.ts';
import { silenceOf } from '../../findings/silence.ts';
import { scoreSource } from '../../output/score/score-of.ts';
import { soloed } from '../../output/strokes/solo.ts';
import { NO_VOICES, type Voices, voicesOf } from '../../output/voices.ts';
import type { KeptTrees } from '../../patch/fragment.ts';
import type { JackRef, Patch } from '../../patch/patch.ts';
import { jackNamed } from '../../patch/patch.ts';
import type { PatchTexts } from '../../patch/texts.ts';
import type {
  ChartView,
  EngineAnswer,
  EngineRequest,
  From,
  PatchChange,
  ProblemView,
  Solo,
  StrokeWish,
  TextsState,
} from '../protocol.ts';
import { type AlongRequest, alongHeard, alongView } from './along.ts';
import { changed } from './change.ts';
import { clipOf } from './clip.ts';
import { outlineView } from './outline.ts';
import {
  type Breath,
  chartsOf,
  findingParts,
  heardContext,
  loopFigures,
  scoreViews,
} from './pictures.ts';
import { type LoopPlace, placeOf } from './place.ts';
import { readFiles, type TextsReading } from './reading.ts';
import { buffersOf, LoopSound, type LoopSoundOptions, type Soon } from './sound.ts';
import { Telling } from './told.ts';
import { versionFigures, versionMoves, versionSpectra } from './versions.ts';
import { viewOf } from './view.ts';
import { strokeOf } from './voices/stroke.ts';
import { partsOfVoice, voiceLevel } from './voices/voice.ts';

/** What the engine needs from the thread that it runs in. */
export interface Surroundings {
  /** Sends an answer; the buffers may be transferred rather than copied. */
  readonly post: (answer: EngineAnswer, buffers: readonly ArrayBuffer[]) => void;
  /** Lets requests that have arrived be received. */
  readonly breathe: () => Promise<void>;
  /** Waits for so many ms. */
  readonly pause: (ms: number) => Promise<void>;
  /** ms. */
  readonly now: () => number;
}

/** Work between two looks at newer requests, ms. */
const SLICE = 8;
/** The state after a change is sent with its sound, or this much later, ms: the page redraws for it. */
const TELL = 40;
/** Pictures are drawn only after no change for this long, ms. */
const QUIET = 200;
/** Time between two messages about the progress, ms. */
const WAY = 200;
/** A recording is used again if it has at least this share of the unchanged modules; otherwise it is made again. */
const ENOUGH_KEPT = 0.75;

/** A request that cannot be done; the message says why. */
class RefusedRequest extends Error {}
/** A newer request has come. */
class Superseded extends Error {}

export class Engine {
  private readonly around: Surroundings;
  private readonly kept: KeptTrees = new Map();
  /** The latest texts, with or without problems. */
  private files: PatchTexts | undefined;
  /** What is wrong with them. */
  private problems: readonly ProblemView[] = [];
  /** Their patch, whether it can be heard or not. */
  private legible: Patch | undefined;
  /** The patch of the last texts without problems. */
  private patch: Patch | undefined;
  private latest: Prepared | undefined;
  /** The patch that was played last, and the recording kept of it. */
  private last: Prepared | undefined;
  private recording: Recording | undefined;
  /** The latest patch in which all recorded modules are unchanged. */
  private recorded: Prepared | undefined;
  /** The patches of the latest outline, score and findings. */
  private outlined: Patch | undefined;
  private drawn: string | undefined;
  private checked: Patch | undefined;
  private readonly telling = new Telling();
  private bars: number | undefined;
  private from: From | undefined;
  private probe: string | undefined;
  private voice: string | undefined;
  private solo: Solo | undefined;
  /** All voices of the patch that plays, even if only some are heard. */
  private voices: Voices = NO_VOICES;
  /** Shares of the loop: where the latest request is to be heard, and up to where it must be rendered for that. */
  private at = 0;
  private until = 0;
  /** The latest request that needs work. */
  private wanted = 0;
  private isWorking = false;
  /** The latest request for a cable. */
  private alongId = 0;
  /** A state that is not sent yet, and when it must be sent. */
  private untold:
    | { readonly id: number; readonly state: () => TextsState; readonly due: number }
    | undefined;
  private interrupt: () => void = () => {};
  /** When the last progress message was sent, ms. */
  private wayTold = 0;

  constructor(around: Surroundings) {
    this.around = around;
  }

  /** Takes a request; answers come in their own time. */
  receive(request: EngineRequest): void {
    const { id } = request;
    this.tell();
    try {
      this.take(request);
    } catch (error) {
      if (error instanceof RefusedRequest)
        this.answer({ type: 'refused', id, message: error.message });
      else this.fail(id, error);
    }
  }

  private take(request: EngineRequest): void {
    const { id } = request;
    const heard = request.type === 'change' ? request.heard : undefined;
    [this.at, this.until] = [heard?.at ?? 0, heard?.until ?? 0];
    switch (request.type) {
      case 'open':
        this.telling.opened();
        // The page forgets answers about other texts.
        this.drawn = undefined;
        this.read(id, readFiles(request.files, this.kept));
        break;
      case 'change':
        this.read(id, this.changed(request.change), TELL);
        break;
      case 'length':
        [this.bars, this.from] = [request.bars, request.from];
        this.show(id, 0);
        break;
      case 'probe':
        this.probe = request.jack;
        this.work(id);
        break;
      case 'voice':
        this.voice = request.voice;
        this.work(id);
        break;
      case 'solo':
        this.solo = request.solo;
        this.work(id);
        break;
      case 'stroke':
        this.stroke(id, request.stroke);
        break;
      case 'clip':
        this.clip(id);
        break;
      case 'moves': {
        const moves = versionMoves(request.first, request.other, this.kept);
        this.answer({ type: 'moves', id, ...(moves && { moves }) });
        break;
      }
      case 'figures':
        this.answer({ type: 'figures', id, figures: versionFigures(request) });
        break;
      case 'spectra':
        this.answer({ type: 'spectra', id, spectra: versionSpectra(request) });
        break;
      case 'along':
        this.along(request).catch((error: unknown) => {
          if (!(error instanceof Superseded)) this.fail(id, error);
        });
    }
  }

  private changed(change: PatchChange): TextsReading {
    const { files, patch } = this;
    if (files === undefined || patch === undefined)
      throw new RefusedRequest('there is no patch to change');
    const [problem] = this.problems;
    if (problem !== undefined)
      throw new RefusedRequest(
        `nothing can be moved while the file has a mistake (${problem.file}, line ${problem.line}). Mend it there, or undo here`,
      );
    const result = changed(files, patch, change, this.kept);
    if (result.refused !== undefined) throw new RefusedRequest(result.refused);
    this.telling.changed(change);
    return result.reading;
  }

  private read(id: number, { files, patch, legible, problems }: TextsReading, delay = 0): void {
    [this.files, this.legible, this.problems] = [files, legible, problems];
    if (patch === undefined) {
      this.answer({ type: 'state', id, state: { files, problems } });
      // There is no sound that this could delay.
      this.outline(id);
      return;
    }
    this.patch = patch;
    this.show(id, delay);
  }

  /** Starts to play the patch, and sends its state, at most `delay` ms later. */
  private show(id: number, delay: number): void {
    const { files, patch } = this;
    if (files === undefined || patch === undefined) return;
    const place = this.placed(patch);
    const state = (): TextsState => ({
      files,
      problems: [],
      view: viewOf(this.prepared(patch), files, place),
    });
    this.untold = { id, state, due: this.around.now() + delay };
    if (delay === 0) this.tell();
    this.work(id);
  }

  /** The part that loops: without a count-in, from the chosen start. */
  private placed(patch: Patch): LoopPlace {
    return placeOf(this.prepared(withoutCountIn(patch)), this.from, this.bars);
  }

  /** The preparation of a patch, done once for its sound, its pictures and its check. */
  private prepared(patch: Patch): Prepared {
    if (this.latest?.patch !== patch) this.latest = new Prepared(patch);
    return this.latest;
  }

  private tell(): void {
    if (this.untold === undefined) return;
    const { id, state } = this.untold;
    this.untold = undefined;
    this.answer({ type: 'state', id, state: state() });
  }

  private work(id: number): void {
    this.wanted = id;
    this.interrupt();
    if (this.isWorking) return;
    this.isWorking = true;
    void this.workOff();
  }

  /** Waits a while, unless a request comes. */
  private quiet(): Promise<void> {
    return new Promise((done) => {
      this.interrupt = done;
      void this.around.pause(QUIET).then(done);
    });
  }

  private async workOff(): Promise<void> {
    for (let id = -1; id !== this.wanted; ) {
      id = this.wanted;
      try {
        await this.run(id);
      } catch (error) {
        this.tell();
        if (!(error instanceof Superseded)) this.fail(id, error);
      }
    }
    this.isWorking = false;
  }

  /** Does all the work for a request. @throws Superseded when there is a newer one. */
  private async run(id: number): Promise<void> {
    const { around, patch, voice } = this;
    if (patch === undefined) return;
    const breathe = async (): Promise<void> => {
      await around.breathe();
      if (id !== this.wanted) throw new Superseded();
    };
    const place = this.placed(patch);
    const whole = place.of;
    this.voices = voicesOf(whole);
    const looped = this.solo === undefined ? whole : new Prepared(soloed(whole, this.solo));
    const sound = this.soundOf(looped, place);
    const { until } = this;
    const isPart = looped !== whole;
    while (!sound.isWhole) {
      sound.play(around.now() + SLICE, around.now, until);
      if (sound.way !== undefined) this.onWay(id, sound.way);
      const isEnough = sound.isThere(until);
      // A piece too short to be heard would only burden the page.
      if (isEnough)
        for (const piece of sound.pieces())
          this.answer({ type: 'sound', id, sound: { ...piece, isPart } }, buffersOf(piece));
      if (isEnough || around.now() >= (this.untold?.due ?? Number.POSITIVE_INFINITY)) this.tell();
      await breathe();
    }
    const figures = await loopFigures(sound, breathe);
    this.answer({ type: 'sound', id, sound: { ...figures, isPart } });
    // While settings are moved, only the sound follows.
    await this.quiet();
    await breathe();
    this.outline(id);
    await breathe();
    const charts = await chartsOf(looped, sound, place.start, voice, breathe);
    const parts = partsOfVoice(looped, this.voices, voice);
    const mix = this.solo === undefined ? figures.loudnessLufs : undefined;
    const level = await voiceLevel(parts, sound, voice, mix, breathe);
    const lack = lackOf(charts, whole, voice);
    this.answer({ type: 'charts', id, charts, ...lack, ...(level && { level }) });
    const { start, seconds } = place;
    const drawn = `${start} ${seconds} ${scoreSource(whole)}`;
    if (this.drawn !== drawn) {
      this.answer({ type: 'score', id, ...(await scoreViews(whole, place, breathe)) });
      this.drawn = drawn;
      await breathe();
    }
    if (this.checked !== patch) await this.check(id, patch, breathe);
  }

  /** Sends the progress towards the place where the sound begins, a few times a second. */
  private onWay(id: number, share: number): void {
    const now = this.around.now();
    if (now < this.wayTold + WAY) return;
    this.wayTold = now;
    this.answer({ type: 'way', id, share });
  }

  /** Says what will go wrong, and then what would mend it. */
  private async check(id: number, patch: Patch, breathe: Breath): Promise<void> {
    const { files, telling } = this;
    const context = await heardContext(this.prepared(patch), breathe);
    const findings = findingsIn(context);
    const told = telling.take(findings, patch);
    const parts = findingParts(findings, patch);
    this.answer({ type: 'findings', id, parts, ...(told && { told }) });
    if (files !== undefined && told !== undefined) {
      const mend = await telling.mend(context, files, breathe);
      if (mend !== undefined) this.answer({ type: 'mend', id, mend });
    }
    this.checked = patch;
  }

  /**
   * The sound of a patch. Modules that a change does not affect are recorded, so that only the others
   * are played for the next change of the same module.
   */
  private soundOf(of: Prepared, place: LoopPlace): LoopSound {
    const { last } = this;
    const { patch } = of;
    this.last = of;
    // A place within the song is played with all that comes before it.
    if (place.start > 0) return new LoopSound(of, this.heardIn(of, place));
    const same = last === undefined ? new Set<string>() : unchanged(last, of);
    const known = this.divided(of, same, last, place);
    if (known !== undefined) return known;
    const whole = (): LoopSound => new LoopSound(of, this.heardIn(of, place));
    const running = patch.modules.filter(({ definition }) => definition.create !== undefined);
    if (same.size === 0 || same.size === running.length) return whole();
    const wanted = this.wantedIn(of, place);
    const options = { sampleRate: USUAL_RATE, seconds: place.seconds, wanted };
    if (!Recording.isSmall(of, same, options)) return whole();
    this.recording = new Recording(of, same, options);
    this.recorded = of;
    return this.divided(of, same, of, place) ?? whole();
  }

  /**
   * The changed part of a patch, fed with the recording of the rest; undefined if the rest is not recorded.
   * @param same the modules whose outputs are the same as in the `last` patch.
   */
  private divided(
    of: Prepared,
    same: ReadonlySet<string>,
    last: Prepared | undefined,
    place: LoopPlace,
  ): LoopSound | undefined {
    const { recording, recorded } = this;
    if (recording === undefined || recorded === undefined) return undefined;
    const { seconds } = place;
    if (recording.seconds !== seconds || recording.modules.size < ENOUGH_KEPT * same.size)
      return undefined;
    const still = recorded === last ? same : unchanged(recorded, of);
    if (![...recording.modules].every((name) => still.has(name))) return undefined;
    this.recorded = of;
    const part = recording.partOf(of, this.wantedIn(of, place));
    if (part === undefined) return undefined;
    const soon = this.soonOf(of, recording, part, place);
    return new LoopSound(of, { ...this.heardIn(of, place), ...(soon ? { soon } : { part }) });
  }

  /**
   * How a part quickly gets to the place where it is heard; undefined if that gains nothing, or takes too much
   * memory.
   */
  private soonOf(
    of: Prepared,
    recording: Recording,
    { runs, feeds }: Part,
    place: LoopPlace,
  ): Soon | undefined {
    const from = Math.floor((this.at * place.seconds * USUAL_RATE) / BLOCK) * BLOCK;
    const end = from > 0 ? instantEnd(of, runs) : undefined;
    if (end === undefined || end.size === 0) return undefined;
    const remembers = of.patch.modules.filter(
      ({ name, definition }) => definition.create !== undefined && runs.has(name) && !end.has(name),
    );
    const names = new Set(remembers.map(({ name }) => name));
    const wanted = this.wantedIn(of, place);
    const options = { sampleRate: USUAL_RATE, seconds: place.seconds, wanted };
    if (!Recording.isSmall(of, names, options)) return undefined;
    const before = new Recording(of, names, { ...options, feeds });
    const part = partFed(of, [recording, before], wanted, from);
    const head = partFed(of, [recording, before], wanted);
    return part && head && { before, part, head };
  }

  /** Jacks to listen at beside the mix. */
  private wantedIn(of: Prepared, place: LoopPlace): readonly JackRef[] {
    const { probe, stems = [] } = this.heardIn(of, place);
    return [...(probe ? [probe.jack] : []), ...stems.flatMap(jacksOfStem)];
  }

  private heardIn(of: Prepared, { start, seconds }: LoopPlace): LoopSoundOptions {
    const { patch } = of;
    const name = this.probe;
    const probe = name === undefined ? undefined : jackNamed(patch, name);
    return {
      seconds,
      start,
      ...(probe && name && { probe: { jack: probe, name } }),
      stems: partsOfVoice(of, this.voices, this.voice).stems,
    };
  }

  private clip(id: number): void {
    const { patch } = this;
    if (patch === undefined) throw new RefusedRequest('there is nothing to hear yet');
    const place = this.placed(patch);
    clipOf(place.of, place, this.around).then(
      (wav) => this.answer({ type: 'clip', id, wav }, [wav.buffer as ArrayBuffer]),
      (error: unknown) => this.fail(id, error),
    );
  }

  /** Describes a cable of the patch, then plays the patch with the cables up to it. A newer request ends it. */
  private async along(request: AlongRequest): Promise<void> {
    const { id } = request;
    const { legible, around } = this;
    this.alongId = id;
    if (legible === undefined) {
      const lack = 'The file has a mistake: mend it first, and the cables are here again.';
      this.answer({ type: 'along', id, along: { cables: [], lack } });
      return;
    }
    const { view, step, steps } = alongView(legible, request);
    this.answer({ type: 'along', id, along: view });
    if (step === undefined) return;
    const breathe = async (): Promise<void> => {
      await around.breathe();
      if (id !== this.alongId) throw new Superseded();
    };
    await breathe();
    const heard = await alongHeard(step, steps, {
      patch: placeOf(withoutCountIn(step.patch), this.from, this.bars).of.patch,
      seconds: () => this.placed(legible).seconds,
      play: (sound) => sound.play(around.now() + SLICE, around.now),
      breathe,
    });
    this.answer(
      { type: 'along-heard', id, heard },
      (heard.sound?.channels ?? []).map(({ buffer }) => buffer),
    );
  }

  private stroke(id: number, stroke: StrokeWish): void {
    const { patch } = this;
    if (patch === undefined) throw new RefusedRequest('there is nothing to strike yet');
    strokeOf(patch, stroke, this.around).then(
      (channels) =>
        this.answer(
          { type: 'stroke', id, stroke, sampleRate: USUAL_RATE, channels },
          channels.map(({ buffer }) => buffer),
        ),
      (error: unknown) => this.fail(id, error),
    );
  }

  private outline(id: number): void {
    const { legible } = this;
    if (legible === undefined || legible === this.outlined) return;
    this.outlined = legible;
    this.answer({ type: 'outline', id, outline: outlineView(this.prepared(legible)) });
  }

  private answer(answer: EngineAnswer, buffers: readonly ArrayBuffer[] = []): void {
    this.around.post(answer, buffers);
  }

  private fail(id: number, error: unknown): void {
    const message = error instanceof Error ? error.message : String(error);
    this.answer({ type: 'failed', id, message });
  }
}

/** Why there is nothing to draw, if there is nothing. */
function lackOf(
  charts: readonly ChartView[],
  of: Prepared,
  voice: string | undefined,
): { readonly lack?: string } {
  if (charts.some(({ name }) => name !== 'volts')) return {};
  const why = silenceOf(of);
  return { lack: `${voice === undefined ? '' : `${voice} is `}silent: ${why}.` };
}
