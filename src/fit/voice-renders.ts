/** One render of a fit: how far it is from the recording, part by part, and what its sound is like. */

import { type BandFigures, bandFigures } from '../measure/likeness/drum-kind.ts';
import { hitDistance } from '../measure/likeness/hit-distance.ts';
import { type HitLook, lookAt, meanLook } from '../measure/likeness/hit-look.ts';
import { KINDS, type KindsOption } from '../modules/kinds.ts';
import type { KeptTrees } from '../patch/fragment.ts';
import { type PatchTexts, readTexts } from '../patch/texts.ts';
import { type VoiceChannel, voiceOf } from './path.ts';
import { playedHits } from './play.ts';
import type { RecordedHits } from './recording.ts';
import { FitError } from './settings.ts';
import { MUTE_DB } from './target.ts';

export interface VoiceOptions extends KindsOption {
  readonly written: PatchTexts;
  readonly recording: Pick<RecordedHits, 'scope' | 'target' | 'used'>;
  readonly channel: VoiceChannel | undefined;
  /** Whether levels are made alike before they are compared. */
  readonly isLevelled: boolean;
}

/** What the first render decides for all later ones. */
export interface FirstRender {
  /** Power of its loudest moment. */
  readonly power: number;
  /** How many hits are played. */
  readonly count: number;
}

/** The measures of a render; null for a hit without sound. */
export interface TriedSound {
  /** The strongest partial, Hz. */
  readonly partialHz: number | null;
  /** When it comes and goes, and where it lies. */
  readonly figures: BandFigures | null;
}

/** The terms of a distance: the residual of each part, dB, and the weight of a dB of it. */
export interface DistanceParts {
  readonly left: Float64Array;
  readonly weights: Float64Array;
}

/** Plain data, which another thread can send. */
export interface Rendered {
  /** The distance, with the cost of being too quiet. */
  readonly db: number;
  readonly parts: DistanceParts;
  readonly sound: TriedSound;
}

/**
 * Levels are made alike, so a setting could make the hit so quiet that only its last decibels match.
 * A hit may become this much quieter than it was, dB: as much as a low-pass at 200 Hz takes from white
 * noise up to 20 kHz. Each dB more counts as some dB of distance. Chosen by trial, no source.
 */
const QUIETER = { free: 20, cost: 3 };

/** The most hits that are played. */
const MOST_HITS = 8;
/** Hits closer than this count as the same, dB. */
const SAME_DB = 0.2;

const NOTHING: DistanceParts = { left: new Float64Array(), weights: new Float64Array() };

/** Renders of one patch with other values. */
export class VoiceRenders {
  private readonly options: VoiceOptions;
  private begun: FirstRender | undefined;
  /** The texts are parsed once for all of them. */
  private readonly kept: KeptTrees = new Map();

  /** @param first of the same voice, where another thread has begun. */
  constructor(options: VoiceOptions, first?: FirstRender) {
    this.options = options;
    this.begun = first;
  }

  /** Undefined before the first render that makes a sound. */
  get first(): FirstRender | undefined {
    return this.begun;
  }

  /**
   * Renders.
   * @param set values as `--set` takes them. The first render's are those of the patch.
   * @throws FitError if the patch cannot be read with them.
   */
  at(set: readonly string[]): Rendered {
    const { written, kinds = KINDS } = this.options;
    const { patch, problems } = readTexts(written, { kinds, kept: this.kept, set });
    if (patch === undefined)
      throw new FitError(`${set.join(', ')}: ${problems.map(({ message }) => message).join('; ')}`);
    const { recording, channel } = this.options;
    const { scope, target, used } = recording;
    const playing = { sampleRate: scope.sampleRate, channel, seconds: target.seconds };
    // As many as in the recording: a mean of more would have less random scatter, and so other logarithms.
    const count = this.begun?.count ?? Math.min(used, MOST_HITS);
    const hits = playedHits(voiceOf(patch, channel), playing, count);
    const looks = hits.map((hit) => lookAt(scope, hit));
    const [first, second] = looks;
    if (first === undefined)
      return {
        db: Number.POSITIVE_INFINITY,
        parts: NOTHING,
        sound: { partialHz: null, figures: null },
      };
    const look = meanLook(looks);
    // Hits that are all the same are played once.
    const isSame = second !== undefined && (hitDistance(first, second)?.db ?? 1) < SAME_DB;
    this.begun ??= { power: loudestPower(look), count: isSame ? 1 : hits.length };
    return {
      ...this.compared(look, this.begun),
      sound: { partialHz: look.tonality.partialHz, figures: bandFigures(look.frames) },
    };
  }

  private compared(look: HitLook, first: FirstRender): Pick<Rendered, 'db' | 'parts'> {
    const { recording, isLevelled } = this.options;
    const found = recording.target.searchedParts(look, isLevelled);
    if (found === null) return { db: MUTE_DB, parts: NOTHING };
    const quieterDb = isLevelled ? 10 * Math.log10(first.power / loudestPower(look)) : 0;
    const tooQuiet = QUIETER.cost * Math.max(0, quieterDb - QUIETER.free);
    const { differences, compared, frames, tonalityDb, pitchDb } = found;
    const whole = [tonalityDb, pitchDb, tooQuiet];
    const count = differences.length * compared;
    const left = new Float64Array(count + whole.length);
    differences.forEach((row, band) => {
      left.set(row, band * compared);
    });
    left.set(whole, count);
    const weights = new Float64Array(left.length).fill(1 / (differences.length * frames), 0, count);
    weights.fill(1, count);
    return { db: found.db + tooQuiet, parts: { left, weights } };
  }
}

/** Power of the loudest frame, all bands together. */
export function loudestPower({ frames: { bands, frames } }: HitLook): number {
  let loudest = 0;
  for (let k = 0; k < frames; k++) {
    let power = 0;
    for (const powers of bands) power += powers[k] as number;
    loudest = Math.max(loudest, power);
  }
  return loudest;
}
