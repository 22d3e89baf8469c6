/**
 * Tempo and swing, estimated from onsets alone.
 *
 * Model: steps come in pairs of a fixed length, the second of a pair at a share s of it (50 % is
 * straight), and hits fall on steps. Of all pair lengths and shares, that is the answer which describes the onsets in the
 * fewest bits: a longer pair locates each onset it explains more exactly, but an onset off the grid has to be
 * described by itself. Source of the principle: J. Rissanen, Modeling by Shortest Data
 * Description, Automatica 14 (1978) 465-471 (from memory).
 *
 * Onsets do not show whether a step is a quarter or a sixteenth. The tempo given is the one between
 * 71 and 141 bpm; half and double of it describe the same onsets.
 */

export interface Tempo {
  /** Quarter notes a minute, between 71 and 141. */
  readonly bpm: number;
  /** Steps per quarter note: the finest that the hits use, 1, 2, 4, ... */
  readonly stepsPerQuarter: number;
  /** When the off-step comes, % of a pair of steps; null if none is hit. */
  readonly swingPercent: number | null;
  /** The share of the onsets that fall on the grid, and how far off they are, s rms. */
  readonly onGrid: number;
  readonly deviationSeconds: number;
  /**
   * Reliability from 0 to 1: grows with the hits on the grid, and falls with their scatter and where another tempo
   * explains the onsets nearly as well.
   */
  readonly reliability: number;
  /**
   * Other tempos that explain the onsets about as well, between 71 and 141 like `bpm`, the likeliest first: without
   * any, and with a high reliability, no other does.
   */
  readonly otherBpm: readonly number[];
}

import {
  fitAll,
  isSameTempo,
  nearestStep,
  SCATTER,
  searchGrids,
  type TempoGrid,
  TOLERANCE,
} from './grids/tempo-grid.ts';
import { isInThrees, type Reading, readingsOf } from './grids/tempo-readings.ts';

const FEWEST = 5;
/** Onsets closer than this are strokes of one hit, s: one of them sets the time. */
const ONE_HIT = 0.045;
/** The main stroke of a flam is no softer than half the power of its grace stroke. */
const AS_LOUD = 0.5;
/** The grace strokes of drags and ruffs are softer than the main one by 1.5 dB, and no nearer than this, s: a clap's are. */
const NEAREST_GRACE = 0.015;
const LOUDER = 1.41;
const MOST_GRACES = 3;
/**
 * Where hits are off the grid some may be grace strokes farther from the next one, s: of a ruff perhaps only the
 * first is heard. On the grid such hits are the soft steps of a swing.
 */
const FARTHER = [0.06, 0.09];
const OFF_GRID = 0.95;
/** Readings are compared by so many strokes. */
const MOST_READ = 192;
/** A tempo of this reliability is sure. */
const SURE = 0.9;
/** Bits by which a reading with ratchets is better than one without for its tempo to be taken. By trial. */
const CLEARLY = 8;
/**
 * Bits by which a tempo must be better than the next for a reliability of a half of what it would be, and how fast that
 * grows. By trial on random lines: single bits of the model mean little.
 */
const EVEN_ODDS = 7;
const ODDS_SCALE = 1.5;
/** The most reliable that a straight tempo is if its hits repeat in threes: bars of triplets look the same. */
const THREES = 0.4;
const MOST_OTHERS = 3;
/** A stroke of a clap or a ratchet that is softer than the loudest by 6 dB does not set the time. */
const LOUD = 0.25;
/** An octave of tempi about 100. */
const LOWEST_BPM = 100 / Math.SQRT2;

/**
 * Estimates tempo and swing.
 * @param times onsets in s, rising.
 * @param powers how loud each is.
 * @returns null for fewer than five hits, and for hits that follow no grid.
 */
export function estimateTempo(times: readonly number[], powers: readonly number[]): Tempo | null {
  const grids: TempoGrid[] = [];
  let best = tempoOf(mainStrokes(times, powers, ONE_HIT), grids);
  for (const grace of FARTHER) {
    if ((best?.tempo.onGrid ?? 0) >= OFF_GRID) break;
    const other = tempoOf(mainStrokes(times, powers, grace), grids);
    if ((other?.tempo.reliability ?? 0) > (best?.tempo.reliability ?? 0)) best = other;
  }
  if (times.length < FEWEST) return null;
  const strokes = withoutGraces(times, powers).slice(0, MOST_READ);
  return judged(best, readingsOf(strokes, grids));
}

interface TempoOnGrid {
  readonly tempo: Tempo;
  readonly grid: TempoGrid;
}

/** @param grids is filled with those that were tried. */
function tempoOf(hits: readonly number[], grids: TempoGrid[]): TempoOnGrid | null {
  if (hits.length < FEWEST) return null;
  const tried = searchGrids(hits).map((one) => fitAll(hits, one));
  for (const one of tried) grids.push(one);
  const [grid] = tried;
  return grid === undefined ? null : found(hits, grid);
}

function found(hits: readonly number[], grid: TempoGrid): TempoOnGrid | null {
  const steps = hits.map((time) => nearestStep(grid, time));
  const near = steps.filter(({ off }) => Math.abs(off) < TOLERANCE);
  const onGrid = near.length / hits.length;
  if (near.length < FEWEST || onGrid < 0.5) return null;
  const deviation = Math.sqrt(near.reduce((sum, { off }) => sum + off * off, 0) / near.length);
  const tempo = {
    ...named(grid, near),
    onGrid,
    deviationSeconds: deviation,
    reliability: onGrid * (1 - 2 ** (-near.length / 4)) * (1 / (1 + (deviation / SCATTER) ** 2)),
    otherBpm: [],
  };
  return { tempo, grid };
}

/** Of a tempo found in single hits and of readings with ratchets: which it is, and how surely. */
function judged(single: TempoOnGrid | null, readings: readonly Reading[]): Tempo | null {
  const own =
    single === null
      ? undefined
      : readings.find(({ grid }) => isSameTempo(grid.pair, single.grid.pair));
  const [first] = readings;
  if (first === undefined) return single?.tempo ?? null;
  // What is sure by single hits may become doubtful, but not another tempo.
  const isOther =
    own === undefined ||
    (first.saved - own.saved > CLEARLY && (single as TempoOnGrid).tempo.reliability < SURE);
  const taken = isOther ? first : own;
  const named = isOther ? ofReading(first) : single;
  if (named === null) return single === null ? null : doubted(single, first, readings);
  return doubted(named, taken, readings);
}

function ofReading({ hits, grid, explained }: Reading): TempoOnGrid | null {
  const one = explained < OFF_GRID ? null : found(hits, grid);
  return one === null ? null : { ...one, tempo: { ...one.tempo, onGrid: explained } };
}

/** Less reliable, the less the bits that the next best tempo needs more. */
function doubted(
  { tempo, grid }: TempoOnGrid,
  taken: Reading,
  readings: readonly Reading[],
): Tempo {
  const others = readings.filter((one) => !isSameTempo(one.grid.pair, grid.pair));
  const margin = taken.saved - (others[0]?.saved ?? Number.NEGATIVE_INFINITY);
  const near = others.filter(({ saved }) => saved > taken.saved - EVEN_ODDS);
  const otherPairs = near.map((one) => one.grid.pair);
  let sure = 1 / (1 + 2 ** ((EVEN_ODDS - margin) / ODDS_SCALE));
  if (isInThrees(taken)) {
    otherPairs.push(1.5 * grid.pair);
    sure = Math.min(sure, THREES);
  }
  const kept = otherPairs.filter(
    (pair, n) => !otherPairs.slice(0, n).some((one) => isSameTempo(one, pair)),
  );
  return {
    ...tempo,
    reliability: tempo.reliability * sure,
    otherBpm: kept.slice(0, MOST_OTHERS).map((pair) => inOctave(60 / pair)),
  };
}

/** The strokes without grace strokes. */
function withoutGraces(times: readonly number[], powers: readonly number[]): readonly number[] {
  const kept: number[] = [];
  for (let n = 0; n < times.length; n++) {
    n = afterGraces(times, powers, n, FARTHER[0] as number);
    kept.push(times[n] as number);
  }
  return kept;
}

function inOctave(bpm: number): number {
  return bpm * 2 ** -Math.floor(Math.log2(bpm / LOWEST_BPM));
}

/** Quarter, steps and swing of a grid, given which of its steps are hit. */
function named({ pair, share }: TempoGrid, near: readonly { isOff: boolean }[]) {
  const hasOff = near.some(({ isOff }) => isOff);
  // A pair whose off-steps are silent is one step of a coarser grid.
  let quarter = pair;
  let stepsPerQuarter = hasOff ? 2 : 1;
  while (60 / quarter < LOWEST_BPM) {
    quarter /= 2;
    stepsPerQuarter /= 2;
  }
  while (60 / quarter >= 2 * LOWEST_BPM) {
    quarter *= 2;
    stepsPerQuarter *= 2;
  }
  return { bpm: 60 / quarter, stepsPerQuarter, swingPercent: hasOff ? 100 * share : null };
}

/**
 * Leaves out all but one stroke of a flam, a clap or a ratchet.
 * @param grace how near to the next stroke several grace strokes are looked for, s.
 */
function mainStrokes(
  times: readonly number[],
  powers: readonly number[],
  grace: number,
): readonly number[] {
  const kept: number[] = [];
  for (let n = 0; n < times.length; ) {
    n = afterGraces(times, powers, n, grace);
    const first = times[n] as number;
    let end = n + 1;
    while (end < times.length && (times[end] as number) - first <= ONE_HIT) end++;
    const next = times[end] ?? Number.POSITIVE_INFINITY;
    const isFlam = end - n === 2 && next - (times[end - 1] as number) > ONE_HIT;
    kept.push(times[isFlam ? mainOfFlam(powers, n) : mainOf(powers, n, end)] as number);
    n = end;
  }
  return kept;
}

/** Index of the stroke that the grace strokes from `n` on lead to; `n` if these lead to none. */
function afterGraces(
  times: readonly number[],
  powers: readonly number[],
  n: number,
  grace: number,
): number {
  let main = n;
  let loudest = powers[n] as number;
  const last = Math.min(n + MOST_GRACES, times.length - 1);
  for (let m = n + 1; m <= last; m++) {
    const apart = (times[m] as number) - (times[m - 1] as number);
    if (apart > grace || apart < NEAREST_GRACE) break;
    const power = powers[m] as number;
    if (power >= LOUDER * loudest) main = m;
    loudest = Math.max(loudest, power);
  }
  return main;
}

/** In a flam the second stroke is on the beat, however loud; of a hit and its echo, the first. */
function mainOfFlam(powers: readonly number[], first: number): number {
  const [grace, main] = [powers[first] as number, powers[first + 1] as number];
  return main >= AS_LOUD * grace ? first + 1 : first;
}

/** Of more than two strokes, the first that is about as loud as the loudest. */
function mainOf(powers: readonly number[], from: number, to: number): number {
  const some = powers.slice(from, to);
  const loudest = some.reduce((most, power) => Math.max(most, power), 0);
  return from + some.findIndex((power) => power >= LOUD * loudest);
}
