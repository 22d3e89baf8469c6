/** What kept versions are told apart by: what differs from the first, and their measures. */

import { summaryOf } from '../../compare/measures.ts';
import { moveWords } from '../../compare/move-words.ts';
import { movesBetween } from '../../compare/moves.ts';
import { SignalMeter } from '../../measure/signal.ts';
import type { KeptTrees } from '../../patch/fragment.ts';
import type { PatchTexts } from '../../patch/texts.ts';
import type { EngineRequest, MoveView, VersionFigures } from '../protocol.ts';
import { readFiles } from './reading.ts';

/** Of what is played round and round, as `compare` tells it. */
const WANTED = { tempo: false, hitSpectra: false, isLoop: true };

/** What hands do to make one into the other; undefined where one of them is no patch. */
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
  return summaryOf(meter.finish());
}
