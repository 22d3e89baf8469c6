/** How kept versions are compared: the moves from the first, and their measures. */

import { summaryOf } from '../../compare/measures.ts';
import { moveWords } from '../../compare/move-words.ts';
import { movesBetween } from '../../compare/moves.ts';
import { SignalMeter } from '../../measure/signal.ts';
import { IN_PAGE } from '../../output/chart/colours.ts';
import { spectraChart } from '../../output/sheet/charts.ts';
import type { KeptTrees } from '../../patch/fragment.ts';
import type { PatchTexts } from '../../patch/texts.ts';
import type { EngineRequest, MoveView, SpectraView, VersionFigures } from '../protocol.ts';
import { readFiles } from './reading.ts';

/** The measures of a loop, the same as in `compare`. */
const WANTED = { tempo: false, hitSpectra: false, isLoop: true, isToBeLevelled: true };

/** The moves that make one into the other; undefined where one of them is not a valid patch. */
export function versionMoves(
  first: PatchTexts,
  other: PatchTexts,
  kept: KeptTrees,
): readonly MoveView[] | undefined {
  const before = readFiles(first, kept).legible;
  const after = readFiles(other, kept).legible;
  if (before === undefined || after === undefined) return undefined;
  return movesBetween(before, after).map(moveWords);
}

/** Measures the loop of a version. */
export function versionFigures({
  channels,
  sampleRate,
}: Extract<EngineRequest, { type: 'figures' }>): VersionFigures {
  const meter = new SignalMeter(sampleRate, channels.length, WANTED);
  const samples = channels.map((channel) => new Float64Array(channel));
  meter.add({ channels: samples, frames: samples[0]?.length ?? 0 });
  return summaryOf(meter.finish(), 0);
}

/** px. */
const SPECTRA_HEIGHT = 180;

/** Draws the spectra of versions over one another. */
export function versionSpectra({
  of,
  isEqual,
}: Extract<EngineRequest, { type: 'spectra' }>): SpectraView {
  const how = isEqual ? 'each turned down to the quietest' : 'each as loud as it is';
  const names = of.map(({ name }) => name).join(', ');
  return spectraChart(
    of,
    SPECTRA_HEIGHT,
    `Spectra of ${names}, ${how}: third-octave bands; a full-scale sine reads 0 dB.`,
    IN_PAGE,
  );
}
