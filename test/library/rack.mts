// A rack, read and put under a patch: the volts are then those that its owner measured.

import { KINDS, patchLevels, readPatch, readRack, withRack } from 'forehear';

const PATCH = `
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [hat], patterns: { a: { hat: "x---" } } }
  shape: { kind: envelope }
cables: [drums.hat -> shape.trigger]
`;
const RACK = `
units:
  old-drums: { kind: rhythm, fixed: { level: 2.6 V }, jacks: { outputs: { resistance: 10 kohm } } }
`;

const { patch } = readPatch(PATCH, { file: 'hat.yaml', kinds: KINDS });
const { rack, problems } = readRack(RACK, { file: 'mine.yaml', kinds: KINDS });
const wrong = readRack('units: { a: { kind: nois } }', { file: 'mine.yaml', kinds: KINDS });
const owned = patch && rack && withRack(patch, rack).patch;

export const seen = {
  problems,
  wrong: wrong.problems.map(({ place, nearest }) => [place.file, place.line, nearest]),
  margins: [patch, owned].map(
    (one) => one && patchLevels(one)[0]?.inputs[0]?.trigger?.margin.toFixed(3),
  ),
};
