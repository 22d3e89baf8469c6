/** A patch at work: its circuits, made on wires in running order, a block at a time. */

import type { Net } from '../electrical/nets.ts';
import { carriedSorts, type Sort } from '../electrical/sorts.ts';
import type { Edge, Handle, OutputJack } from '../modules/definition.ts';
import { seedsFor } from '../modules/dsp/random.ts';
import type { JackRef, Patch, PatchModule } from '../patch/patch.ts';
import { edgesOf } from '../timing/edges.ts';
import { followedRhythm } from '../timing/following-circuit.ts';
import type { Pulse, TimedEdge } from '../timing/pulses.ts';
import { FOLLOWED, hasPlug, isFollowing } from '../timing/rhythm.ts';
import { BLOCK, Machine } from './machine.ts';
import type { Plan, PlannedModule, Source } from './plan.ts';
import { type Prepared, prepared } from './prepared.ts';
import { siteIn, Wiring } from './wiring.ts';

export { BLOCK };

/** Part of a patch that plays, and what the other part sends it. */
export interface Part {
  /** Names of the modules that run; those that drive one net do so together. Without the output: no sound. */
  readonly runs: ReadonlySet<string>;
  /** One for each net that comes from modules that do not run here. */
  readonly feeds: readonly Feed[];
  /** The frame that it begins at, a multiple of {@link BLOCK}; 0 unless given. Only for what remembers nothing. */
  readonly from?: number;
}

/** The volts of a net from outside. */
export interface Feed {
  /** A jack on the net. */
  readonly jack: JackRef;
  /**
   * Gives the next block: fills `volts` with it, unless it goes on as the one before ended.
   * @returns whether it has filled them.
   */
  fill(volts: Float64Array): boolean;
}

export interface RendererOptions {
  /** Hz, from 8000 to 192000. */
  readonly sampleRate: number;
  /** When the rhythm sequencers stop, s; never unless given. */
  readonly until?: number;
  /** As for a performance. */
  readonly round?: number | undefined;
  /**
   * What rhythm sequencers send in place of what they play by their settings, or by the pulses at their
   * `clock-in`; undefined for one that plays as it is. Asked once a module.
   */
  readonly edgesOf?: (module: PatchModule) => (() => Edge | undefined) | undefined;
  /** Told each edge of a rhythm that follows pulses as it is played. */
  readonly onEdge?: (module: PatchModule, edge: TimedEdge) => void;
  /** Told each stroke of a channel of such a rhythm as it starts. */
  readonly onStroke?: (module: PatchModule, stroke: Pulse, channel: number) => void;
  /** Told each step of such a rhythm as its pulse comes; its bar and step count from 1. */
  readonly onStep?: (module: PatchModule, sample: number, bar: number, step: number) => void;
  /** Jacks whose volts are wanted, in the order of `probes`. */
  readonly probes?: readonly JackRef[];
  /** The whole patch unless given. */
  readonly part?: Part;
  /** Whether circuits that rest are passed over, as they are unless this is false: the samples are the same. */
  readonly passing?: boolean;
}

export class Renderer {
  /** The output's channels, each a block of samples with 1 as full scale: left, or left and right. */
  readonly channels: readonly Float64Array[];
  /** Volts of the probed jacks, a block each. */
  readonly probes: readonly Float64Array[];
  /** Samples rendered so far. */
  position = 0;

  private readonly machine: Machine;
  private readonly feeds: readonly Fed[];
  private readonly scores: EdgeFeed[] = [];
  /** What is taken from wires after each block. */
  private readonly taken: readonly { readonly wire: Handle; readonly volts: Float64Array }[];

  /**
   * @param of a checked patch with exactly one output module.
   * @throws Error if a probe names no jack of the patch, or a net of the part gets nothing.
   */
  constructor(of: Patch | Prepared, options: RendererOptions) {
    const { probes = [], part, passing = true } = options;
    const all = prepared(of);
    const { patch } = all;
    this.position = part?.from ?? 0;
    const planned = all.plan(probes, part?.runs);
    const machine = new Machine(passing);
    const wiring = new Wiring(machine, planned, options.sampleRate);
    this.machine = machine;

    const sounds = soundsIn(all);
    const ends = new Map(planned.cycles.map(({ from, to }) => [from, to]));
    let cycle = { to: 0, before: 0 };
    planned.modules.forEach((module, position) => {
      const to = ends.get(position);
      if (to !== undefined) cycle = { to, before: machine.circuits };
      this.start(module, position, { patch, planned, wiring, options, sounds });
      wiring.complete(module);
      if (position + 1 === cycle.to) machine.join(cycle.before);
    });

    const heard = outputSources(patch, planned, part);
    const probed = probes.map((ref) => planned.source(ref));
    this.feeds = feedsOf(planned, wiring, part, [...heard.map(({ source }) => source), ...probed]);
    const outputs = heard.map(({ source, gain }) => {
      const channel = machine.wire();
      machine.make('output', wiring.at(source), channel, gain);
      return channel;
    });
    const wires = [...outputs, ...probed.map((source) => wiring.at(source))];
    this.taken = wires.map((wire) => ({ wire, volts: new Float64Array(BLOCK) }));
    const buffers = this.taken.map(({ volts }) => volts);
    this.channels = buffers.slice(0, outputs.length);
    this.probes = buffers.slice(outputs.length);
  }

  /** Circuits passed over in the latest block, of how many. */
  get rested(): { readonly passed: number; readonly of: number } {
    return { passed: this.machine.passed, of: this.machine.circuits };
  }

  /**
   * Renders the next block of {@link BLOCK} samples into `channels` and `probes`.
   * @throws Error if a sample is not a finite number, which is a mistake in a module.
   */
  next(): void {
    const { machine } = this;
    const to = this.position + BLOCK;
    for (const score of this.scores) score.queueUpTo(to);
    for (const fed of this.feeds) {
      const isFilled = fed.feed.fill(machine.volts(fed.wire));
      if (isFilled) machine.filled(fed.wire);
      else if (!fed.isHeld) machine.hold(fed.wire);
      fed.isHeld = !isFilled;
    }
    const finite = machine.next();
    for (const { wire, volts } of this.taken) volts.set(machine.volts(wire));
    if (!finite)
      throw new Error(`a module gave a value that is no number near sample ${this.position}`);
    this.position = to;
  }

  /** Makes the circuit of a module. */
  private start(
    { module, inputs }: PlannedModule,
    position: number,
    around: RenderSurroundings,
  ): void {
    const { machine } = this;
    const { patch, planned, wiring, options } = around;
    const { definition, settings, jacks, name } = module;
    if (definition.create === undefined) throw new Error(`${definition.kind} does not run`);
    const sourceOf = (jack: string): Source => planned.source({ module: name, jack });
    const isPatched = (jack: string): boolean => sourceOf(jack).type === 'net';
    const outputs = jacks.filter((jack): jack is OutputJack => jack.direction === 'out');
    const wires = inputs.map((source) => wiring.readBy(position, source));
    const given = definition.role === 'score' ? options.edgesOf?.(module) : undefined;
    const follow = given === undefined ? this.followed(module, wires, patch, options) : undefined;
    const site = siteIn(machine, {
      kind: definition.kind,
      sampleRate: options.sampleRate,
      jacks,
      inputs: wires,
      driven: (name) => {
        const jack = outputs.find((one) => one.name === name);
        return jack && wiring.drivenBy(position, jack, sourceOf(name));
      },
      patched: isPatched,
      sounds: (jack) => around.sounds({ module: name, jack }),
      seeds: (purpose) => seedsFor(patch.seed, name, purpose),
      play: (rhythm) => {
        if (follow !== undefined) follow(rhythm);
        else {
          const { sampleRate, until, round } = options;
          const own = {
            sampleRate,
            seed: patch.seed,
            ...(until !== undefined && { until }),
            round,
            isHeard: (output: number) => isPatched((outputs[output] as OutputJack).name),
          };
          this.scores.push(new EdgeFeed(machine, rhythm, given ?? edgesOf(module, own)));
        }
      },
    });
    definition.create(settings, site);
  }

  /**
   * Makes what listens for a rhythm that follows pulses: ahead of the rhythm's circuit, since it runs first.
   * @returns a function that is told that circuit; undefined for a module that does not follow.
   */
  private followed(
    module: PatchModule,
    wires: readonly Handle[],
    patch: Patch,
    { sampleRate, until, onEdge, onStroke, onStep }: RendererOptions,
  ): ((rhythm: Handle) => void) | undefined {
    if (!isFollowing(patch, module)) return undefined;
    const { machine } = this;
    let rhythm: Handle | undefined;
    const circuit = followedRhythm(module, {
      sampleRate,
      seed: patch.seed,
      ...(until !== undefined && { until }),
      hasRun: hasPlug(patch, module, 'run-in'),
      onStroke: onStroke && ((stroke, channel) => onStroke(module, stroke, channel)),
      onStep: onStep && ((sample, bar, step) => onStep(module, sample, bar, step)),
      send: (edge) => {
        onEdge?.(module, edge);
        if (rhythm !== undefined)
          machine.call('rhythmEdge', rhythm, edge.sample, edge.output, edge.volts);
      },
    });
    const names = module.jacks.flatMap(({ name, direction }) => (direction === 'in' ? [name] : []));
    const listened = FOLLOWED.map((name) => wires[names.indexOf(name)] as Handle);
    machine.run(circuit, listened, []);
    return (made) => {
      rhythm = made;
    };
  }
}

interface RenderSurroundings {
  readonly sounds: (ref: JackRef) => boolean;
  readonly patch: Patch;
  readonly planned: Plan;
  readonly wiring: Wiring;
  readonly options: RendererOptions;
}

/** A wire that is fed, and whether it holds its last volts. */
interface Fed {
  readonly feed: Feed;
  readonly wire: Handle;
  isHeld: boolean;
}

/** Tells whether sound reaches a jack; searches the patch when first asked. */
function soundsIn({ nets }: Prepared): (ref: JackRef) => boolean {
  let sorts: ReadonlyMap<Net, Sort> | undefined;
  return (ref) => {
    const net = nets.at(ref);
    sorts ??= carriedSorts(nets);
    return net !== undefined && sorts.get(net) === 'audio';
  };
}

/** Hands the edges of a score to its circuit, each before the block that it falls into. */
class EdgeFeed {
  private readonly machine: Machine;
  private readonly rhythm: Handle;
  private readonly next: () => Edge | undefined;
  private edge: Edge | undefined;

  constructor(machine: Machine, rhythm: Handle, next: () => Edge | undefined) {
    this.machine = machine;
    this.rhythm = rhythm;
    this.next = next;
    this.edge = next();
  }

  /** @param end the first sample of the block after. */
  queueUpTo(end: number): void {
    while (this.edge !== undefined && this.edge.sample < end) {
      const { sample, output, volts } = this.edge;
      this.machine.call('rhythmEdge', this.rhythm, sample, output, volts);
      this.edge = this.next();
    }
  }
}

/** The nets of a part that come from outside. */
function feedsOf(
  planned: Plan,
  wiring: Wiring,
  part: Part | undefined,
  heard: readonly Source[],
): readonly Fed[] {
  const feedOf = new Map(
    part?.feeds.flatMap((feed) => {
      const source = planned.source(feed.jack);
      return source.type === 'net' ? [[source.net, feed] as const] : [];
    }),
  );
  const read = new Set(
    [...planned.modules.flatMap(({ inputs }) => inputs), ...heard].flatMap((source) =>
      source.type === 'net' ? [source.net] : [],
    ),
  );
  return planned.nets.flatMap(({ isFed }, net) => {
    const feed = feedOf.get(net);
    if (!isFed || (feed === undefined && !read.has(net))) return [];
    if (feed === undefined) throw new Error('a net of a part gets its volts from nowhere');
    return [{ feed, wire: wiring.at({ type: 'net', net }), isHeld: false }];
  });
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
