/**
 * Distinguishes a stroke from the wavering of a sound that rings on.
 *
 * - A rise: the power just after a moment against the power just before it, in each of three bands,
 *   more than chance explains. Source of the idea, relative rise of power band by band: A. Klapuri,
 *   Sound Onset Detection by Applying Psychoacoustic Knowledge, Proc. IEEE ICASSP (1999) 3089-3092
 *   (from memory). The thresholds are our own: so many standard deviations of the same ratio for
 *   steady noise.
 * - A jump: see `level-jump.ts`. Narrow noise, beating partials and drums of several modes rise as
 *   much, but not at once, and they waver before and after.
 *
 * Times are in hops, about 1 ms each. The numbers were chosen by trial on synthetic strokes, flams,
 * and sounds that must give no second stroke: see the tests.
 */

import type { HopLevels } from './hop-levels.ts';
import { type Jump, jumpOf, MARGIN, MOST } from './level-jump.ts';
import { WHOLE } from './onset-bands.ts';

interface BandRule {
  /** Lower and upper border, Hz, for the statistics of noise. */
  readonly hz: readonly [number, number];
  /** Hops that are compared, before and after. */
  readonly span: number;
  /** How many standard deviations a rise must be, on top of `LEAST_RISE_DB`. */
  readonly deviations: number;
}

const RULES: readonly BandRule[] = [
  { hz: [10, 200], span: 20, deviations: 3.5 },
  { hz: [200, 2000], span: 10, deviations: 4.5 },
  { hz: [2000, 20000], span: 5, deviations: 5 },
];
const LEAST_RISE_DB = 2;
const LOW = 0;
/** Above this band a single wave does not show as a level of its own. */
const MIDDLE = 1;
const HIGH = 2;

/** How far ahead the evidence of a stroke reaches, and a mere rise. */
export const REACH_AHEAD = 66;
export const RISE_AHEAD = 20;
/** While the last stroke is no older than this it rings on. */
export const RINGING = 60;

/** A sound that breaks off clicks: where the whole falls by more than 10 dB there is no stroke. */
const BREAK_OFF = 0.1;
/** ... and where its last waves are no louder than those before, which differ by their own crests. */
const NO_LOUDER = 4;
/** Half of a rise, in dB, comes within this; otherwise the rise is still to come. */
const SOON = 6;
/** Low notes need this long to show. */
const LOW_APART = 20;

/** A jump of so many standard errors is not chance; with few levels it has to be larger. */
const SURE = 5;
const SURE_OF_FEW = 8;
const FEW = 7;
/** A stroke is there at once, and does not go on growing, dB. */
const SHARP = 0.5;
const GROWTH_DB = 1;
/**
 * A jump with a smaller share at once than this must be more certain, by so many standard errors for the whole share.
 */
const AT_ONCE = 0.9;
const SLOW = 15;
/** The least wavering of hops in the middle and the high band, dB. */
const WAVERING = [1, 0.6];
/** Only what rises by 2.5 dB in a moment is looked at. */
const MOMENT = 4;
const NOTICED = 1.78;

/** A rise 12 dB under the whole sound is a part of that sound, such as the corners of a clipped wave. */
const PART = 10 ** -1.2;
/** A wave of 50 to 125 Hz that is full of edges strikes this regularly; hands do not. */
const WAVES: readonly [number, number] = [8, 20];
const REPEATS = 3;
/** A click stands out by 8 dB from all before it, except the start of the last stroke. */
const STANDS_OUT = 10 ** 0.8;
const CLICK_APART = 14;
const CLICK = 4;
/** A sound that swells is louder by this than all before it, and no more than 30 dB under the whole. */
const LOUDER = 2;
const FAINT = 1e-3;

export class StrokeEvidence {
  private readonly levels: HopLevels;
  /** What a rise must exceed in each band, dB, and the same as ratios. */
  private readonly thresholds: readonly number[];
  private readonly leastRatios: readonly number[];
  /** Levels around the moment that is looked at, dB: of the middle and of the high band. */
  private readonly around = [new Float64Array(2 * MARGIN + 1), new Float64Array(2 * MARGIN + 1)];

  /** @param hop samples in a hop. */
  constructor(levels: HopLevels, sampleRate: number, hop: number) {
    this.levels = levels;
    this.thresholds = RULES.map(({ hz, span, deviations }) => {
      const width = Math.max(100, Math.min(hz[1], sampleRate / 2) - hz[0]);
      const freedom = Math.max(2, 2 * width * ((span * hop) / sampleRate));
      // 10 log10 of a mean square over `freedom` values has this deviation; a ratio has both.
      return LEAST_RISE_DB + deviations * (10 / Math.LN10) * Math.sqrt(4 / freedom);
    });
    this.leastRatios = this.thresholds.map((db) => 10 ** (db / 10));
  }

  /** By how many dB the strongest rise at a hop exceeds its threshold; 0 where none does. */
  rise(at: number): number {
    let most = 0;
    for (let b = 0; b < RULES.length; b++) {
      const ratio = this.riseIn(b, at);
      // Most hops have no rise, and need no logarithm.
      if (ratio > 0) most = Math.max(most, 10 * Math.log10(ratio) - (this.thresholds[b] as number));
    }
    return most > 0 && this.breaksOff(at) ? 0 : most;
  }

  /**
   * Whether the highest of several rises is a stroke.
   * @param since hops since the last stroke set in.
   */
  isStroke(at: number, since: number): boolean {
    if (since >= LOW_APART && this.riseIn(LOW, at) > 0) return true;
    if (since < RINGING) return false;
    if (this.ends(at)) return false;
    if (this.swells(at)) return true;
    this.lookAround(at);
    if (isClear(this.jump(at, since, MOST), SURE)) return true;
    const short = this.jump(at, since, FEW);
    return isClear(short, SURE) && !this.isPart(short.at) && !this.isWave(at, this.moment(at));
  }

  /**
   * Looks for another stroke while the last still rings.
   * @returns the hop in which it sets in; null for none.
   */
  again(at: number, since: number): number | null {
    const rise = Math.max(this.highest(MIDDLE, at, since), this.highest(HIGH, at, since));
    if (rise === 0 || this.breaksOff(at) || this.ends(at)) return null;
    this.lookAround(at);
    const long = this.jump(at, since, MOST);
    if (isClear(long, SURE)) return long.at;
    const short = this.jump(at, since, FEW);
    if (isClear(short, SURE_OF_FEW) && !this.isPart(short.at) && !this.isWave(at, rise)) {
      return short.at;
    }
    if (since < CLICK_APART || this.isWave(at, rise)) return null;
    return this.click(MIDDLE, at, since) ?? this.click(HIGH, at, since);
  }

  /** The rise in a band, as a ratio; 0 where it does not exceed its threshold. */
  private riseIn(band: number, at: number): number {
    const { levels } = this;
    const { span } = RULES[band] as BandRule;
    const ratio = levels.ratio(band, at, span, span);
    if (!(ratio > (this.leastRatios[band] as number))) return 0;
    return span <= SOON || levels.ratio(band, at, span, SOON) > Math.sqrt(ratio) ? ratio : 0;
  }

  private breaksOff(at: number): boolean {
    const { levels } = this;
    const before = levels.mean(WHOLE, at - 5, at);
    // The click of a break is heard some hops ahead of it, so what comes next counts as well.
    const after = Math.min(levels.mean(WHOLE, at, at + 5), levels.mean(WHOLE, at + 5, at + 10));
    return after + levels.silence < BREAK_OFF * (before + levels.silence);
  }

  /** Whether the sound breaks off in a moment, and nothing louder came before that. */
  private ends(at: number): boolean {
    if (!this.breaksOff(at + MOMENT)) return false;
    const { levels } = this;
    let most = 0;
    for (let h = at; h < at + MOMENT; h++) most = Math.max(most, levels.mean(WHOLE, h, h + 1));
    return most < NO_LOUDER * (levels.mean(WHOLE, at - 5, at) + levels.silence);
  }

  /** Whether a band becomes louder than at any time since long before. */
  private swells(at: number): boolean {
    const { levels } = this;
    for (let b = MIDDLE; b <= HIGH; b++) {
      const after = levels.mean(b, at + 4, at + 18) + levels.silence;
      const before = levels.mean(b, at - 5, at) + levels.silence;
      if (after < (this.leastRatios[b] as number) * before) continue;
      if (after < FAINT * levels.mean(WHOLE, at + 4, at + 18)) continue;
      let most = 0;
      for (let h = at - 5; h > at - RINGING; h -= 5)
        most = Math.max(most, levels.mean(b, h - 5, h));
      if (after > LOUDER * (most + levels.silence)) return true;
    }
    return false;
  }

  private lookAround(at: number): void {
    this.around.forEach((levels, k) => {
      this.levels.decibels(MIDDLE + k, at - MARGIN, levels);
    });
  }

  private jump(at: number, since: number, after: number): Jump | null {
    const { around: levels } = this;
    const before = Math.min(MOST, since - 1);
    const found = jumpOf({ levels, least: WAVERING, near: MARGIN, before, after });
    return found === null ? null : { ...found, at: at - MARGIN + found.at };
  }

  /** By how much the stronger of two bands rises from one moment to the next. */
  private moment(at: number): number {
    return Math.max(
      this.levels.ratio(MIDDLE, at, MOMENT, MOMENT),
      this.levels.ratio(HIGH, at, MOMENT, MOMENT),
    );
  }

  /** By how much a band rises from one moment to the next; 0 if not noticed, or if it is larger just beside. */
  private highest(band: number, at: number, since: number): number {
    const { levels } = this;
    const rise = levels.ratio(band, at, MOMENT, MOMENT);
    if (!(rise > NOTICED)) return 0;
    for (let d = 1; d <= MOMENT; d++) {
      if (levels.ratio(band, at + d, MOMENT, MOMENT) > rise) return 0;
      // Not where the rise of the last stroke would be looked at.
      if (since - d >= MOMENT && levels.ratio(band, at - d, MOMENT, MOMENT) >= rise) return 0;
    }
    return rise;
  }

  private isPart(at: number): boolean {
    const { levels } = this;
    const [middle, high, whole] = [MIDDLE, HIGH, WHOLE].map((b) => levels.mean(b, at + 1, at + 4));
    return Math.max(middle as number, high as number) < PART * (whole as number);
  }

  private isWave(at: number, rise: number): boolean {
    // Half as many dB.
    const alike = Math.sqrt(rise);
    const isNear = (hop: number) =>
      this.moment(hop - 1) >= alike || this.moment(hop) >= alike || this.moment(hop + 1) >= alike;
    for (let period = WAVES[0]; period <= WAVES[1]; period++) {
      let repeats = 0;
      while (repeats < REPEATS && isNear(at + (repeats + 1) * period)) repeats++;
      if (repeats === REPEATS) return true;
    }
    return false;
  }

  /** Where a click that soon falls stands out from the ringing, such as that of a stick on a drum. */
  private click(band: number, at: number, since: number): number | null {
    const { levels } = this;
    let hop = at - 1;
    for (let h = at; h < at + MOMENT; h++) {
      if (levels.mean(band, h, h + 2) > levels.mean(band, hop, hop + 2)) hop = h;
    }
    const power = levels.mean(band, hop, hop + 2);
    if (levels.mean(band, hop + CLICK, hop + 2 * CLICK) >= power) return null;
    let most = 0;
    for (let h = at - RINGING; h < hop - 1; h++) {
      const isLast = h >= at - since - 1 && h < at - since + CLICK;
      if (!isLast) most = Math.max(most, levels.mean(band, h, h + 1));
    }
    const stands = power + levels.silence > STANDS_OUT * (most + levels.silence);
    return stands ? hop : null;
  }
}

function isClear(jump: Jump | null, deviations: number): jump is Jump {
  if (jump === null || jump.sharpness < SHARP || jump.growth > GROWTH_DB) return false;
  const slow = Math.max(0, AT_ONCE - jump.sharpness);
  return jump.deviations >= deviations + SLOW * slow;
}
