/**
 * The same edges again, the slow and obvious way: every time a fraction of whole numbers in seconds,
 * every stroke of the whole performance in one list. Shares nothing with `src/timing` but the draws
 * of chance.
 */

import type { Span } from '../../src/modules/definition.ts';
import { Chance } from '../../src/modules/dsp/random.ts';
import type { Pattern } from '../../src/modules/score.ts';
import type { PerformanceOptions } from '../../src/timing/edges.ts';
import type { RhythmSettings } from '../../src/timing/rhythm.ts';

export class Fraction {
  readonly over: bigint;
  readonly under: bigint;

  constructor(over: bigint, under = 1n) {
    // Only so that sums of many do not grow without end.
    const divisor = under < LONG ? 1n : gcd(over < 0n ? -over : over, under);
    this.over = divisor === 1n ? over : over / divisor;
    this.under = divisor === 1n ? under : under / divisor;
  }

  /** Reads the shortest decimal that gives the number. */
  static of(x: number): Fraction {
    const known = READ.get(x) ?? Fraction.read(x);
    READ.set(x, known);
    return known;
  }

  private static read(x: number): Fraction {
    const [digits = '', exponent = '0'] = String(x).split('e');
    const [whole = '', rest = ''] = digits.split('.');
    const power = Number(exponent) - rest.length;
    const ten = BigInt(`1${'0'.repeat(Math.abs(power))}`);
    const number = BigInt(whole + rest);
    return power >= 0 ? new Fraction(number * ten) : new Fraction(number, ten);
  }

  plus(b: Fraction): Fraction {
    return new Fraction(this.over * b.under + b.over * this.under, this.under * b.under);
  }

  minus(b: Fraction): Fraction {
    return new Fraction(this.over * b.under - b.over * this.under, this.under * b.under);
  }

  times(b: Fraction | number): Fraction {
    const factor = typeof b === 'number' ? Fraction.of(b) : b;
    return new Fraction(this.over * factor.over, this.under * factor.under);
  }

  dividedBy(b: Fraction | number): Fraction {
    const divisor = typeof b === 'number' ? Fraction.of(b) : b;
    return new Fraction(this.over * divisor.under, this.under * divisor.over);
  }

  isBefore(b: Fraction): boolean {
    return this.over * b.under < b.over * this.under;
  }

  /** Rounds down; the fraction must not be negative. */
  floor(): number {
    return Number(this.over / this.under);
  }

  /** The sample at this many seconds: the nearest, halves up. */
  sampleAt(rate: number): number {
    const { over, under } = Fraction.of(rate);
    return Number((2n * this.over * over + this.under * under) / (2n * this.under * under));
  }
}

/** A denominator from which on a fraction is cancelled down. */
const LONG = 1n << 128n;
/** Numbers that have been read. */
const READ = new Map<number, Fraction>();

/** Start of step `k` of a performance at one tempo, s; all patterns have an even number of steps. */
export function startOf(k: number, tempo: string, swing: string): Fraction {
  const step = new Fraction(15n).dividedBy(Fraction.of(Number(tempo)));
  const straight = step.times(k - (k % 2));
  return k % 2 === 0 ? straight : straight.plus(step.times(2).times(Number(swing)));
}

interface SlowPulse {
  on: number;
  off: number;
  strength: Strength;
}

/** From the softest. */
const STRENGTHS = ['grace', 'ghost', 'plain', 'accent'] as const;
type Strength = (typeof STRENGTHS)[number];

/** All edges of a performance with an end, as `[sample, output, volts]` by sample, then output. */
export function slowEdges(
  settings: RhythmSettings,
  options: PerformanceOptions & { until: number },
): [number, number, number][] {
  const { sampleRate } = options;
  const until = Fraction.of(options.until);
  const zero = new Fraction(0n);
  const pulse = (on: Fraction, off: Fraction, strength: Strength = 'plain'): SlowPulse => {
    const first = on.sampleAt(sampleRate);
    return { on: first, off: Math.max(off.sampleAt(sampleRate), first + 1), strength };
  };

  const strokes: SlowPulse[][] = settings.channels.map(() => []);
  const clock: SlowPulse[] = [];
  const chances = settings.channels.map(
    ({ name }) => new Chance(options.seed, options.module, name),
  );
  const longest = new Fraction(5n, 1000n);
  const addClock = (on: Fraction, period: Fraction) => {
    if (!on.isBefore(until)) return;
    const half = period.dividedBy(2);
    const next = pulse(on, on.plus(half.isBefore(longest) ? half : longest));
    const last = clock.at(-1);
    if (last === undefined || next.on > last.off) clock.push(next);
  };
  let start = zero;
  const [opening] = settings.song;
  if (opening !== undefined) {
    const pattern = settings.patterns[opening.pattern] as Pattern;
    const feel = { ...defined(settings), ...defined(pattern), ...defined(opening) };
    const quarter = new Fraction(60n).dividedBy(feel.tempo);
    const quarters = settings['count-in'] * settings['beats-per-bar'];
    const { count, per } = feel.clock;
    if (per === 'quarter') {
      for (let i = 0; i < quarters * count; i++)
        addClock(quarter.times(i).dividedBy(count), quarter.dividedBy(count));
    } else {
      const step = quarter.dividedBy(pattern.stepsPerQuarter);
      const steps = quarters * pattern.stepsPerQuarter;
      const timeOf = (k: number) =>
        k % 2 === 0 || k === steps
          ? step.times(k)
          : step.times(k - 1).plus(step.times(2).times(feel.swing));
      for (let k = 0; k < steps; k++) {
        const period = timeOf(k + 1)
          .minus(timeOf(k))
          .dividedBy(count);
        for (let i = 0; i < count; i++) addClock(timeOf(k).plus(period.times(i)), period);
      }
    }
    start = quarter.times(quarters);
  }
  const music = start;
  let stepsBefore = 0;
  let sinceChange = 0;
  let quartersSinceChange = zero;
  let playing = -1;
  while (start.isBefore(until)) {
    for (const entry of settings.song) {
      const pattern = settings.patterns[entry.pattern];
      if (pattern === undefined) continue;
      const feel = { ...defined(settings), ...defined(pattern), ...defined(entry) };
      const quarter = new Fraction(60n).dividedBy(feel.tempo);
      const step = quarter.dividedBy(pattern.stepsPerQuarter);
      if (playing !== entry.pattern) {
        sinceChange = 0;
        quartersSinceChange = zero;
      }
      playing = entry.pattern;
      for (let repeat = 0; repeat < entry.repeats; repeat++) {
        const sectionStart = start;
        const end = sectionStart.plus(step.times(pattern.length));
        const timeOf = (k: number, swing: number) => {
          if (k === pattern.length) return end;
          const pair = sectionStart.plus(step.times(2 * Math.floor(k / 2)));
          return k % 2 === 0 ? pair : pair.plus(step.times(2).times(swing));
        };

        for (const line of pattern.lines) {
          const loop = Math.min(line.steps.length, pattern.length);
          const swing = line.swing ?? feel.swing;
          for (let k = 0; k < pattern.length; k++) {
            const own = line.steps[(sinceChange + k) % loop];
            if (own === undefined || own.strokes === 0) continue;
            const draw = (chances[line.channel] as Chance).draw(stepsBefore + k);
            if (own.maybe && !(draw < (own.chance ?? feel.chance))) continue;
            const flam = Fraction.of(own.flamSpacing ?? feel.flam);
            const duration = timeOf(k + 1, swing).minus(timeOf(k, swing));
            const spacing = duration.dividedBy(own.strokes);
            let main = timeOf(k, swing);
            if (own.flam && main.isBefore(flam)) main = flam;
            if (!main.isBefore(until)) continue;
            const gate = own.gate ?? line.gate ?? (settings.gate as Span);
            const length =
              gate.unit === 'seconds' ? Fraction.of(gate.value) : spacing.times(gate.value);
            const list = strokes[line.channel] as SlowPulse[];
            if (own.flam) {
              const grace = main.minus(flam);
              list.push(pulse(grace, grace.plus(length), 'grace'));
            }
            for (let i = 0; i < own.strokes; i++) {
              const on = main.plus(spacing.times(i));
              if (!on.isBefore(until)) continue;
              const soft = own.ghost ? 'ghost' : 'plain';
              list.push(pulse(on, on.plus(length), own.accent ? 'accent' : soft));
            }
          }
        }

        const { count, per } = feel.clock;
        if (per === 'step') {
          for (let k = 0; k < pattern.length; k++) {
            const from = timeOf(k, feel.swing);
            const period = timeOf(k + 1, feel.swing)
              .minus(from)
              .dividedBy(count);
            for (let i = 0; i < count; i++) addClock(from.plus(period.times(i)), period);
          }
        } else {
          const quarters = new Fraction(BigInt(pattern.length), BigInt(pattern.stepsPerQuarter));
          const last = quartersSinceChange.plus(quarters);
          for (let i = quartersSinceChange.times(count).floor(); ; i++) {
            const at = new Fraction(BigInt(i), BigInt(count));
            if (!at.isBefore(last)) break;
            if (at.isBefore(quartersSinceChange)) continue;
            const on = sectionStart.plus(at.minus(quartersSinceChange).times(quarter));
            addClock(on, quarter.dividedBy(count));
          }
          quartersSinceChange = last;
        }
        if (per === 'step') {
          quartersSinceChange = quartersSinceChange.plus(
            new Fraction(BigInt(pattern.length), BigInt(pattern.stepsPerQuarter)),
          );
        }
        start = end;
        stepsBefore += pattern.length;
        sinceChange += pattern.length;
      }
    }
  }

  const channels = settings.channels.length;
  const all: [number, number, number][] = [];
  const addPulses = (pulses: SlowPulse[], output: number) => {
    for (const [on, off] of union(pulses)) {
      all.push([on, output, settings.level], [off, output, 0]);
    }
  };
  strokes.forEach((list, channel) => {
    addPulses(list, channel);
    let level = 0;
    for (const on of [...new Set(list.map((stroke) => stroke.on))].sort((a, b) => a - b)) {
      const here = list.filter((stroke) => stroke.on === on);
      const loudest = STRENGTHS.findLast((one) => here.some(({ strength }) => strength === one));
      const next = loudest === undefined || loudest === 'plain' ? 0 : settings[`${loudest}-level`];
      if (next !== level) all.push([on, channels + channel, next]);
      level = next;
    }
  });
  addPulses(clock, 2 * channels);
  addPulses([pulse(zero, until)], 2 * channels + 1);
  if (music.isBefore(until)) addPulses([pulse(music, music.plus(longest))], 2 * channels + 2);
  return all.sort((a, b) => a[0] - b[0] || a[1] - b[1]);
}

function union(pulses: SlowPulse[]): [number, number][] {
  const sorted = pulses.toSorted((a, b) => a.on - b.on);
  const joined: [number, number][] = [];
  for (const { on, off } of sorted) {
    const last = joined.at(-1);
    if (last !== undefined && on <= last[1]) last[1] = Math.max(last[1], off);
    else joined.push([on, off]);
  }
  return joined;
}

function defined<T extends object>(feel: T): T {
  return Object.fromEntries(Object.entries(feel).filter(([, value]) => value !== undefined)) as T;
}

function gcd(a: bigint, b: bigint): bigint {
  return b === 0n ? a : gcd(b, a % b);
}
