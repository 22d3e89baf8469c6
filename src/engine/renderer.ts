/** A patch at work: circuits, wires and the loops that run them, a block at a time. */

import type { Circuit, Edge, Site } from '../modules/definition.ts';
import type { InputFacts } from '../modules/facts.ts';
import type { JackRef, Patch, PatchModule } from '../patch/patch.ts';
import { compileLoop } from './compile.ts';
import { NetWatch } from './net-watch.ts';
import { type Plan, plan, type Source } from './plan.ts';
import { RunningSegment } from './running-segment.ts';
import { seedsFor } from './seeds.ts';
import { wiresOf } from './segment-wires.ts';

/** Samples in a block: the buffers between segments stay in the processor's first cache. */
export const BLOCK = 128;

/** Part of a patch that plays, and what the other part sends it. */
export interface Part {
  /** Names of the modules that run; those that drive one net do so together. Without the output: no sound. */
  readonly runs: ReadonlySet<string>;
  /** One for each net that comes from modules that do not run here. */
  readonly feeds: readonly Feed[];
}

/** The volts of a net from outside. */
export interface Feed {
  /** A jack on the net. */
  readonly jack: JackRef;
  /** Gives the next block. */
  fill(volts: Float64Array): void;
}

export interface RendererOptions {
  /** Hz, from 8000 to 192000. */
  readonly sampleRate: number;
  /** The edges of each rhythm sequencer; asked once a module. */
  readonly edgesOf: (module: PatchModule) => () => Edge | undefined;
  /** Jacks whose volts are wanted, in the order of `probes`. */
  readonly probes?: readonly JackRef[];
  /** The whole patch unless given. */
  readonly part?: Part;
}

export class Renderer {
  /** The output's channels, each a block of samples with 1 as full scale: left, or left and right. */
  readonly channels: readonly Float64Array[];
  /** Volts of the probed jacks, a block each. */
  readonly probes: readonly Float64Array[];
  /** Samples rendered so far. */
  position = 0;

  private readonly feeds: readonly { readonly feed: Feed; readonly volts: Float64Array }[];
  private readonly fed: NetWatch;
  private readonly segments: readonly RunningSegment[];
  private readonly settling: readonly Circuit[];
  private readonly outputs: readonly { volts: Float64Array; channel: Float64Array; gain: number }[];

  /**
   * @param patch a checked patch with exactly one output module.
   * @throws Error if a probe names no jack of the patch, or a net of the part gets nothing.
   */
  constructor(patch: Patch, options: RendererOptions) {
    const { probes = [], part } = options;
    const planned = plan(patch, probes, part?.runs);
    const circuits = planned.modules.map(({ module }) =>
      start(module, patch.seed, planned, options),
    );
    this.settling = circuits.filter((circuit) => circuit.settle !== undefined);

    const buffers: (Float64Array | undefined)[] = planned.nets.map(() => undefined);
    const bufferOf = (source: Source): Float64Array => {
      if (source.type === 'constant') return new Float64Array(BLOCK).fill(source.volts);
      const buffer = buffers[source.net] ?? new Float64Array(BLOCK);
      buffers[source.net] = buffer;
      return buffer;
    };
    for (const source of crossings(planned)) bufferOf(source);
    this.probes = probes.map((ref) => bufferOf(planned.source(ref)));
    this.outputs = outputSources(patch, planned, part).map(({ source, gain }) => ({
      volts: bufferOf(source),
      channel: new Float64Array(BLOCK),
      gain,
    }));
    this.channels = this.outputs.map(({ channel }) => channel);
    const moving = new Uint8Array(planned.nets.length).fill(1);
    const feedOf = new Map(
      part?.feeds.flatMap((feed) => {
        const source = planned.source(feed.jack);
        return source.type === 'net' ? [[source.net, feed] as const] : [];
      }),
    );
    const fed = planned.nets.flatMap(({ isFed }, net) =>
      isFed && buffers[net] !== undefined ? [net] : [],
    );
    this.feeds = fed.map((net) => {
      const feed = feedOf.get(net);
      if (feed === undefined) throw new Error('a net of a part gets its volts from nowhere');
      return { feed, volts: buffers[net] as Float64Array };
    });
    this.fed = new NetWatch(fed, buffers, moving);
    this.segments = planned.segments.map(
      (segment) =>
        new RunningSegment(
          compileLoop(planned, segment, circuits, buffers),
          circuits.slice(segment.from, segment.to),
          wiresOf(planned, segment),
          buffers,
          moving,
        ),
    );
    const watched = new Set(this.segments.flatMap((segment) => segment.listensTo));
    for (const segment of this.segments) segment.watchOnly(watched);
  }

  /**
   * Renders the next block of {@link BLOCK} samples into `channels` and `probes`.
   * @throws Error if a sample is not a finite number, which is a mistake in a module.
   */
  next(): void {
    for (const { feed, volts } of this.feeds) feed.fill(volts);
    this.fed.see(BLOCK);
    for (const segment of this.segments) segment.next(BLOCK);
    for (const circuit of this.settling) circuit.settle?.();
    for (const { volts, channel, gain } of this.outputs) {
      let sum = 0;
      for (let i = 0; i < BLOCK; i++) {
        const sample = (volts[i] as number) * gain;
        channel[i] = sample;
        sum += sample;
      }
      if (!Number.isFinite(sum))
        throw new Error(`a module gave a value that is no number near sample ${this.position}`);
    }
    this.position += BLOCK;
  }
}

function start(
  module: PatchModule,
  seed: string,
  planned: Plan,
  options: RendererOptions,
): Circuit {
  const { definition, settings, jacks, name } = module;
  const site: Site = {
    sampleRate: options.sampleRate,
    input: (jack): InputFacts => {
      const found = jacks.find((candidate) => candidate.name === jack);
      if (found?.direction !== 'in') throw new Error(`${definition.kind} has no input ${jack}`);
      return found.facts;
    },
    patched: (jack) => planned.source({ module: name, jack }).type === 'net',
    seeds: (purpose) => seedsFor(seed, name, purpose),
    nextEdge: definition.role === 'score' ? options.edgesOf(module) : () => undefined,
  };
  if (definition.create === undefined) throw new Error(`${definition.kind} does not run`);
  return definition.create(settings, site);
}

/** The nets that one segment drives and a later one reads. */
function crossings(planned: Plan): Source[] {
  return planned.segments.flatMap(({ from, to }) =>
    planned.modules.slice(from, to).flatMap(({ inputs }) =>
      inputs.filter((source) => {
        if (source.type === 'constant') return false;
        const after = planned.nets[source.net]?.after ?? -1;
        return after < from || after >= to;
      }),
    ),
  );
}

/** Left alone, or left and right: a right jack without a plug leaves the file mono. */
function outputSources(
  patch: Patch,
  planned: Plan,
  part: Part | undefined,
): { source: Source; gain: number }[] {
  const module = patch.modules.find(({ definition }) => definition.role === 'output');
  if (module === undefined) throw new Error('the patch has no output module');
  if (part?.runs.has(module.name) === false) return [];
  const gain = 1 / (module.settings['full-scale'] as number);
  const sources = module.jacks.map((jack) =>
    planned.source({ module: module.name, jack: jack.name }),
  );
  const plugged = (jack: string): boolean =>
    patch.cables.some(({ to }) => to.module === module.name && to.jack === jack);
  return sources.slice(0, plugged('right') ? 2 : 1).map((source) => ({ source, gain }));
}
