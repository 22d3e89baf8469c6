/** The renders of a fit: how far each is from the recording, and the best of them. */

import {
  type BandFigures,
  bandFigures,
  drumKind,
  type KindDistance,
  kindDistance,
} from '../measure/likeness/drum-kind.ts';
import { type HitDistance, hitDistance } from '../measure/likeness/hit-distance.ts';
import { type HitLook, lookAt, meanLook } from '../measure/likeness/hit-look.ts';
import { comparedWith } from '../measure/likeness/hit-spans.ts';
import { KINDS, type KindsOption } from '../modules/kinds.ts';
import type { KeptTrees } from '../patch/fragment.ts';
import type { Patch } from '../patch/patch.ts';
import { type PatchTexts, readTexts } from '../patch/texts.ts';
import { type VoiceChannel, voiceOf } from './path.ts';
import { playedHits, reportedHit, type VoicePlayOptions } from './play.ts';
import type { RecordedHits } from './recording.ts';
import { FitError, type Knob, knobText, movedBy } from './settings.ts';
import { MUTE_DB } from './target.ts';

export interface TryOptions extends KindsOption {
  readonly written: PatchTexts;
  readonly recording: RecordedHits;
  readonly channel: VoiceChannel | undefined;
  readonly knobs: readonly Knob[];
  /** Whether levels are made alike before they are compared. */
  readonly isLevelled: boolean;
  /** Called after each render with the number of renders so far. */
  readonly onRender: (done: number) => Promise<void>;
}

export interface Tried {
  readonly values: readonly number[];
  /** The distance, with the cost of being too quiet. */
  readonly db: number;
}

/** The measures of a try; null for a hit without sound. */
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

/** How a patch sounds compared with the recording. */
export interface PatchLikeness {
  readonly distance: HitDistance;
  /** Power of its loudest moment. */
  readonly power: number;
  /** How far its kind of drum is from the recording's. */
  readonly kind: KindDistance | null;
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

const SILENT = {
  db: Number.POSITIVE_INFINITY,
  parts: { left: new Float64Array(), weights: new Float64Array() },
};

/** The renders of a fit, and the best of them. */
export class Tries {
  done = 0;
  best: Tried = { values: [], db: Number.POSITIVE_INFINITY };
  /** The smallest distance of all. */
  least = Number.POSITIVE_INFINITY;
  private readonly options: TryOptions;
  private usualPower = 0;
  /** How many hits are played; undefined before the first. */
  private count: number | undefined;
  private readonly known = new Map<string, number>();
  private last: { readonly key: string; readonly parts: DistanceParts } | undefined;
  private readonly heardOf = new Map<string, TriedSound>();
  /** The texts are parsed once for all of them. */
  private readonly kept: KeptTrees = new Map();

  constructor(options: TryOptions) {
    this.options = options;
  }

  /** The distance with these values; the best is remembered. */
  async at(values: readonly number[]): Promise<number> {
    const db = await this.aside(values);
    if (this.best.values.length === 0 || db < this.best.db) this.best = { values, db };
    this.least = Math.min(this.least, db);
    return db;
  }

  /** The distance with these values, without keeping them as the best. The first ones are those of the patch. */
  aside(values: readonly number[]): Promise<number> {
    return this.tried(this.setOf(values));
  }

  /**
   * The same with other noise and other random voltages.
   * @param draw which, from 1.
   */
  drawn(values: readonly number[], draw: number): Promise<number> {
    return this.tried([...this.setOf(values), `seed=chance ${draw}`]);
  }

  private async tried(set: readonly string[]): Promise<number> {
    const { written, onRender, kinds = KINDS } = this.options;
    const key = set.join();
    const before = this.known.get(key);
    if (before !== undefined) return before;
    const { patch, problems } = readTexts(written, { kinds, kept: this.kept, set });
    if (patch === undefined)
      throw new FitError(`${set.join(', ')}: ${problems.map(({ message }) => message).join('; ')}`);
    const look = this.lookOf(patch);
    const { db, parts } = look === undefined ? SILENT : this.compared(look);
    this.last = { key, parts };
    this.known.set(key, db);
    this.heardOf.set(key, {
      partialHz: look?.tonality.partialHz ?? null,
      figures: look === undefined ? null : bandFigures(look.frames),
    });
    this.done += 1;
    await onRender(this.done);
    return db;
  }

  /** The terms of the distance with these values; this may take a render of its own. */
  async partsAt(values: readonly number[]): Promise<DistanceParts> {
    const key = this.setOf(values).join();
    if (this.last?.key !== key) {
      this.known.delete(key);
      await this.aside(values);
    }
    return this.last?.parts ?? SILENT.parts;
  }

  /** The measures of a hit with these values. */
  async soundAt(values: readonly number[]): Promise<TriedSound> {
    await this.aside(values);
    return this.heardOf.get(this.setOf(values).join()) ?? { partialHz: null, figures: null };
  }

  /** An unchanged value stays as the file writes it, to the last digit. */
  private setOf(values: readonly number[]): readonly string[] {
    return movedBy(this.options.knobs, values).map(
      ({ knob, value }) => `${knob.path}=${knobText(knob, value)}`,
    );
  }

  /** How a patch sounds, whatever was tried before; undefined if it makes no hit. */
  heard(patch: Patch): PatchLikeness | undefined {
    const { recording, isLevelled } = this.options;
    const seconds = recording.target.reportedSeconds;
    const played = reportedHit(this.alone(patch), { ...this.playing, seconds });
    if (played === undefined) return undefined;
    const hit = comparedWith(played, recording.sound);
    const look = lookAt(recording.scope, hit);
    const distance = recording.target.reported(look, isLevelled);
    if (distance === null) return undefined;
    const own = drumKind(hit, look);
    const kind = own && kindDistance(recording.kind, own);
    return { distance, power: loudestPower(look), kind };
  }

  private get playing(): VoicePlayOptions {
    const { recording, channel } = this.options;
    const { sampleRate } = recording.scope;
    return { sampleRate, channel, seconds: recording.target.seconds };
  }

  private alone(patch: Patch): Patch {
    return voiceOf(patch, this.options.channel);
  }

  /** The mean of a patch's hits; undefined if it makes none. Hits that are all the same are played once. */
  private lookOf(patch: Patch): HitLook | undefined {
    const { playing } = this;
    const { scope, used } = this.options.recording;
    // As many as in the recording: a mean of more would have less random scatter, and so other logarithms.
    const hits = playedHits(this.alone(patch), playing, this.count ?? Math.min(used, MOST_HITS));
    const looks = hits.map((hit) => lookAt(scope, hit));
    const [first, second] = looks;
    if (first === undefined) return undefined;
    const isSame = second !== undefined && (hitDistance(first, second)?.db ?? 1) < SAME_DB;
    this.count ??= isSame ? 1 : hits.length;
    return meanLook(looks);
  }

  private compared(look: HitLook): { readonly db: number; readonly parts: DistanceParts } {
    const { recording, isLevelled } = this.options;
    const power = loudestPower(look);
    if (this.usualPower === 0) this.usualPower = power;
    const found = recording.target.searchedParts(look, isLevelled);
    if (found === null) return { db: MUTE_DB, parts: SILENT.parts };
    const quieterDb = isLevelled ? 10 * Math.log10(this.usualPower / power) : 0;
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
function loudestPower({ frames: { bands, frames } }: HitLook): number {
  let loudest = 0;
  for (let k = 0; k < frames; k++) {
    let power = 0;
    for (const powers of bands) power += powers[k] as number;
    loudest = Math.max(loudest, power);
  }
  return loudest;
}
