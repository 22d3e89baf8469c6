/**
 * Times against quarters and bars: the tempo map of a performance, to be asked anywhere at once.
 * Quarters count from the start of the music, through every change of tempo and pattern; those of a
 * count-in are negative. Swing moves steps, not the ruler.
 */

import { toNumber } from './fixed.ts';
import type { RhythmSettings } from './rhythm.ts';
import { type SongPlay, songOf } from './song.ts';

export class Ruler {
  /** Quarters in a bar. */
  readonly beats: number;
  /** s before the music. */
  readonly origin: number;

  private readonly spans: readonly EntrySpan[];
  /** Of the song once through its entries. */
  private readonly seconds: number;
  private readonly quarters: number;

  /** @throws RangeError for a tempo that is not a positive finite number. */
  constructor(settings: RhythmSettings) {
    const song = songOf(settings, 1);
    const perQuarter = Number(song.partsPerQuarter);
    const spanOf = ({ start, firstPart, groove }: SongPlay): EntrySpan => ({
      start: toNumber(start),
      from: Number(firstPart) / perQuarter,
      quarter: toNumber(groove.quarter),
    });
    this.beats = settings['beats-per-bar'];
    this.origin = toNumber(song.countIn?.groove.duration ?? 0n);
    const bare = { start: 0, from: 0, quarter: 60 / settings.tempo };
    this.spans = song.plays.length > 0 ? song.plays.map(spanOf) : [bare];
    this.seconds = song.plays.length > 0 ? toNumber(song.pass) : Number.POSITIVE_INFINITY;
    this.quarters =
      song.plays.length > 0 ? Number(song.parts) / perQuarter : Number.POSITIVE_INFINITY;
  }

  /** Gives the quarters at a time, s from the start of the performance. */
  quartersAt(time: number): number {
    const [pass, rest] = this.inPass(time - this.origin, this.seconds);
    const { start, from, quarter } = this.lastBy(rest, 'start');
    return (pass === 0 ? 0 : pass * this.quarters) + from + (rest - start) / quarter;
  }

  /** Gives the time of a place in quarters, s from the start of the performance. */
  timeOf(quarters: number): number {
    const [pass, rest] = this.inPass(quarters, this.quarters);
    const { start, from, quarter } = this.lastBy(rest, 'from');
    return this.origin + (pass === 0 ? 0 : pass * this.seconds) + start + (rest - from) * quarter;
  }

  /** Gives the time at which a bar starts, s; bar 1 is the first of the music, bar 0 the one before. */
  timeOfBar(bar: number): number {
    return this.timeOf((bar - 1) * this.beats);
  }

  /** Whole passes through the song before a place, and the rest; before the music, none. */
  private inPass(place: number, length: number): [pass: number, rest: number] {
    const pass = length === Number.POSITIVE_INFINITY ? 0 : Math.max(0, Math.floor(place / length));
    return [pass, pass === 0 ? place : place - pass * length];
  }

  private lastBy(place: number, by: 'start' | 'from'): EntrySpan {
    let low = 0;
    let high = this.spans.length - 1;
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if ((this.spans[middle] as EntrySpan)[by] <= place) low = middle;
      else high = middle - 1;
    }
    return this.spans[low] as EntrySpan;
  }
}

/** One entry of the song: where it starts in the song, s and quarters, and its quarter, s. */
interface EntrySpan {
  readonly start: number;
  readonly from: number;
  readonly quarter: number;
}
