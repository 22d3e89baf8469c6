/** Fits a patch again with the layers that it lacks, as long as each is worth its modules. */

import type { Patch } from '../patch/patch.ts';
import { withText } from '../patch/texts.ts';
import { type Fit, type FitRequest, type FittedSetting, fitPatch, reread } from './fit.ts';
import { type Layer, layerFor, MOST_LAYERS } from './layer.ts';
import type { Knob } from './settings.ts';
import { added, type Concern } from './settle.ts';
import type { Shortfall } from './shortfall.ts';

/** A layer is kept if the distance falls by this much, dB. */
export const WORTH_DB = 0.5;

/** What a patch lacks most, and the layer that would add it. */
export interface Lack {
  readonly shortfall: Shortfall;
  /** Absent if the patch has no place for a layer. */
  readonly layer: Layer | undefined;
  /** The concerns that the patch would have with it; with any, it is not tried. */
  readonly concerns: readonly Concern[];
}

/** A layer that was tried. */
export interface Growth extends Lack {
  /** The distance without and with it, dB; the second absent if it was not tried. */
  readonly before: number;
  readonly after?: number;
  readonly isKept: boolean;
}

export interface GrowRequest extends FitRequest {
  /** The settings that may be moved in a patch with another layer. */
  readonly knobsOf: (patch: Patch) => readonly Knob[];
}

export interface Grown {
  readonly fit: Fit;
  readonly growths: readonly Growth[];
}

/**
 * Adds layers for the parts of the sound that a fit does not reach, one after the other, and fits again.
 * @param first the fit of the patch without any.
 * @returns the best of all these fits: the first, if no layer is worth its modules.
 */
export async function grownFit(request: GrowRequest, first: Fit): Promise<Grown> {
  const growths: Growth[] = [];
  let best = first;
  while (growths.length < MOST_LAYERS && !request.isStopped()) {
    const { growth, fit } = await grownBy(request, best);
    if (growth !== undefined) growths.push(growth);
    if (fit === undefined) break;
    best = joined(first, best, fit);
  }
  return { fit: { ...best, isStopped: request.isStopped() }, growths };
}

/** The largest part that the recording has and a fitted patch does not; undefined if there is none. */
export function lackOf(
  request: Pick<FitRequest, 'written' | 'channel' | 'concernsOf' | 'kinds'>,
  { text, shortfalls }: Pick<Fit, 'text' | 'shortfalls'>,
): Lack | undefined {
  const { channel, concernsOf } = request;
  const shortfall = shortfalls.find(({ louder }) => louder === 'recording');
  if (shortfall === undefined || channel === undefined) return undefined;
  const written = withText(request.written, text);
  const patch = reread(written, text, request);
  const layer = layerFor(shortfall, patch, written, channel, request);
  const concerns = layer === undefined ? [] : added(concernsOf(patch), concernsOf(layer.patch));
  return { shortfall, layer, concerns };
}

/** One layer more, for what the patch lacks. */
async function grownBy(
  request: GrowRequest,
  best: Fit,
): Promise<{ readonly growth?: Growth; readonly fit?: Fit }> {
  const { knobsOf } = request;
  const before = best.distanceAfter;
  const lack = lackOf(request, best);
  if (lack === undefined) return {};
  const { layer, concerns } = lack;
  const untried = { ...lack, before, isKept: false };
  if (layer === undefined || concerns.length > 0) return { growth: untried };
  const fit = await fitPatch({ ...request, written: layer.written, knobs: knobsOf(layer.patch) });
  const isKept = fit.distanceAfter <= before - WORTH_DB;
  const growth = { ...untried, after: fit.distanceAfter, isKept };
  return isKept ? { growth, fit } : { growth };
}

/** A later fit with the starting values of the first: each setting has its value from before all fits. */
function joined(first: Fit, last: Fit, fit: Fit): Fit {
  const before = new Map(first.settings.map(({ knob }) => [knob.path, knob]));
  const settings = fit.settings.map((setting): FittedSetting => {
    const own = before.get(setting.knob.path);
    return own === undefined ? setting : { ...setting, knob: own };
  });
  return {
    ...fit,
    settings,
    distanceBefore: first.distanceBefore,
    louderDb: last.louderDb + fit.louderDb,
    refused: [...last.refused, ...fit.refused],
    tries: last.tries + fit.tries,
  };
}
