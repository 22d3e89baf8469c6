/** The renders of a fit: how far each is from the recording, and the best of them. */

import { KINDS } from '../modules/kinds.ts';
import type { KeptTrees } from '../patch/fragment.ts';
import type { Patch } from '../patch/patch.ts';
import { type PatchTexts, readTexts } from '../patch/texts.ts';
import { FitError } from './fit-error.ts';
import { type VoiceChannel, voiceAlone, voiceChannels } from './path.ts';
import { type HitPicture, loudestPower } from './picture.ts';
import { playedHits } from './play.ts';
import type { RecordedHits } from './recording.ts';
import { type Knob, knobText } from './settings.ts';
import { LAGS, type Target } from './target.ts';

export interface TryOptions {
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
  /** The distance, and what it costs to be too quiet. */
  readonly db: number;
}

/** What a patch sounds like beside the recording. */
export interface Likeness {
  /** dB. */
  readonly distance: number;
  /** Power of its loudest moment. */
  readonly power: number;
}

/**
 * Levels are made alike, so a setting could make the hit so quiet that only its last decibels match.
 * A hit may become this much quieter than it was, dB: what is left of white noise up to 20 kHz above
 * a lowpass at 200 Hz. Each dB more counts as some dB of distance. Chosen by trial, no source.
 */
const QUIETER = { free: 20, cost: 3 };

/** The renders of a fit, and the best of them. */
export class Tries {
  done = 0;
  best: Tried = { values: [], db: Number.POSITIVE_INFINITY };
  /** The smallest distance of all. */
  least = Number.POSITIVE_INFINITY;
  private readonly options: TryOptions;
  private target: Target | undefined;
  private usualPower = 0;
  private readonly known = new Map<string, number>();
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

  /** The distance with these values, which are not taken. The first ones are those of the patch. */
  async aside(values: readonly number[]): Promise<number> {
    const { knobs, written, onRender } = this.options;
    // What is as it was stays as the file writes it, to the last digit.
    const set = knobs.flatMap((knob, index) => {
      const value = values[index] as number;
      return value === knob.before ? [] : [`${knob.path}=${knobText(knob, value)}`];
    });
    const key = set.join();
    const before = this.known.get(key);
    if (before !== undefined) return before;
    const { patch, problems } = readTexts(written, { kinds: KINDS, kept: this.kept, set });
    if (patch === undefined)
      throw new FitError(`${set.join(', ')}: ${problems.map(({ message }) => message).join('; ')}`);
    const picture = pictureOf(patch, this.options);
    const db = picture === undefined ? Number.POSITIVE_INFINITY : this.compared(picture);
    this.known.set(key, db);
    this.done += 1;
    await onRender(this.done);
    return db;
  }

  /** What a patch sounds like, whatever was tried before; undefined if it makes no hit. */
  heard(patch: Patch): Likeness | undefined {
    const { recording, isLevelled } = this.options;
    const picture = pictureOf(patch, this.options);
    if (picture === undefined) return undefined;
    const { db } = recording.target.knowing(picture).distance(picture, isLevelled);
    return { distance: db, power: loudestPower(picture) };
  }

  private compared(picture: HitPicture): number {
    const { recording, isLevelled } = this.options;
    const power = loudestPower(picture);
    if (this.target === undefined) {
      this.target = recording.target.knowing(picture);
      this.usualPower = power;
    }
    const { db } = this.target.distance(picture, isLevelled);
    if (!isLevelled || !(power > 0)) return db;
    const quieterDb = 10 * Math.log10(this.usualPower / power);
    return db + QUIETER.cost * Math.max(0, quieterDb - QUIETER.free);
  }
}

/** The mean picture of a patch's hits; undefined if it makes none. */
function pictureOf(patch: Patch, { recording, channel }: TryOptions): HitPicture | undefined {
  const { scope, target } = recording;
  const isAlone = channel !== undefined && voiceChannels(patch).length > 1;
  const { samples, hits } = playedHits(isAlone ? voiceAlone(patch, channel) : patch, {
    sampleRate: scope.sampleRate,
    channel,
    seconds: target.seconds,
  });
  if (hits.length === 0) return undefined;
  return scope.average(scope.prepare(samples), hits, {
    lead: LAGS,
    frames: target.frames + 2 * LAGS,
  });
}
