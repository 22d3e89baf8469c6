/** The library: everything that runs in Node and in browsers alike. Files are in `node.ts`. */

export { netlist } from './electrical/nets.ts';
export { nodeLaw, nodeVolts } from './electrical/node-law.ts';
export { Loop } from './engine/loop.ts';
export { Renderer } from './engine/renderer.ts';
export { stemsOf } from './engine/stems.ts';
export { barsWithin, type Length, type Tail, Take } from './engine/take.ts';
export { type CheckOptions, check } from './findings/check.ts';
export type { Finding } from './findings/finding.ts';
export { LoudnessMeter } from './measure/loudness/loudness.ts';
export { PeakMeter } from './measure/loudness/peak.ts';
export type { Definition, Jack, OwnCircuit, Site } from './modules/definition.ts';
export { KINDS, kindNamed } from './modules/kinds.ts';
export type { Cable, JackRef, Patch, PatchModule } from './patch/patch.ts';
export { readRack } from './patch/rack/rack.ts';
export { withRack } from './patch/rack/with-rack.ts';
export { readPatch } from './patch/read.ts';
export { patchSchema } from './patch/schema.ts';
export { describeProblem } from './patch/text/describe.ts';
export type { Place } from './patch/text/place.ts';
export type { Problem, ProblemCode } from './patch/text/problem.ts';
