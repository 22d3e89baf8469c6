/** Voices that a recording suggests, by its partials, and by the bands and slopes of its noise. */

import { FIRST_BAND, FRAME_SECONDS } from '../../measure/likeness/band-frames.ts';
import { lineThrough } from '../../measure/pitch/line.ts';
import { type Partial, partialsOf } from '../../measure/pitch/partials.ts';
import { bandEdges } from '../../measure/spectrum/bands.ts';
import { largest } from '../../modules/dsp/extremes.ts';
import { DECAY_OF_60_DB } from '../layer.ts';
import type { RecordedHits } from '../recording.ts';
import type { NoiseLayer, VoiceShape } from './voice-text.ts';

/** How many tones and layers of noise, and whether a pitch falls: 16 modules at most, with those around them. */
const WITH_RESONATORS = [
  { tones: 5, noises: 2, hasFall: false },
  { tones: 3, noises: 2, hasFall: true },
  { tones: 7, noises: 1, hasFall: false },
  { tones: 5, noises: 1, hasFall: true },
  { tones: 2, noises: 2, hasFall: false },
  { tones: 0, noises: 3, hasFall: false },
] as const;
const WITH_OSCILLATORS = [
  { tones: 1, noises: 2, hasFall: true },
  { tones: 2, noises: 1, hasFall: true },
  { tones: 1, noises: 1, hasFall: true },
  { tones: 1, noises: 0, hasFall: false },
  { tones: 0, noises: 3, hasFall: false },
  { tones: 0, noises: 1, hasFall: false },
] as const;
const MOST_TONES = 7;
/** Level of each part before they are mixed, %. */
const LEVEL = 50;
const COLOURS = ['white', 'pink', 'red'] as const;
const ATTACK = 0.0005;
/** Bands this far under the loudest one are outside a layer, dB. */
const EDGE_DB = 15;
/** A layer that reaches these frequencies has no edge there, Hz. */
const TOP = 9000;
const BOTTOM = 90;
/** Frames of the attack, and those after it that are looked at. */
const EARLY = 4;
const LATE = 20;
/** Frames that a quick slope is read over. */
const QUICK = 7;
const FALLS = [0.01, 8] as const;
/** A slope less than this many times slower counts as the same; the second is then made this many times slower. */
const SLOWER = 1.5;

/** Every shape to try, with all its levels the same. */
export function shapesFor({ sound, target }: RecordedHits): readonly VoiceShape[] {
  const partials = partialsOf(sound, { most: MOST_TONES });
  const noises = noisesOf(target.frames.bands, partials);
  const shapes = [
    ...WITH_RESONATORS.map((one) => ({ ...one, toneKind: 'resonator' as const })),
    ...WITH_OSCILLATORS.map((one) => ({ ...one, toneKind: 'oscillator' as const })),
  ].map((one): VoiceShape => {
    const tones = partials.slice(0, one.tones);
    const layers = one.noises === 1 ? noises.slice(1, 2) : noises.slice(0, one.noises);
    const hasFall = one.hasFall && tones.length > 0;
    const { toneKind } = one;
    const count = tones.length + layers.length;
    const jacks = 1 + count + (hasFall ? 1 : 0);
    const levels = Array.from({ length: count }, () => LEVEL);
    return { toneKind, tones, noises: layers, hasFall, cutHz: null, levels, jacks };
  });
  const keyOf = ({ toneKind, tones, noises: layers, hasFall }: VoiceShape): string =>
    [tones.length > 0 ? toneKind : '', tones.length, layers.length, hasFall].join();
  return shapes.filter(
    (shape, index) =>
      shape.levels.length > 0 && shapes.findIndex((one) => keyOf(one) === keyOf(shape)) === index,
  );
}

/** A quick layer, a slow one, and a third of the low bands, from the sound around the partials. */
function noisesOf(
  bands: readonly Float64Array[],
  partials: readonly Partial[],
): readonly NoiseLayer[] {
  const isTone = (band: number): boolean => {
    const [low, high] = bandEdges(FIRST_BAND + band);
    return partials.some(({ hz }) => hz > low && hz < high);
  };
  const all = [...bands.keys()];
  const plain = all.filter((band) => !isTone(band));
  const heard = plain.length >= all.length / 3 ? plain : all;
  const power = (used: readonly number[], frame: number): number =>
    used.reduce((sum, band) => sum + (bands[band]?.[frame] ?? 0), 0);
  const frames = bands[0]?.length ?? 0;
  const slope = (used: readonly number[], from: number, to: number): number => {
    const levels: { time: number; db: number }[] = [];
    for (let k = from; k < Math.min(to, frames); k++)
      levels.push({ time: k * FRAME_SECONDS, db: 10 * Math.log10(1e-20 + power(used, k)) });
    const [least, most] = FALLS;
    if (levels.length < 3) return least * 5;
    const { perSecond } = lineThrough(levels);
    return perSecond < 0 ? Math.min(most, Math.max(least, -60 / perSecond)) : most;
  };
  const ends = endOf(Array.from({ length: frames }, (_, k) => power(heard, k)));
  const quick = slope(heard, 0, QUICK);
  const late = slope(heard, Math.min(QUICK, Math.max(0, ends - QUICK)), ends);
  const slow = late < SLOWER * quick ? SLOWER * quick : late;
  const low = heard.filter((band) => bandEdges(FIRST_BAND + band)[1] < 800);
  const last = slope(low.length > 0 ? low : heard, 0, ends);
  return [
    { filter: partOf(bands, heard, 0, EARLY), fall: quick },
    { filter: partOf(bands, heard, EARLY, LATE), fall: slow },
    { filter: { output: 'low' as const, cutoffHz: 500, q: null }, fall: last },
  ].map(({ filter, fall }, index) => ({
    colour: COLOURS[index] as (typeof COLOURS)[number],
    source: 0,
    filter,
    bankDb: null,
    shape: { attack: ATTACK, decay: DECAY_OF_60_DB * fall, curve: 'exponential' },
  }));
}

/** The frame from which on all frames are 40 dB under the loudest. */
function endOf(powers: readonly number[]): number {
  const least = largest(powers, 0) * 1e-4;
  return 1 + powers.findLastIndex((power) => power > least);
}

/** The filter that passes the audible bands of some frames. */
function partOf(
  bands: readonly Float64Array[],
  heard: readonly number[],
  from: number,
  to: number,
): NonNullable<NoiseLayer['filter']> {
  // Power in each hertz, since the noise is white.
  const densities = heard.map((band) => {
    const [low, high] = bandEdges(FIRST_BAND + band);
    let sum = 0;
    for (let k = from; k < to; k++) sum += bands[band]?.[k] ?? 0;
    return { low, high, density: sum / (high - low) };
  });
  const least =
    largest(
      densities.map(({ density }) => density),
      0,
    ) *
    10 ** (-EDGE_DB / 10);
  const loud = densities.filter(({ density }) => density >= least);
  const low = loud[0]?.low ?? BOTTOM;
  const high = loud.at(-1)?.high ?? TOP;
  if (high >= TOP && low > BOTTOM) return { output: 'high', cutoffHz: low, q: null };
  if (low <= BOTTOM) return { output: 'low', cutoffHz: Math.min(high, 16_000), q: null };
  const middle = Math.sqrt(low * high);
  return {
    output: 'band',
    cutoffHz: middle,
    q: Math.min(10, Math.max(0.5, middle / (high - low))),
  };
}
