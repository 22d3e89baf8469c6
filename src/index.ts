/** The library: everything that runs in Node and in browsers alike. Files are in `node.ts`. */

// Reading a patch, and what is wrong with it.

export type { Load, LoadRecording, Unread } from './patch/load.ts';
export { type Cable, type JackRef, jackName, type Patch, type PatchModule } from './patch/patch.ts';
export { type ReadOptions, readPatch } from './patch/read.ts';
export { patchSchema } from './patch/schema.ts';
export { describeProblem } from './patch/text/describe.ts';
export type { Place } from './patch/text/place.ts';
export type { Problem, ProblemCode } from './patch/text/problem.ts';
export { unplayable } from './patch/texts.ts';

// Racks: what one owns, as measured.

export type { Rack, Unit } from './patch/rack/rack.ts';
export { type ReadRackOptions, readRack, withRack } from './patch/rack/read-rack.ts';

// Changing a patch's text, its comments and layout left alone.

export { applyEdits, type Edit } from './patch/edit/edit.ts';

// Kinds of module, and kinds of one's own.

export {
  type AnyValues,
  type Definition,
  define,
  type Edge,
  type Handle,
  type InputJack,
  type Jack,
  NO_WIRE,
  type OutputJack,
  type OwnCircuit,
  type Recorded,
  type SettingSpec,
  type Settings,
  type Site,
  type ThroughJack,
  type Values,
} from './modules/definition.ts';
export * as facts from './modules/facts.ts';
export { KINDS, kindNamed } from './modules/kinds.ts';

// Playing: into memory, or block by block.

export { Loop, type LoopOptions } from './engine/loop.ts';
export { Prepared } from './engine/prepared.ts';
export { type Rendering, type RenderOptions, render } from './engine/render.ts';
export { type Stem, stemsOf } from './engine/stems.ts';
export { type Playing, type Tail, Take, type TakeOptions } from './engine/take.ts';
export { barsWithin, type Length } from './timing/length.ts';

// Time: the edges that sequencers send, and what comes of them.

export type { Change, Happening } from './engine/happening.ts';
export { sentEdges, type TraceOptions, trace } from './engine/trace.ts';

// Volts.

export {
  type InputLevels,
  type NetLevels,
  patchLevels,
  type TriggerLevels,
} from './electrical/levels.ts';
export { type Net, type Netlist, netlist, type Terminal } from './electrical/nets.ts';
export { type NodeLaw, nodeLaw, nodeVolts } from './electrical/node-law.ts';

// Patching along: a cable at a time, and what can be wrong there.

export { type AlongStep, alongSteps, type JackVolts, voltsAt } from './output/along/along.ts';
export { type Suspect, suspectsAt } from './output/along/suspects.ts';
export type { ListedCable } from './output/sheet/cables.ts';

// Findings: what will go wrong.

export { type CheckOptions, check } from './findings/check.ts';
export type { Finding, Severity } from './findings/finding.ts';

// Measuring, and comparing at equal loudness.

export { type Defect, defectsOf } from './measure/defects.ts';
export { differenceDb } from './measure/difference.ts';
export type { Hit } from './measure/hits/hits.ts';
export {
  type ComparedHit,
  type Likeness,
  LikenessError,
  likenessOf,
} from './measure/likeness/likeness.ts';
export type { Sound } from './measure/likeness/mono.ts';
export { equalLoudness, type Levelling, type Loud } from './measure/loudness/equal-loudness.ts';
export type { LoudnessStep } from './measure/loudness/gates.ts';
export { LoopLoudnessMeter } from './measure/loudness/loop-loudness.ts';
export { LoudnessMeter } from './measure/loudness/loudness.ts';
export { PeakMeter } from './measure/loudness/peak.ts';
export { TruePeakMeter } from './measure/loudness/true-peak.ts';
export type { SampleBlock, SampleSource } from './measure/samples.ts';
export { type Measures, measureSignal, SignalMeter } from './measure/signal.ts';

// WAV in memory.

export { wavBytes } from './wav/wav-bytes.ts';
export type { Cue, WavSpec } from './wav/wav-format.ts';
export type { Depth } from './wav/wav-pack.ts';
