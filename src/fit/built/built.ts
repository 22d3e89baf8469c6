/**
 * A voice for a recording without a patch: of several shapes, the one whose parts, mixed as well as possible,
 * come nearest.
 */

import type { BandFrames, HitSound } from '../../measure/likeness/band-frames.ts';
import { lookAt, meanLook } from '../../measure/likeness/hit-look.ts';
import { KINDS, type KindsOption } from '../../modules/kinds.ts';
import type { Patch } from '../../patch/patch.ts';
import { describeIn, type PatchTexts, readTexts, withText } from '../../patch/texts.ts';
import { type VoiceChannel, voiceChannels } from '../path.ts';
import { playedHits } from '../play.ts';
import type { RecordedHits } from '../recording.ts';
import { FitError } from '../settings.ts';
import type { Concern } from '../settle.ts';
import { layeredShapes } from './layered-shapes.ts';
import { levelsFor } from './voice-levels.ts';
import { shapesFor } from './voice-start.ts';
import { fallRange, gateInputs, MOST_LEVEL, type VoiceShape, voiceText } from './voice-text.ts';

export interface BuildRequest extends KindsOption {
  readonly recording: RecordedHits;
  /** The name of the voice's file, its rack if it has one, and the texts of that. */
  readonly texts: PatchTexts;
  /** The recording's name, for the title. */
  readonly name: string;
  /** The path of the rack, as the voice names it. */
  readonly rack: string | undefined;
  readonly concernsOf: (patch: Patch) => readonly Concern[];
  /** Called with the steps done so far, one of which takes a fraction of a second. */
  readonly onProgress: (done: number) => void;
  /** Called between two steps, to let other work run. */
  readonly breathe: () => Promise<void>;
  /** Once true, the best voice so far is the result. */
  readonly isStopped: () => boolean;
}

export interface BuiltVoice {
  readonly written: PatchTexts;
  readonly patch: Patch;
  readonly channel: VoiceChannel;
  /** Settings with ranges that a fit varies besides the usual ones. */
  readonly also: readonly string[];
  /** How many were made for it. */
  readonly renders: number;
}

/**
 * Hits of a part that are played, since no two stretches of noise are alike: a long one has more of them in each, s.
 */
const HITS = { usual: 3, long: 2, from: 0.8 };
/** The most that all parts together may reach: 9 V, of the 10 V of full scale. */
const LOUDEST = 0.9;
/** A voice that clips is made softer by this factor, at most so often. */
const SOFTER = { by: 0.8, steps: 8 };
/** Jacks of the multiples that racks have. */
const JACKS = [4, 8];

/**
 * Builds a voice.
 * @throws FitError if the rack does not have the modules for any voice.
 */
export async function builtVoice(request: BuildRequest): Promise<BuiltVoice> {
  const { recording, concernsOf, isStopped } = request;
  let done = 0;
  let renders = 0;
  const onRender = (): void => {
    renders += 1;
  };
  const breathe = (): Promise<void> => {
    request.onProgress(done++);
    return request.breathe();
  };
  let best: { readonly shape: VoiceShape; readonly db: number } | undefined;
  let lacking: Concern | undefined;
  const isThere = (shape: VoiceShape): boolean => 'shape' in plugged(shape, request);
  const layered = await layeredShapes(recording, {
    ...{ breathe, isStopped },
    isThere: request.rack === undefined ? undefined : isThere,
  });
  // If there are banks, filters and oscillators do not come nearer, except for a falling pitch.
  const plain = shapesFor(recording).filter(
    ({ toneKind, hasFall }) => layered.length === 0 || (toneKind === 'resonator' && hasFall),
  );
  for (const shape of [...layered, ...plain]) {
    await breathe();
    if (best !== undefined && isStopped()) break;
    const fitting = plugged(shape, request);
    if (!('shape' in fitting)) {
      lacking ??= fitting.concern;
      continue;
    }
    const mixed = mixedFor(fitting.shape, request, onRender);
    if (mixed !== undefined && (best === undefined || mixed.db < best.db)) best = mixed;
  }
  if (best === undefined)
    throw new FitError(
      `No voice can be built of what the rack has: ${lacking?.message ?? 'none of its parts sounds'} A voice takes a multiple, a mixer, and resonators, or noise or an oscillator with an envelope and an amplifier.`,
    );
  // Its noise goes further up at the usual rate than at that of a slow recording, and is louder by that.
  let { shape } = best;
  const isFine = (tried: VoiceShape): boolean =>
    concernsOf(read(tried, request).patch).length === 0;
  for (let step = 0; step < SOFTER.steps && !isFine(shape); step++)
    shape = { ...shape, levels: shape.levels.map((level) => level * SOFTER.by) };
  // Without the parts left out the multiple may be smaller.
  const smaller = plugged({ ...shape, jacks: 1 + gateInputs(shape) }, request);
  return { ...read('shape' in smaller ? smaller.shape : shape, request), renders };

  function plugged(
    shape: VoiceShape,
    asked: BuildRequest,
  ): { readonly shape: VoiceShape } | { readonly concern: Concern | undefined } {
    let concern: Concern | undefined;
    const needed = 1 + gateInputs(shape);
    for (const jacks of [Math.max(3, needed), ...JACKS.filter((one) => one > needed)]) {
      const tried = { ...shape, jacks };
      const [first] = concernsOf(read(tried, asked).patch);
      if (first === undefined) return { shape: tried };
      concern ??= first;
    }
    return { concern };
  }
}

function read(
  shape: VoiceShape,
  { texts, name, rack, kinds = KINDS }: BuildRequest,
): Omit<BuiltVoice, 'renders'> {
  const written = withText(texts, voiceText(shape, { recording: name, rack }));
  const { patch, problems } = readTexts(written, { kinds });
  const channel = patch && voiceChannels(patch)[0];
  if (patch === undefined || channel === undefined)
    throw new FitError(problems.map((one) => describeIn(written, one)).join('\n\n'));
  return { written, patch, channel, also: fallRange(shape) };
}

/** The shape with the levels that bring it nearest, without the parts that do not help. */
function mixedFor(
  shape: VoiceShape,
  request: BuildRequest,
  onRender: () => void,
): { readonly shape: VoiceShape; readonly db: number } | undefined {
  const { recording, kinds = KINDS } = request;
  const { written, channel } = read(shape, request);
  const playing = {
    sampleRate: recording.scope.sampleRate,
    channel,
    seconds: recording.target.seconds,
  };
  const several = playing.seconds < HITS.from ? HITS.usual : HITS.long;
  const parts: BandFrames[] = [];
  const peaks: number[] = [];
  for (const index of shape.levels.keys()) {
    const set = shape.levels.flatMap((_, other) =>
      other === index ? [] : [`sum.level-${other + 1}=0 %`],
    );
    const { patch } = readTexts(written, { kinds, set });
    if (patch === undefined) return undefined;
    const count = index < shape.tones.length ? 1 : several;
    onRender();
    const hits = playedHits(patch, playing, count);
    if (hits.length === 0) return undefined;
    parts.push(meanLook(hits.map((hit) => lookAt(recording.scope, hit))).frames);
    peaks.push(hits.reduce((most, hit) => Math.max(most, peakOf(hit)), 0));
  }
  const { gainsDb } = levelsFor(parts, recording.target);
  const isKept = (index: number): boolean => typeof gainsDb[index] === 'number';
  const mixed = gainsDb.flatMap((gain, index) => {
    if (gain === null) return [];
    const by = 10 ** (gain / 20);
    return [{ level: by * (shape.levels[index] as number), peak: by * (peaks[index] as number) }];
  });
  // Parts hardly ever peak together; if they do, it is no louder than this.
  const scale = Math.min(
    LOUDEST / mixed.reduce((sum, { peak }) => sum + peak, 0),
    MOST_LEVEL / mixed.reduce((most, { level }) => Math.max(most, level), 0),
  );
  const { tones, noises } = shape;
  const best: VoiceShape = {
    ...shape,
    tones: tones.filter((_, index) => isKept(index)),
    noises: noises.filter((_, index) => isKept(tones.length + index)),
    hasFall: shape.hasFall && isKept(0),
    levels: mixed.map(({ level }) => level * scale),
  };
  const whole = read(best, request);
  onRender();
  const hits = playedHits(whole.patch, { ...playing, channel: whole.channel }, several);
  if (hits.length === 0) return undefined;
  const look = meanLook(hits.map((hit) => lookAt(recording.scope, hit)));
  return { db: recording.target.searched(look, true), shape: best };
}

function peakOf({ samples, onset, end }: HitSound): number {
  let peak = 0;
  for (let n = onset; n < end; n++) peak = Math.max(peak, Math.abs(samples[n] as number));
  return peak;
}
