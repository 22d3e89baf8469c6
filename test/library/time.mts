// What a sequencer sends, and what comes of it.

import { barsWithin, KINDS, readPatch, sentEdges, trace } from 'forehear';

const PATCH = `
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [hat], patterns: { a: { hat: "x---x---" } } }
  shape: { kind: envelope, attack: 1 ms }
cables: [drums.hat -> shape.trigger]
`;

const { patch } = readPatch(PATCH, { file: 'hat.yaml', kinds: KINDS });
if (patch === undefined) throw new Error('the patch has problems');
const options = { sampleRate: 48_000, seconds: 1 };

export const seen = {
  bars: barsWithin(patch, 4.5),
  rises: [...sentEdges(patch, options)]
    .filter(({ jack, edge }) => jack === 'drums.hat' && edge === 'rise')
    .map(({ time, sample }) => [time, sample]),
  noticed: [...trace(patch, options)]
    .filter(({ jack, edge }) => jack === 'shape.trigger' && edge === 'on')
    .map(({ bar, step, latency }) => [bar, step, latency?.toFixed(4)]),
};
