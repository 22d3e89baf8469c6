/** The renders of a fit: how far each is from the recording, and the best of them. */

import { drumKind, type KindDistance, kindDistance } from '../measure/likeness/drum-kind.ts';
import type { HitDistance } from '../measure/likeness/hit-distance.ts';
import { lookAt } from '../measure/likeness/hit-look.ts';
import { comparedWith } from '../measure/likeness/hit-spans.ts';
import type { Patch } from '../patch/patch.ts';
import { voiceOf } from './path.ts';
import { reportedHit } from './play.ts';
import type { RecordedHits } from './recording.ts';
import { type Knob, knobText, movedBy } from './settings.ts';
import {
  type DistanceParts,
  type FirstRender,
  loudestPower,
  type Rendered,
  type TriedSound,
  type VoiceOptions,
  VoiceRenders,
} from './voice-renders.ts';

export interface TryOptions extends VoiceOptions {
  readonly recording: RecordedHits;
  readonly knobs: readonly Knob[];
  /** Makes renders at the same time, if there is another thread. */
  readonly second?: SecondThread | undefined;
  /** Called after each render with the number of renders so far. */
  readonly onRender: (done: number) => Promise<void>;
}

/** Another thread, which renders ahead of the search. Results are the same without it. */
export interface SecondThread {
  /** Goes over to the renders of another voice, which have begun here. */
  begin(options: VoiceOptions, first: FirstRender): void;
  /**
   * Says which renders will be asked for, in this order; those of before that nobody has begun are dropped.
   * @param sets values as `--set` takes them.
   */
  prepare(sets: readonly (readonly string[])[]): void;
  /** One of them, if the other thread has it or is at it; undefined if it is to be made here. */
  take(set: readonly string[]): Promise<Rendered | undefined> | undefined;
}

export interface Tried {
  readonly values: readonly number[];
  /** The distance, with the cost of being too quiet. */
  readonly db: number;
}

/** How a patch sounds compared with the recording. */
export interface PatchLikeness {
  readonly distance: HitDistance;
  /** Power of its loudest moment. */
  readonly power: number;
  /** How far its kind of drum is from the recording's. */
  readonly kind: KindDistance | null;
}

/** The renders of a fit, and the best of them. */
export class Tries {
  done = 0;
  best: Tried = { values: [], db: Number.POSITIVE_INFINITY };
  /** The smallest distance of all. */
  least = Number.POSITIVE_INFINITY;
  private readonly options: TryOptions;
  private readonly renders: VoiceRenders;
  private readonly known = new Map<string, number>();
  private last: { readonly key: string; readonly parts: DistanceParts } | undefined;
  private readonly heardOf = new Map<string, TriedSound>();

  constructor(options: TryOptions) {
    this.options = options;
    this.renders = new VoiceRenders(options);
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
   * Says which values will be tried, in this order, so that two threads can render at once.
   * @param draws of noise that each is tried with before the next, the patch's own first.
   */
  prepare(all: readonly (readonly number[])[], draws = 1): void {
    const { second } = this.options;
    if (second === undefined || this.renders.first === undefined) return;
    const sets = all.flatMap((values) =>
      Array.from({ length: draws }, (_, draw) => this.setOf(values, draw)),
    );
    second.prepare(sets.filter((set) => !this.known.has(set.join())));
  }

  /**
   * The same with other noise and other random voltages.
   * @param draw which, from 1.
   */
  drawn(values: readonly number[], draw: number): Promise<number> {
    return this.tried(this.setOf(values, draw));
  }

  private async tried(set: readonly string[]): Promise<number> {
    const { onRender } = this.options;
    const key = set.join();
    const before = this.known.get(key);
    if (before !== undefined) return before;
    const { db, parts, sound } = await this.rendered(set);
    this.last = { key, parts };
    this.known.set(key, db);
    this.heardOf.set(key, sound);
    this.done += 1;
    await onRender(this.done);
    return db;
  }

  private async rendered(set: readonly string[]): Promise<Rendered> {
    const { second } = this.options;
    const made = await second?.take(set);
    if (made !== undefined) return made;
    const isFirst = this.renders.first === undefined;
    const own = this.renders.at(set);
    if (isFirst && this.renders.first !== undefined)
      second?.begin(this.options, this.renders.first);
    return own;
  }

  /**
   * The terms of the distance with these values; this may take a render of its own.
   * @param draw of noise, as {@link drawn} has it; 0 for the patch's own.
   */
  async partsAt(values: readonly number[], draw = 0): Promise<DistanceParts> {
    const set = this.setOf(values, draw);
    const key = set.join();
    if (this.last?.key !== key) {
      this.known.delete(key);
      await this.tried(set);
    }
    // The line above has just set it.
    return (this.last as { readonly parts: DistanceParts }).parts;
  }

  /** The measures of a hit with these values. */
  async soundAt(values: readonly number[]): Promise<TriedSound> {
    await this.aside(values);
    return this.heardOf.get(this.setOf(values).join()) ?? { partialHz: null, figures: null };
  }

  /** An unchanged value stays as the file writes it, to the last digit. */
  private setOf(values: readonly number[], draw = 0): readonly string[] {
    const set = movedBy(this.options.knobs, values).map(
      ({ knob, value }) => `${knob.path}=${knobText(knob, value)}`,
    );
    return draw === 0 ? set : [...set, `seed=chance ${draw}`];
  }

  /** How a patch sounds, whatever was tried before; undefined if it makes no hit. */
  heard(patch: Patch): PatchLikeness | undefined {
    const { recording, channel, isLevelled } = this.options;
    const { scope, target, sound } = recording;
    const played = reportedHit(voiceOf(patch, channel), {
      ...{ sampleRate: scope.sampleRate, channel, seconds: target.reportedSeconds },
    });
    if (played === undefined) return undefined;
    const hit = comparedWith(played, sound);
    const look = lookAt(scope, hit);
    const distance = target.reported(look, isLevelled);
    if (distance === null) return undefined;
    const own = drumKind(hit, look);
    const kind = own && kindDistance(recording.kind, own);
    return { distance, power: loudestPower(look), kind };
  }
}
