/**
 * A capacitor in the way of recorded volts: its corner, found from how they go back to 0 V between edges, and the
 * volts as they were before it.
 *
 *   between edges   y' = -k y, so that y(t2) - y(t1) = -k (integral of y from t1 to t2), however long that is
 *   undone          v' = y' + k y, except for a constant, which the capacitor has removed
 *
 * k is 2 pi times the corner. It is the slope, by least squares, of the change of the volts between two edges over
 * their integral there; the input's own offset o adds k o (t2 - t1), and is found along with it. Volts that pass
 * directly do not change, whatever their integral is.
 *
 * A gate that sags by itself falls less than it rose; through a capacitor it falls as far as it rose, from
 * lower down to as much lower. So rises and falls are compared.
 *
 * Source: first-order high-pass: Horowitz & Hill, The Art of Electronics, 1.7 (from memory).
 */

import { median } from '../median.ts';
import type { SampleBlock } from '../samples.ts';

/** A capacitor between the circuit and the recording. */
export interface Capacitor {
  /** 1/s: 2 pi times the corner in Hz. */
  readonly rate: number;
  /** The input's own offset, 1 being full scale. */
  readonly offset: number;
}

/** s: means of so much before and after are compared to find edges. */
const SPAN = 0.0005;
const LEAST_SPAN = 8;
/** Shares of the greatest jump: from the first on it is an edge, and under the second the edge is over. */
const EDGE = 0.4;
const OVER = 0.2;
/** Samples after an edge, and before it, that are left out: an interface rings there. */
const SETTLED = 4;
/** How far from an edge a stretch begins and ends, about, as a share of a span. */
const FAR = 0.8;
/** Samples whose mean is the level at the start, and at the end, of a stretch. */
const ENDS = 64;
const LEAST_STRETCH = 12;
/** Standard errors from which on a corner counts. */
const SURE = 5;
/** Of the swing: a smaller loss than this between edges does not change the reported levels. */
const LEAST_LOSS = 0.001;
/** Of the swing: a low that moves by so much from the first quarter of a recording to the last is not steady. */
const MOVES = 0.02;
/** Of the swing: a low that moves by less than this is steady. */
const STAYS = 0.005;
/** Lows, or highs, from which on their first and last quarters are compared. */
const ENOUGH = 4;
/** Hz: the lowest corner of any interface: common practice, no source. */
const LOWEST_HZ = 0.1;
/** Of the swing: volts this near to 0 V may have been put there by a capacitor. */
const NEAR_NONE = 0.02;
/** Of a pulse's loss while it is high: if it falls by this much less than it rose, the gate itself sags. */
const SAGS = 0.5;

/** Finds the greatest jump: the first of two passes. */
export class JumpMeter {
  protected readonly span: number;
  private readonly latest: Float64Array;
  private at = 0;
  /** `at`, counted round the latest. */
  private slot = 0;
  private before = 0;
  private after = 0;
  private most = 0;

  /** @param sampleRate Hz. */
  constructor(sampleRate: number) {
    this.span = Math.max(LEAST_SPAN, Math.round(SPAN * sampleRate));
    this.latest = new Float64Array(2 * this.span);
  }

  add(samples: Float64Array | Float32Array, count: number): void {
    for (let n = 0; n < count; n++)
      this.most = Math.max(this.most, Math.abs(this.jump(samples[n] as number)));
  }

  /** 1 being full scale. */
  get greatest(): number {
    return this.most;
  }

  /** How much higher the latest span is than the one before it; 0 until both are full. */
  protected jump(value: number): number {
    const { span, latest, at } = this;
    const slot = this.slot;
    const middle = slot < span ? slot + span : slot - span;
    this.slot = slot + 1 < latest.length ? slot + 1 : 0;
    this.before += (latest[middle] as number) - (latest[slot] as number);
    this.after += value - (latest[middle] as number);
    latest[slot] = value;
    this.at = at + 1;
    return this.at < latest.length ? 0 : (this.after - this.before) / span;
  }
}

/** A stretch between two edges. Times in samples. */
interface BetweenEdges {
  /** The sign of the edge before it and after it; 0 at the ends of the recording. */
  readonly from: number;
  to: number;
  /** Means of its first and of its last samples, the time between the middles of these, and the integral over it. */
  readonly first: number;
  readonly last: number;
  readonly length: number;
  readonly integral: number;
  /** From the edge to the middle of the first samples, and likewise at the end. */
  readonly lead: number;
}

/** Gathers the stretches between edges: the second of two passes. */
export class CapacitorMeter extends JumpMeter {
  private readonly edge: number;
  private readonly over: number;
  private readonly sampleRate: number;
  private readonly stretches: BetweenEdges[] = [];
  private readonly delayed: Float64Array;
  private time = 0;
  /** Where in `delayed` the oldest is. */
  private oldest = 0;
  private sign = 0;
  private isEdge = false;
  private open: OpenStretch | undefined = new OpenStretch();

  /** @param greatest of the first pass. */
  constructor(sampleRate: number, greatest: number) {
    super(sampleRate);
    this.sampleRate = sampleRate;
    this.edge = EDGE * greatest;
    this.over = OVER * greatest;
    this.delayed = new Float64Array(this.span + 1);
  }

  override add(samples: Float64Array | Float32Array, count: number): void {
    const { delayed } = this;
    for (let n = 0; n < count; n++) {
      const value = samples[n] as number;
      const jump = this.jump(value);
      const size = Math.abs(jump);
      if (size > this.edge && (!this.isEdge || Math.sign(jump) !== this.sign))
        this.close(Math.sign(jump));
      else if (this.isEdge && size < this.over) {
        this.isEdge = false;
        this.open = new OpenStretch();
      }
      // The jump is that of the middle of both spans: the samples to take lie one span back.
      delayed[this.oldest] = value;
      this.time += 1;
      this.oldest = this.oldest + 1 < delayed.length ? this.oldest + 1 : 0;
      if (this.open !== undefined && this.time >= delayed.length)
        this.open.add(delayed[this.oldest] as number);
    }
  }

  private close(sign: number): void {
    const made = this.open?.ended(this.sign, sign, this.span);
    if (made !== undefined) this.stretches.push(made);
    else if (this.stretches.length > 0) (this.stretches.at(-1) as BetweenEdges).to = 0;
    this.sign = sign;
    this.isEdge = true;
    this.open = undefined;
  }

  /** 1/s: the fastest that a capacitor in the way can be. */
  fastest(): number {
    const fit = rateOf(this.whole());
    const most = fit === undefined ? Number.POSITIVE_INFINITY : fit.rate + SURE * fit.error;
    return Math.max(0, most) * this.sampleRate;
  }

  private whole(): readonly BetweenEdges[] {
    return this.stretches.filter(({ from }) => from !== 0);
  }

  /** @returns undefined where none can be seen. */
  finish(): Capacitor | undefined {
    const fit = rateOf(this.whole());
    if (fit === undefined || !(fit.rate > SURE * fit.error)) return undefined;
    if (!this.fallsAsFar(fit.rate, fit.offset)) return undefined;
    return { rate: fit.rate * this.sampleRate, offset: fit.offset };
  }

  /** Whether the level sags between edges although pulses fall as far as they rose. */
  private fallsAsFar(rate: number, offset: number): boolean {
    const { stretches } = this;
    const [rises, falls]: [number[], number[]] = [[], []];
    let loss = 0;
    for (const [n, one] of stretches.entries()) {
      const before = stretches[n - 1];
      loss = Math.max(loss, Math.abs(rate * one.integral));
      if (before === undefined || before.to !== one.from) continue;
      // The loss between an edge and the samples looked at is added back.
      const jump =
        one.first +
        rate * one.lead * (one.first - offset) -
        (before.last - rate * before.lead * (before.last - offset));
      (one.from > 0 ? rises : falls).push(Math.abs(jump));
    }
    if (loss < LEAST_LOSS * this.edge) return false;
    const highs = stretches.filter(({ from }) => from > 0);
    const lost = median(highs.map(({ first, last }) => first - last));
    const added = median(highs.map(({ lead, first }) => Math.abs(rate * lead * (first - offset))));
    if (lost > added && rises.length > 0 && falls.length > 0)
      return median(rises) - median(falls) < SAGS * lost;
    // Pulses this short show too little: then the stretches between them have to decide by themselves.
    const lows = stretches.filter(({ from }) => from < 0);
    const alone = rateOf(lows);
    if (alone !== undefined && alone.rate > SURE * alone.error) return true;
    // ... or by their level: through a capacitor it settles about 0, without one it is steady.
    return this.movesBy(lows) > MOVES;
  }

  /** How far they move, as a share of the swing, from the first quarter of a recording to the last. */
  private movesBy(side: readonly BetweenEdges[]): number {
    const levels = side.map(({ first }) => first);
    const part = Math.ceil(levels.length / 4);
    const moved = median(levels.slice(0, part)) - median(levels.slice(-part));
    return Math.abs(moved) / (this.edge / EDGE);
  }

  /**
   * Whether a capacitor may be in the way without being seen: too little of the volts is visible between edges to
   * exclude it, and their levels are where a capacitor would have put them.
   * @param low of the volts as they are, and their mean over whole periods; as shares of the swing.
   * @param fastest 1/s, by how level the pulses are.
   */
  mayHideOne(low: number, mean: number, fastest: number): boolean {
    const slowest = 2 * Math.PI * LOWEST_HZ;
    if (Math.min(this.fastest(), fastest) < slowest) return false;
    // One that has settled has its mean at 0 V.
    if (Math.abs(mean) < NEAR_NONE && low < -NEAR_NONE) return true;
    // One that has not settled is on its way there, which shows in the levels, or begins with its low at 0 V.
    const sides = [-1, 1].map((side) => this.stretches.filter(({ from }) => from === side));
    const enough = sides.filter(({ length }) => length >= ENOUGH);
    if (enough.length === 0 || enough.some((side) => this.movesBy(side) > STAYS)) return true;
    const seconds = this.time / this.sampleRate;
    const wouldMove = (1 - Math.exp(-slowest * seconds)) * Math.abs(mean - low);
    return Math.abs(low) < NEAR_NONE && wouldMove < 4 * STAYS;
  }
}

/** A stretch that has not ended. */
class OpenStretch {
  private readonly head = new Float64Array(ENDS);
  private readonly tail = new Float64Array(ENDS);
  private count = 0;
  private sum = 0;

  add(value: number): void {
    const at = this.count - SETTLED;
    this.count += 1;
    if (at < 0) return;
    if (at < ENDS) this.head[at] = value;
    this.tail[at % ENDS] = value;
    this.sum += value;
  }

  /** @param span samples on either side that are needed to see an edge. */
  ended(from: number, to: number, span: number): BetweenEdges | undefined {
    const count = this.count - SETTLED;
    if (count < LEAST_STRETCH) return undefined;
    const size = Math.min(ENDS, count >> 2);
    let first = 0;
    let last = 0;
    for (let n = 0; n < size; n++) {
      first += this.head[n] as number;
      last += this.tail[(count - 1 - n) % ENDS] as number;
    }
    // From the middle of the first ones to that of the last ones.
    const ends = (first + last) / 2;
    return {
      from,
      to,
      first: first / size,
      last: last / size,
      length: count - size,
      integral: this.sum - ends,
      lead: FAR * span + size / 2,
    };
  }
}

/** The slope, a sample, with one standard error, and the offset; undefined of fewer than four stretches. */
export function rateOf(
  all: readonly Pick<BetweenEdges, 'first' | 'last' | 'length' | 'integral'>[],
): { rate: number; error: number; offset: number } | undefined {
  if (all.length < 4) return undefined;
  let ii = 0;
  let it = 0;
  let tt = 0;
  let id = 0;
  let td = 0;
  for (const { first, last, length, integral } of all) {
    const change = first - last;
    ii += integral * integral;
    it -= integral * length;
    tt += length * length;
    id += integral * change;
    td -= length * change;
  }
  const whole = ii * tt - it * it;
  if (!(whole > 0)) return undefined;
  // change = k integral - (k o) length.
  const rate = (tt * id - it * td) / whole;
  const lift = (ii * td - it * id) / whole;
  let squares = 0;
  for (const { first, last, length, integral } of all)
    squares += (first - last - rate * integral + lift * length) ** 2;
  const variance = squares / (all.length - 2);
  return { rate, error: Math.sqrt((variance * tt) / whole), offset: rate === 0 ? 0 : lift / rate };
}

/** Blocks of a recording as they were before the capacitor, one channel of them, except for a constant. */
export function* withoutCapacitor(
  blocks: Iterable<SampleBlock>,
  channel: number,
  { rate, offset }: Capacitor,
  sampleRate: number,
): Iterable<SampleBlock> {
  const share = rate / sampleRate / 2;
  let before = Number.NaN;
  let volts = 0;
  for (const { channels, frames } of blocks) {
    const samples = channels[channel] as Float32Array | Float64Array;
    const made = new Float64Array(frames);
    for (let n = 0; n < frames; n++) {
      const value = (samples[n] as number) - offset;
      if (Number.isNaN(before)) [before, volts] = [value, value];
      volts += value - before + share * (value + before);
      before = value;
      made[n] = volts;
    }
    yield { channels: [made], frames };
  }
}
