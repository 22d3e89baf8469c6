/** Voices whose noise goes through fixed banks of filters, shaped by a recording's powers before any render. */

import type { Colour } from '../../measure/dials/noise-colour.ts';
import { partialsOf } from '../../measure/pitch/partials.ts';
import { WHITE_TO_HZ } from '../../modules/dsp/coloured.ts';
import type { RecordedHits } from '../recording.ts';
import type { FilterSide } from './bank-response.ts';
import { firstLayers } from './first-layers.ts';
import { type HeardPowers, heardPowers } from './heard-powers.ts';
import { type BankedLayer, LayeredModel, type LayeredParts } from './layered-model.ts';
import { modulesOf, type NoiseLayer, OFF_DB, type VoiceShape } from './voice-text.ts';

/** Which layers, the brightest first, and how many tones. */
interface LayerPlan {
  readonly tones: number;
  readonly layers: readonly { readonly colour: Colour; readonly side: FilterSide }[];
}

const WHITE = { colour: 'white', side: null } as const;
const PINK = { colour: 'pink', side: null } as const;
const RED = { colour: 'red', side: null } as const;
const WHITE_LOW = { colour: 'white', side: 'low' } as const;
const WHITE_HIGH = { colour: 'white', side: 'high' } as const;
const RED_LOW = { colour: 'red', side: 'low' } as const;
/**
 * 16 modules at most, with those around them. White and red noise of one source are a quarter turn apart,
 * so that their powers add up; a colour that is there already has a source of its own.
 */
const PLANS: readonly LayerPlan[] = [
  { tones: 7, layers: [WHITE] },
  { tones: 7, layers: [PINK] },
  { tones: 7, layers: [RED] },
  { tones: 7, layers: [WHITE_HIGH] },
  { tones: 7, layers: [RED_LOW] },
  { tones: 5, layers: [WHITE, RED] },
  { tones: 5, layers: [RED, WHITE] },
  { tones: 4, layers: [WHITE_LOW, RED] },
  { tones: 4, layers: [WHITE_HIGH, RED] },
  { tones: 1, layers: [WHITE, RED, WHITE] },
  { tones: 1, layers: [WHITE, RED, RED] },
  { tones: 0, layers: [WHITE_HIGH, RED, RED] },
  { tones: 1, layers: [RED, WHITE, WHITE] },
  { tones: 1, layers: [WHITE, WHITE, RED] },
  { tones: 4, layers: [WHITE, WHITE] },
];
const MOST_TONES = 7;
/** Where a filter before a bank starts, Hz. */
const CUTOFFS = { low: 1500, high: 2000 } as const;
/** Plans that are pursued, each with and without a high-pass after it, and the number of further descents. */
const FOLLOWED = 5;
const DESCENTS = 2;
/** One that gains less is the last, dB. */
const WORTH_DB = 0.02;
/** Steps in which the time from a stroke to its onset counts, s, and how often it is found again. */
const LEAD = 0.0005;
const LEADS = 3;
/** Shapes that are rendered: the nearest by their powers. */
const RENDERED = 6;
/** Where a high-pass after all parts starts, Hz, and the most modules of a voice. */
const CUT_HZ = 120;
const MOST_MODULES = 16;
/** The loudest band of a bank, dB. */
const TOP_DB = 6;
/** Step of a bank's level, dB: as fine as a knob is set. */
const STEP_DB = 0.5;
/** The highest level in the mixer, %, until the loudness of the parts is known. */
const LOUDEST = 100;
/** V rms of the noise, of full scale, and of a struck resonator's start. */
const NOISE = 2;
const SCALE = 10;
const STROKE = 5;

interface LayeredOptions {
  /** Whether the rack has the modules for a shape; undefined without a rack. */
  readonly isThere: ((shape: VoiceShape) => boolean) | undefined;
  readonly breathe: () => Promise<void>;
  /** Once true, the shapes so far are returned. */
  readonly isStopped: () => boolean;
}

/** Finds the nearest shapes. */
export async function layeredShapes(
  recording: RecordedHits,
  { isThere, breathe, isStopped }: LayeredOptions,
): Promise<readonly VoiceShape[]> {
  const heard = heardPowers(recording);
  const partials = partialsOf(recording.sound, { most: MOST_TONES });
  const models = new Map<number, LayeredModel>();
  const modelWith = (lead: number): LayeredModel => {
    const rounded = Math.round(lead / LEAD) * LEAD;
    const known = models.get(rounded) ?? new LayeredModel(heard, rounded);
    models.set(rounded, known);
    return known;
  };
  const model = modelWith(0);
  /** A voice that swells has its onset later than its stroke, which is known once it is shaped. */
  const nearest = (parts: LayeredParts): RatedShape => {
    let lead = Math.round(model.leadOf(parts) / LEAD);
    let best = modelWith(lead * LEAD).nearest(parts);
    for (let again = 0; again < LEADS; again++) {
      const own = Math.round(model.leadOf(best) / LEAD);
      if (own === lead) break;
      lead = own;
      best = modelWith(lead * LEAD).nearest(best);
    }
    return best;
  };
  if (isThere?.(leastShape(heard)) === false) return [];
  const begun = new Map<string, ReturnType<typeof firstLayers>>();
  const found: RatedShape[] = [];
  const known = new Set<string>();
  for (const plan of PLANS) {
    if (found.length > 0 && isStopped()) break;
    const tones = partials.slice(0, plan.tones);
    const count = plan.layers.length;
    const key = `${tones.length} ${JSON.stringify(plan.layers)}`;
    if (known.has(key)) continue;
    known.add(key);
    const start = `${tones.length} ${count}`;
    if (!begun.has(start)) {
      await breathe();
      const powers = tones.map((tone) => model.tonePowers(tone));
      begun.set(start, firstLayers(heard, powers, count));
    }
    const first = begun.get(start) ?? [];
    const layers = plan.layers.map(({ colour, side }, index): BankedLayer => {
      const { powers, ...shape } = first[index] as (typeof first)[number];
      const of = { ...shape, colour, side, cutoffHz: side === null ? 1000 : CUTOFFS[side] };
      return { ...of, levels: model.levelsFor(powers, of) };
    });
    if (isThere?.(shapeOf({ layers, tones, cutHz: null })) === false) continue;
    await breathe();
    found.push(nearest({ layers, tones, cutHz: null }));
  }
  const followed: RatedShape[] = [];
  for (const one of nearestOf(found, FOLLOWED))
    for (const start of [one, withCut(one)]) {
      if (isThere?.(shapeOf(start)) === false) continue;
      let best = start;
      // A new descent starts with long steps again.
      for (let descent = 0; descent < DESCENTS && !isStopped(); descent++) {
        await breathe();
        const again = nearest(best);
        const gained = best.db - again.db;
        if (gained > 0) best = again;
        if (gained < WORTH_DB) break;
      }
      if (Number.isFinite(best.db)) followed.push(best);
    }
  return nearestOf(followed, RENDERED).map((one) => shapeOf(one));
}

type RatedShape = ReturnType<LayeredModel['nearest']>;

function nearestOf(found: readonly RatedShape[], count: number): readonly RatedShape[] {
  return found.toSorted((a, b) => a.db - b.db).slice(0, count);
}

/** The same with a high-pass after all parts, in place of the softest tone if there is no room; not yet rated. */
function withCut(one: RatedShape): RatedShape {
  const { layers, tones } = one;
  const isFull = modulesOf(shapeOf(one)) >= MOST_MODULES;
  const loudest = tones.toSorted((a, b) => b.amplitude - a.amplitude);
  const left = isFull ? loudest.slice(0, -1) : tones;
  return { layers, tones: left, cutHz: CUT_HZ, db: Number.POSITIVE_INFINITY };
}

/** The smallest shape: one bank, with an envelope. */
function leastShape({ powers }: HeardPowers): VoiceShape {
  const levels = new Float64Array(powers.length).fill(1);
  const plain = { attack: 0.001, decay: 0.1, curve: 'exponential', cutoffHz: 1000 } as const;
  return shapeOf({ layers: [{ ...plain, ...WHITE, levels }], tones: [], cutHz: null });
}

function shapeOf({ layers, tones, cutHz }: LayeredParts): VoiceShape {
  const noises = layers.map((layer, index) => {
    const isThere = layers.slice(0, index).some(({ colour }) => colour === layer.colour);
    return noiseOf(layer, isThere ? 1 : 0);
  });
  const levels = [
    ...tones.map(({ amplitude }) => (100 * amplitude * SCALE) / STROKE),
    ...layers.map(
      ({ levels: own, colour }) =>
        (100 * (topOf(own) / 10 ** (TOP_DB / 20)) * SCALE) /
        (NOISE * Math.sqrt(densityAt1000(colour))),
    ),
  ];
  const most = levels.reduce((top, level) => Math.max(top, level), 0);
  const jacks = 1 + tones.length + noises.length;
  return {
    ...{ toneKind: 'resonator', tones, noises, hasFall: false, cutHz, jacks },
    levels: levels.map((level) => (LOUDEST * level) / most),
  };
}

function noiseOf(layer: BankedLayer, source: NoiseLayer['source']): NoiseLayer {
  const { colour, side, cutoffHz, levels, attack, decay, curve } = layer;
  const top = topOf(levels);
  const bankDb = [...levels].map((level) => {
    const db = 20 * Math.log10(level / top) + TOP_DB;
    return Math.max(OFF_DB, STEP_DB * Math.round(db / STEP_DB));
  });
  return {
    colour,
    source,
    filter: side === null ? null : { output: side, cutoffHz, q: null },
    bankDb,
    shape: { attack, decay, curve },
  };
}

function topOf(levels: Float64Array): number {
  return levels.reduce((top, level) => Math.max(top, level), 0);
}

/** Power of noise of 1 V rms in one hertz at 1 kHz, as src/modules/noise.ts has it. */
function densityAt1000(colour: Colour): number {
  if (colour === 'white') return 1 / WHITE_TO_HZ;
  // The integrals of 1/f and of 1/f^2, from 20 Hz to 20 kHz.
  return colour === 'pink' ? 1 / (1000 * Math.log(1000)) : 1 / (1e6 * (1 / 20 - 1 / 20_000));
}
