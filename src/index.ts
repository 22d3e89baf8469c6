/** The library: everything that runs in Node and in browsers alike. Files are in `node.ts`. */

export { netlist } from './electrical/nets.ts';
export { nodeLaw, nodeVolts } from './electrical/node-law.ts';
export { Loop } from './engine/loop.ts';
export { Renderer } from './engine/renderer.ts';
export { stemsOf } from './engine/stems.ts';
export { barsWithin, type Length, type Tail, Take } from './engine/take.ts';
export { type CheckOptions, check } from './findings/check.ts';
export type { Finding } from './findings/finding.ts';
export { LoudnessMeter } from './measure/loudness.ts';
export { PeakMeter } from './measure/peak.ts';
export type { Definition, Jack, OwnCircuit, Site } from './modules/definition.ts';
export { KINDS, kindNamed } from './modules/kinds.ts';
export { describeProblem } from './patch/describe.ts';
export type { Cable, JackRef, Patch, PatchModule, Place } from './patch/patch.ts';
export type { Problem, ProblemCode } from './patch/problem.ts';
export { readRack } from './patch/rack.ts';
export { readPatch } from './patch/read.ts';
export { patchSchema } from './patch/schema.ts';
export { withRack } from './patch/with-rack.ts';
